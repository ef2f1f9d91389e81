"""Whether a run could happen: every loop by `step`, and every move of the mechanism by `choose`.

It asks nobody who made the run. What a run leaves open, how far a movement is, is kept as all that
it may be.
"""

from collections.abc import Iterator, Mapping
from itertools import product

from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import Look, PropState, look_back, power_up, step
from behaviour.world.mechanism import Choice, Stand, at_power_up, choose, settle

World = tuple[Stand, ...]
"""Where each mechanism stands, and how far its movements may be."""


class Draws(Mapping[tuple[str, int], int]):
    """The times that a loop was given; it remembers which were asked for."""

    def __init__(self, stimulus: Stimulus) -> None:
        self.times = dict(stimulus.draws)
        self.asked: list[tuple[str, int]] = []

    def __getitem__(self, key: tuple[str, int]) -> int:
        self.asked.append(key)
        return self.times[key]

    def __iter__(self) -> Iterator[tuple[str, int]]:
        return iter(self.times)

    def __len__(self) -> int:
        return len(self.times)


def last_loop(model: Model, run: Run) -> tuple[PropState, set[tuple[int, int]]]:
    """Play a run in full, each loop by itself, and hold every loop against the definition.

    Gives what the last loop left, and every (mechanism, movement) that may have ended in it.
    """
    state, worlds = _first(model, run.stimuli[0])
    ended: set[tuple[int, int]] = set()
    for before, now in zip(run.stimuli, run.stimuli[1:], strict=False):
        assert before.stalled in (None, now.stalled), "a stalled movement goes on"
        moved = list(_moved(model, state, worlds, now))
        assert moved, f"no mechanism can do this: {now}"
        draws = Draws(now)
        state = step(model, state, now.raw, draws)
        assert draws.asked == list(draws.times)
        _check_reads(model, now)
        worlds = {_settled(model, state, stands) for stands, _ in moved}
        ended = {movement for _, movements in moved for movement in movements}
    return state, ended


def _first(model: Model, stimulus: Stimulus) -> tuple[PropState, set[World]]:
    draws = Draws(stimulus)
    state = power_up(model, stimulus.raw, draws)
    assert draws.asked == list(draws.times)
    assert stimulus.stalled is None
    _check_reads(model, stimulus)
    starts = product(*(at_power_up(mechanism) for mechanism in model.mechanism))
    worlds = {
        _settled(model, state, stands)
        for stands in starts
        if tuple(stand.state for stand in stands) == stimulus.mechanism
    }
    assert worlds, f"no mechanism begins so: {stimulus}"
    return state, worlds


def _moved(
    model: Model, state: PropState, worlds: set[World], now: Stimulus
) -> Iterator[tuple[World, set[tuple[int, int]]]]:
    for stands in worlds:
        judge = _look(model, state, stands).holds
        choices: list[list[Choice]] = []
        for number, (mechanism, stand) in enumerate(zip(model.mechanism, stands, strict=True)):
            still = frozenset(
                (now.stalled[1],) if now.stalled is not None and now.stalled[0] == number else ()
            )
            choices.append(
                [
                    choice
                    for choice in choose(model, mechanism, stand, judge, 1, still)
                    if choice.stand.state == now.mechanism[number]
                ]
            )
        for together in product(*choices):
            ended = {
                (number, movement.number)
                for number, choice in enumerate(together)
                for movement in choice.movements
            }
            yield tuple(choice.stand for choice in together), ended


def _settled(model: Model, state: PropState, stands: World) -> World:
    judge = _look(model, state, stands).holds
    pairs = zip(model.mechanism, stands, strict=True)
    return tuple(settle(mechanism, stand, judge) for mechanism, stand in pairs)


def _look(model: Model, state: PropState, stands: tuple[Stand, ...]) -> Look:
    return look_back(model, state, tuple(stand.state for stand in stands))


def _check_reads(model: Model, stimulus: Stimulus) -> None:
    raw = dict(zip((item.name for item in model.inputs), stimulus.raw, strict=True))
    for mechanism, at in zip(model.mechanism, stimulus.mechanism, strict=True):
        for name, value in mechanism.states[at].reads:
            assert raw[name] == value
