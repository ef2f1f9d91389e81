"""Runs of a prop as calls of its firmware, each with what the definition says it leaves."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Model, Transition
from behaviour.semantics import PropState, power_up, step, window_of
from codegen.refusals import MILLISECOND
from codegen.vocabulary import phases

ROLLOVER = 1 << 32

DrawKey = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the firmware: the time, what is read, what is drawn, and what it leaves.

    `now_ms` counts on where the firmware's own count rolls over. `draws` holds what this loop
    draws, by (region, number). `loops` began since the last call; with `starts` it is power-up.
    """

    now_ms: int
    raw: tuple[str, ...]
    draws: tuple[tuple[DrawKey, int], ...]
    leaves: PropState
    loops: int
    starts: bool = False


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


def random_window(model: Model, way: Transition) -> tuple[int, int] | None:
    """Give the bounds of a random time in loops; None where the time is none or fixed."""
    after = way.after
    if after is None or after.low == after.high:
        return None
    if not isinstance(after.low, int) or not isinstance(after.high, int):
        raise TypeError("a time that is not known yet cannot be drawn")
    return model.loops_up(after.low), model.loops_up(after.high)


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
    return Call(now_ms, tuple(raw), tuple(draws), state, 0, starts=True)


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


def timeline_of(
    model: Model, name: str, run: Run, *, begins_ms: int = 0, skipped: Collection[int] = ()
) -> Timeline:
    """Play a run that was found elsewhere, from `begins_ms` on.

    Its loops are punctual but for those `skipped`, which are left out as by a loop that takes too
    long, and for long waits in which nothing happens: of those the middle is one late loop, which
    leaves the same.
    """
    return Timeline(name, tuple(_played(model, run.stimuli, begins_ms, skipped)))


CLOSE = 6
"""So many loops at both ends of a wait are punctual."""


def _played(
    model: Model, stimuli: Sequence[Stimulus], begins_ms: int, skipped: Collection[int]
) -> Iterator[Call]:
    loop_ms, last = model.loop // MILLISECOND, len(stimuli) - 1
    call = first_call(model, begins_ms, stimuli[0].raw, _dice_of(model, stimuli[0]))
    yield call
    done, ends = 0, _ends_of_waits(stimuli)
    while done < last:
        at = done + 1
        while at < last and (at in skipped or stimuli[at].beat in (Beat.SKIPS, Beat.IS_DOWN)):
            at += 1
        if at == done + 1 and at > CLOSE and ends[at - CLOSE] == ends[at]:
            at = done + _quiet_loops(model, call, stimuli[at], ends[at] - CLOSE - done)
        now_ms, dice = begins_ms + at * loop_ms, _dice_of(model, stimuli[at])
        if stimuli[at].beat is Beat.STARTS:
            call = first_call(model, now_ms, stimuli[at].raw, dice)
        else:
            begun_ms = begins_ms + done * loop_ms
            call = next_call(model, call, begun_ms, now_ms, stimuli[at].raw, dice)
        done = at
        yield call


def _ends_of_waits(stimuli: Sequence[Stimulus]) -> list[int]:
    """Give for each loop the last one after it that is given the same without a break."""
    ends = list(range(len(stimuli)))
    for at in range(len(stimuli) - 2, -1, -1):
        if stimuli[at] == stimuli[at + 1]:
            ends[at] = ends[at + 1]
    return ends


def _quiet_loops(model: Model, last: Call, stimulus: Stimulus, most: int) -> int:
    """Give how many loops, up to `most`, can be one late loop since nothing happens in them."""
    loops = most
    while loops > 1:
        left = step(model, last.leaves, stimulus.raw, _dice_of(model, stimulus), loops)
        happens = any(region.fired is not None for region in left.regions)
        if not happens and not any(item.became for item in left.inputs):
            return loops
        loops //= 2
    return 1


def _dice_of(model: Model, stimulus: Stimulus) -> Dice:
    return Dice(model, _as_given(dict(stimulus.draws)))


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
