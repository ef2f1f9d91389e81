"""Whether a run ends in what a role check says of it, by plain definition and by playing alone.

Of a run with something wrong, and of what no playing can show, it says nothing (None).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from behaviour.check.roles.opening import left_of_reaction
from behaviour.check.roles.released import long_released, rests_released
from behaviour.check.roles.seeing import every_hazard, hazards, is_active, with_role
from behaviour.check.roles.turning import interlocks
from behaviour.explore.budget import Budget
from behaviour.explore.circling import Walk
from behaviour.explore.guards import atoms
from behaviour.explore.holding_on import hold
from behaviour.findings import Run
from behaviour.model import Compare, Input, InState, Model, Output, Part, Role, Transition
from behaviour.semantics import PropState, looked_at, power_up, step
from behaviour.story import LoopView

Loops = Sequence[LoopView]
Judge = Callable[[Model, Run, Loops], bool | None]


def ends_in_role(model: Model, name: str, run: Run, views: Loops) -> bool | None:
    """Tell whether a run ends in the breach of a role check; None where playing cannot tell.

    Raises NotKnownError where the file leaves open what is needed.
    """
    judge = JUDGES.get(name)
    return None if judge is None or run.faults else judge(model, run, tuple(views))


# --- Guards and stops ---------------------------------------------------------------------------


def _moves_open(model: Model, _: Run, views: Loops) -> bool:
    return any(
        _leaves_rest_open(views, at, output, number, guard)
        or any(
            _rests_too_late(views, at, output, number, value, left_of_reaction(model, guard, value))
            for value in guard.values
            if value != guard.safe
        )
        for at, output in every_hazard(model)
        for number, guard in with_role(model, Role.GUARD)
    )


def _leaves_rest_open(views: Loops, at: int, output: Output, number: int, guard: Input) -> bool:
    is_open = is_active(guard, views[-1].state.inputs[number].steady)
    return is_open and _leaves_rest(views, at, output)


def _rests_too_late(
    views: Loops, at: int, output: Output, number: int, value: str, allowed: int
) -> bool:
    """Tell whether a hazard is away longer than `allowed` loops after a guard came to a value.

    Below 0 it had to be at rest so many loops before the loop in which that counts.
    """
    if allowed < 0:
        is_now = len(views) > -allowed and _becomes(views[-1], number, value)
        return is_now and _is_away(views[allowed - 1], at, output)
    for view in reversed(views[1:]):
        if not _is_away(view, at, output):
            return False
        if _becomes(view, number, value) and view.loop <= views[-1].loop - allowed:
            return True
    return False


def _is_beaten(model: Model, _: Run, views: Loops) -> bool:
    return any(
        _is_away(views[-1], at, output) and is_active(stop, views[-1].state.inputs[number].steady)
        for at, output in every_hazard(model)
        for number, stop in with_role(model, Role.STOP)
    )


def _counts_late(model: Model, _: Run, views: Loops) -> bool:
    """Tell whether a stop or guard comes to count as not safe later than `reaction` allows."""
    return model.reaction is not None and any(
        value != item.safe
        and _becomes(views[-1], number, value)
        and left_of_reaction(model, item, value) < 0
        for number, item in with_role(model, Role.STOP, Role.GUARD)
        for value in item.values
    )


# --- Starts -------------------------------------------------------------------------------------


def _starts_unasked(model: Model, _: Run, views: Loops) -> bool:
    return any(
        _leaves_rest(views, at, output) and not _is_asked(model, views, at, output)
        for at, output in every_hazard(model)
    )


def _is_asked(model: Model, views: Loops, at: int, output: Output) -> bool:
    """Tell whether a press still lasts in the last loop that nothing has used up."""
    starts = with_role(model, Role.START, Role.HOLD_TO_RUN)
    ends = with_role(model, Role.STOP, Role.RESET, Role.GUARD)
    asked = False
    for before, view in zip((None, *views[:-1]), views, strict=True):
        now = view.state.inputs
        if before is not None:
            asked = asked or any(
                now[n].became and is_active(item, now[n].steady) for n, item in starts
            )
        if any(is_active(item, now[n].steady) for n, item in ends):
            asked = False
        if view is not views[-1] and _is_stopped(model, before, view, at, output):
            asked = False
    return asked


def _is_stopped(
    model: Model, before: LoopView | None, view: LoopView, at: int, output: Output
) -> bool:
    """Tell whether an interlock of its region brings a hazard to rest in a loop."""
    way = _taken(model, view, output)
    return (
        before is not None
        and _is_away(before, at, output)
        and not _is_away(view, at, output)
        and way is not None
        and way.part is Part.INTERLOCK
    )


def _counts_held(model: Model, run: Run, views: Loops) -> bool | None:
    """Tell whether a hazard starts that would rest had some held start been released."""
    starting = [(at, output) for at, output in hazards(model) if _leaves_rest(views, at, output)]
    resets = (None, *with_role(model, Role.RESET))
    if any(
        rests_released(model, run, output, number, reset)
        for _, output in starting
        for number, _ in with_role(model, Role.START)
        for reset in resets
    ):
        return True
    return None if starting else False


def _runs_unheld(model: Model, _: Run, views: Loops) -> bool:
    return any(
        _is_away(views[-1], at, output)
        and not is_active(button, views[-1].state.inputs[number].steady)
        and _was_started_by(model, views, at, output, number)
        for at, output in hazards(model)
        for number, button in with_role(model, Role.HOLD_TO_RUN)
    )


def _was_started_by(model: Model, views: Loops, at: int, output: Output, number: int) -> bool:
    """Tell whether a transition took a hazard from rest, last of all, for a button that was held.

    With the button long released the hazard would have stayed at rest in that loop.
    """
    start = len(views) - 1
    while start and _is_away(views[start - 1], at, output):
        start -= 1
    if _taken(model, views[start], output) is None:
        return False
    button = model.inputs[number]
    if not is_active(button, views[start].state.inputs[number].steady):
        return False
    return _otherwise(model, views[: start + 1], number).outputs[at] == output.rest


# --- Resets -------------------------------------------------------------------------------------


def _resets_on_press(model: Model, _: Run, views: Loops) -> bool:
    for number, reset in with_role(model, Role.RESET):
        if is_active(reset, views[-1].state.inputs[number].steady):
            other = _otherwise(model, views, number)
            for now, would in zip(views[-1].state.regions, other.regions, strict=True):
                way = now.taken
                if way is not None and _number(would.taken) != way.number:
                    return True
    return False


# --- By itself ----------------------------------------------------------------------------------


def _turned(*roles: Role) -> Judge:
    """Judge whether turning an input of some roles alone starts a hazard in the last loop."""

    def judge(model: Model, run: Run, views: Loops) -> bool | None:
        turn = max((at for at in range(1, len(views)) if _moved(model, views, at)), default=0)
        numbers = _moved(model, views, turn) if turn else []
        if len(numbers) != 1 or model.inputs[numbers[0]].role not in roles:
            return False
        item = model.inputs[numbers[0]]
        is_asked = item.safe is None or views[turn].stimulus.raw[numbers[0]] == item.safe
        if not is_asked or not _is_steady(model, views[turn - 1]):
            return False
        answers = [
            _rests_untouched(model, run, views, turn, output)
            for at, output in hazards(model)
            if _leaves_rest(views, at, output) and not _is_away(views[turn - 1], at, output)
        ]
        return True if True in answers else None if None in answers else False

    return judge


def _is_steady(model: Model, view: LoopView) -> bool:
    """Tell whether all that people move has been read as it is, with what they hold let go."""
    return all(
        item.name in model.moved
        or (now.raw == now.steady and (item.role is not Role.HOLD_TO_RUN or _idle(item, now.raw)))
        for item, now in zip(model.inputs, view.state.inputs, strict=True)
    )


def _idle(item: Input, value: str) -> bool:
    return not is_active(item, value)


def _rests_untouched(
    model: Model, run: Run, views: Loops, turn: int, output: Output
) -> bool | None:
    """Tell whether a hazard rests for ever if nobody turns anything in loop `turn` or later."""
    before = replace(run, stimuli=run.stimuli[:turn])
    walk = Walk(model, None, None, run.stimuli[-1].stalled)
    begin = walk.at_end_of(before, views[turn - 1].stimulus.raw)
    if begin is None:
        return None
    still = hold(Budget(), walk, [begin], output.name)
    if still.started is not None:
        return False
    return True if still.is_whole else None


def _restarts(model: Model, _: Run, views: Loops) -> bool:
    return any(
        _leaves_rest(views, at, output) and _is_cleared(model, views, at, output, interlock)
        for at, output in hazards(model)
        for interlock in interlocks(model, output)
    )


def _is_cleared(model: Model, views: Loops, at: int, output: Output, interlock: Transition) -> bool:
    """Tell whether an interlock stopped a hazard, and clearing its condition alone restarts it.

    Each input that it names goes to another value once at most, and none of them afterwards.
    """
    stop = next(
        (
            n
            for n in range(len(views) - 1, 0, -1)
            if _is_stopped(model, views[n - 1], views[n], at, output)
        ),
        None,
    )
    if stop is None or _number(_taken(model, views[stop], output)) != interlock.number:
        return False
    named, changed, cleared = _named(model, interlock), set[int](), False
    for n in range(stop + 1, len(views)):
        for number in _moved(model, views, n):
            item, value = model.inputs[number], views[n].stimulus.raw[number]
            if item.role is Role.HOLD_TO_RUN and _idle(item, value):
                continue
            if number not in named or number in changed or cleared:
                return False
            changed.add(number)
        cleared = cleared or not looked_at(model, views[n - 1].state, views[n].state).holds(
            interlock.when
        )
    let_go = all(
        item.role is not Role.HOLD_TO_RUN or _idle(item, now.steady)
        for item, now in zip(model.inputs, views[-1].state.inputs, strict=True)
    )
    return cleared and let_go


def _named(model: Model, way: Transition) -> set[int]:
    return {
        model.input_index[atom.name]
        for atom in atoms(way.when)
        if not isinstance(atom, InState | Compare) and atom.name in model.input_index
    }


# --- One loop -----------------------------------------------------------------------------------


def _otherwise(model: Model, views: Loops, number: int) -> PropState:
    """Play the last loop once more with an input that has long been at its first value."""
    view, value = views[-1], model.inputs[number].values[0]
    raw = (*view.stimulus.raw[:number], value, *view.stimulus.raw[number + 1 :])
    draws = dict(view.stimulus.draws)
    if len(views) == 1:
        return power_up(model, raw, draws)
    return step(model, long_released(views[-2].state, number, value), raw, draws)


def _moved(model: Model, views: Loops, n: int) -> list[int]:
    """List the inputs that people move in a loop."""
    return [
        number
        for number, item in enumerate(model.inputs)
        if item.name not in model.moved
        and views[n].stimulus.raw[number] != views[n - 1].stimulus.raw[number]
    ]


def _taken(model: Model, view: LoopView, output: Output) -> Transition | None:
    """Give the transition that the region of an output takes in a loop."""
    owner = model.owner.get(output.name)
    return None if owner is None else view.state.regions[model.region_index[owner]].taken


def _number(way: Transition | None) -> int | None:
    return None if way is None else way.number


def _is_away(view: LoopView, at: int, output: Output) -> bool:
    return view.state.outputs[at] != output.rest


def _leaves_rest(views: Loops, at: int, output: Output) -> bool:
    was_away = len(views) > 1 and _is_away(views[-2], at, output)
    return _is_away(views[-1], at, output) and not was_away


def _becomes(view: LoopView, number: int, value: str) -> bool:
    now = view.state.inputs[number]
    return now.became and now.steady == value


JUDGES: dict[str, Judge] = {
    "guard-open-moves": _moves_open,
    "stop-is-beaten": _is_beaten,
    "starts-unasked": _starts_unasked,
    "restarts-by-itself": _restarts,
    "guard-closing-starts": _turned(Role.GUARD),
    "held-start-counts": _counts_held,
    "reset-restarts": _turned(Role.RESET, Role.STOP),
    "reset-on-press": _resets_on_press,
    "mode-starts": _turned(Role.MODE),
    "runs-unheld": _runs_unheld,
    "slow-stop-filter": _counts_late,
}
