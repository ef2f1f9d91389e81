"""A run played once more with a start released that was held in it: would the hazard have rested.

Nothing is searched: one run is compared with one other, in which all else is the same.
"""

from collections.abc import Sequence

from behaviour.check.roles.seeing import is_active
from behaviour.findings import Run
from behaviour.model import Input, Model, Output
from behaviour.semantics import InputState, PropState, look_back, power_up, step
from behaviour.story import LoopView, replay

LONG = 1_000_000
"""Loops for which an input counts as having been released, longer than any `for` asks."""


def rests_released(
    model: Model, run: Run, output: Output, number: int, reset: tuple[int, Input] | None
) -> bool:
    """Tell whether the hazard that starts at a run's end would rest then with the start released.

    False as well where that is not shown: where it does not start there, the start is not held at
    the end, or mechanisms would move otherwise.
    """
    views = replay(model, run)
    item, at = model.inputs[number], model.output_index[output.name]
    begins = _held_from(views, number, item, reset)
    *before, last = (view.state.outputs[at] != output.rest for view in views[-2:])
    if begins is None or run.faults or not last or any(before):
        return False
    now = None if begins == 0 else long_released(views[begins - 1].state, number, item.values[0])
    for view in views[begins:]:
        raw = (*view.stimulus.raw[:number], item.values[0], *view.stimulus.raw[number + 1 :])
        draws = dict(view.stimulus.draws)
        now = power_up(model, raw, draws) if now is None else step(model, now, raw, draws)
        if not _moves_alike(model, view, now):
            return False
    return now is not None and now.outputs[at] == output.rest


def _held_from(
    views: Sequence[LoopView], number: int, item: Input, reset: tuple[int, Input] | None
) -> int | None:
    """Give the loop from which the last press is held: power-up, or a reset that it outlasts.

    None where it is not held so.
    """
    pressed = [is_active(item, view.state.inputs[number].steady) for view in views]
    if not pressed[-1]:
        return None
    ends = len(views) - 1
    begins = next((at + 1 for at in reversed(range(ends)) if not pressed[at]), 0)
    if reset is None:
        return None if begins else 0
    at_reset, button = reset
    active = [is_active(button, view.state.inputs[at_reset].steady) for view in views]
    through = next((at for at in range(begins + 1, ends) if active[at]), None)
    return None if through is None or all(active[through : ends + 1]) else through


def long_released(state: PropState, number: int, value: str) -> PropState:
    long = InputState(value, value, LONG, LONG, became=False)
    return state._replace(inputs=(*state.inputs[:number], long, *state.inputs[number + 1 :]))


def _moves_alike(model: Model, view: LoopView, other: PropState) -> bool:
    """Tell whether every movement may go on alike in both runs, by what its `while` asks for."""
    looks = [look_back(model, each, view.stimulus.mechanism) for each in (view.state, other)]
    return all(
        looks[0].holds(movement.during) == looks[1].holds(movement.during)
        for mechanism in model.mechanism
        for movement in mechanism.movements()
    )
