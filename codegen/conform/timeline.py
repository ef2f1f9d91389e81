"""Runs of a prop as calls of its firmware, each with what the definition says it leaves."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from behaviour.findings import Run
from behaviour.model import Model
from behaviour.semantics import PropState, power_up, step, window_of
from codegen.refusals import MILLISECOND
from codegen.vocabulary import phases

ROLLOVER = 1 << 32

DrawKey = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the firmware: the time, what is read, what is drawn, and what it leaves.

    `now_ms` counts on where the firmware's own count rolls over. `draws` holds what this loop
    draws, by (region, number).
    """

    now_ms: int
    raw: tuple[str, ...]
    draws: tuple[tuple[DrawKey, int], ...]
    leaves: PropState
    loops: int


@dataclass(frozen=True, slots=True)
class Timeline:
    """A run from power-up on."""

    name: str
    calls: tuple[Call, ...]


class Dice(Mapping[DrawKey, int]):
    """Gives random times as the definition asks for them, and remembers what it gave.

    `choose` picks one from (key, low, high), in loops.
    """

    def __init__(self, model: Model, choose: Callable[[DrawKey, int, int], int]) -> None:
        self._bounds = bounds(model)
        self._choose = choose
        self.drawn: dict[DrawKey, int] = {}

    def __getitem__(self, key: DrawKey) -> int:
        self.drawn[key] = self._choose(key, *self._bounds[key])
        return self.drawn[key]

    def __iter__(self) -> Iterator[DrawKey]:
        return iter(self._bounds)

    def __len__(self) -> int:
        return len(self._bounds)


def bounds(model: Model, *, moves: bool = True) -> dict[DrawKey, tuple[int, int]]:
    """Map each random time, and with `moves` the end of each move, to its bounds in loops."""
    return {
        (region.name, chance.number): window_of(model, chance)
        for region in model.regions
        for state in region.states
        for chance in region.chances(state.number)
        if moves or not chance.is_move
    }


def steps_begun(model: Model, state: PropState) -> dict[str, int]:
    """Map each motor whose move by distance begins in a loop to its steps."""
    return {
        setting.output: setting.move.steps
        for region, now in zip(model.regions, state.regions, strict=True)
        for timer, number in zip(now.timers, region.path(now.leaf), strict=True)
        for setting in region.states[number].sets
        if setting.move is not None and timer == 0
    }


def first_call(model: Model, now_ms: int, raw: Sequence[str], dice: Dice) -> Call:
    """Give the call of power-up."""
    dice.drawn = {}
    state = power_up(model, tuple(raw), dice)
    draws = sorted(dice.drawn.items(), key=lambda drawn: _turn_at_power_up(model, state, drawn[0]))
    return Call(now_ms, tuple(raw), tuple(draws), state, 0)


def _turn_at_power_up(model: Model, state: PropState, key: DrawKey) -> tuple[int, bool]:
    """Tell when the firmware draws at power-up: region by region, and last in each for states that
    are around an interlock's target and that the region would have begun in all the same.
    """
    name, number = key
    at = model.region_index[name]
    region, fired = model.regions[at], state.regions[at].fired
    if fired is None or fired.transition is None or not isinstance(fired.transition.target, int):
        return at, False
    begun = region.path(region.leaf(region.begins))
    around = region.path(fired.transition.target)[:-1]
    drawn = (each for state in region.states for each in region.chances(state.number))
    source = next(each.source for each in drawn if each.number == number)
    return at, source in begun and source in around


def next_call(
    model: Model, last: Call, loops_begun_ms: int, now_ms: int, raw: Sequence[str], dice: Dice
) -> Call:
    """Give a later call; the last loop began at `loops_begun_ms`. Within a loop nothing is done."""
    loops = (now_ms - loops_begun_ms) // (model.loop // MILLISECOND)
    dice.drawn = {}
    state = step(model, last.leaves, tuple(raw), dice, loops) if loops else last.leaves
    return Call(now_ms, tuple(raw), tuple(dice.drawn.items()), state, loops)


def timeline_of(model: Model, name: str, run: Run) -> Timeline:
    """Play a run that was found elsewhere as punctual calls."""
    loop_ms = model.loop // MILLISECOND
    calls: list[Call] = []
    for number, stimulus in enumerate(run.stimuli):
        dice = Dice(model, _as_given(dict(stimulus.draws)))
        now_ms = number * loop_ms
        if calls:
            calls.append(next_call(model, calls[-1], now_ms - loop_ms, now_ms, stimulus.raw, dice))
        else:
            calls.append(first_call(model, now_ms, stimulus.raw, dice))
    return Timeline(name, tuple(calls))


def _as_given(given: dict[DrawKey, int]) -> Callable[[DrawKey, int, int], int]:
    def choose(key: DrawKey, low: int, _: int) -> int:
        return given.get(key, low)

    return choose


def enumerators(model: Model) -> tuple[dict[tuple[int, int], int], ...]:
    """Map, for each region, (leaf, cues fired) to the number of its enumerator."""
    found = []
    for region in model.regions:
        order = [
            (state.number, fired)
            for state in region.states
            if state.begins is None
            for fired in range(phases(state))
        ]
        found.append({place: number for number, place in enumerate(order)})
    return tuple(found)
