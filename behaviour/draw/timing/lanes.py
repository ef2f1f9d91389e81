"""A run as lanes, one for each thing that changed in it, and the moments that are marked.

It holds facts, counted in loops, and knows nothing of how a chart looks.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from behaviour.faulting_words import effect_words
from behaviour.findings import Beat, Run
from behaviour.model import Model, Region, State, Unknown
from behaviour.semantics import RegionState
from behaviour.story import LoopView, replay, stalled_movement
from behaviour.wording import cue_name, duration


class Sort(Enum):
    """What a lane is about; the values are the headings of a chart, in its order."""

    CONTROLLER = "controller"
    INPUT = "inputs"
    MECHANISM = "mechanism"
    STATE = "states"
    COUNTER = "counters"
    OUTPUT = "outputs"


@dataclass(frozen=True, slots=True)
class Stretch:
    """A value, from the loop that brought it to the one that ended it."""

    value: str
    first: int
    end: int


@dataclass(frozen=True, slots=True)
class Timer:
    """The time in a state, from when it was entered.

    `full` is when the last thing that it waits for is due, in loops; `words` says that time.
    """

    words: str
    first: int
    end: int
    full: int


@dataclass(frozen=True, slots=True)
class Lane:
    """One thing over time. `levels` are its two values, the usual one first, if it has just two.

    `other` is what an input really reads before it counts, or what was set where an output does
    not follow. `rest` is the value at which a hazard is at rest.
    """

    name: str
    sort: Sort
    stretches: tuple[Stretch, ...]
    levels: tuple[str, str] | None = None
    other: tuple[Stretch, ...] = ()
    rest: str | None = None
    timers: tuple[Timer, ...] = ()

    @property
    def is_still(self) -> bool:
        return len(self.stretches) < 2 and (not self.other or self.other == self.stretches)  # noqa: PLR2004


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment that is marked, by a black flag where something is broken there."""

    loop: int
    words: str
    is_breach: bool = False


@dataclass(frozen=True, slots=True)
class Lanes:
    """All that a chart shows of a run of so many loops; `still` never changed.

    `dotted` says what is dotted in it, where anything is; `remarks` what else there is to say.
    """

    loops: int
    lanes: tuple[Lane, ...]
    still: tuple[Lane, ...]
    marks: tuple[Mark, ...]
    dotted: str = "what is really there, before it counts or where it is not followed"
    remarks: tuple[str, ...] = ()

    def changes(self) -> tuple[int, ...]:
        """List the loops in which a lane changes or a mark stands, from 0 to the end."""
        found = {0, self.loops, *(mark.loop for mark in self.marks)}
        for lane in self.lanes:
            found |= {stretch.first for stretch in (*lane.stretches, *lane.other)}
        return tuple(sorted(found))


def lanes_of(model: Model, run: Run, breach: str) -> Lanes:
    """Replay a run and lay it out; `breach` says what its last loop shows, as a black flag.

    Raises NotKnownError where the file leaves something open.
    """
    views = replay(model, run)
    lanes = tuple(_lanes(model, views))
    return Lanes(
        loops=len(views),
        lanes=tuple(lane for lane in lanes if not lane.is_still),
        still=tuple(lane for lane in lanes if lane.is_still),
        marks=tuple(_marks(model, run, views, breach)),
    )


def _lanes(model: Model, views: Sequence[LoopView]) -> Iterator[Lane]:
    beats = _stretches(BEATS[view.stimulus.beat] for view in views)
    if len(beats) > 1:
        yield Lane("runs", Sort.CONTROLLER, beats)
    for place, item in enumerate(model.inputs):
        yield Lane(
            item.name,
            Sort.INPUT,
            _stretches(view.state.inputs[place].steady for view in views),
            levels=levels(item.values, item.safe),
            other=_stretches(view.true[place] for view in views),
        )
    for place, mechanism in enumerate(model.mechanism):
        stands = (mechanism.states[view.stimulus.mechanism[place]].name for view in views)
        yield Lane(mechanism.name, Sort.MECHANISM, _stretches(stands))
    for place, region in enumerate(model.regions):
        nows = [view.state.regions[place] for view in views]
        yield Lane(
            region.name,
            Sort.STATE,
            _stretches(cue_name(region.states[now.leaf], now.cue) for now in nows),
            timers=tuple(_timers(model, region, nows)),
        )
    for place, counter in enumerate(model.counters):
        counts = (str(view.state.counters[place]) for view in views)
        yield Lane(counter.name, Sort.COUNTER, _stretches(counts))
    for place, output in enumerate(model.outputs):
        yield Lane(
            output.name,
            Sort.OUTPUT,
            _stretches(view.real[place] for view in views),
            levels=levels(output.values, output.rest),
            other=_stretches(view.state.outputs[place] for view in views),
            rest=output.rest if output.hazard else None,
        )


BEATS = {
    Beat.RUNS: "goes on",
    Beat.STARTS: "starts again",
    Beat.SKIPS: "makes no loop",
    Beat.IS_DOWN: "is off",
}


def _stretches(values: Iterable[str]) -> tuple[Stretch, ...]:
    """Join the values of loops 0, 1, 2, ... into stretches."""
    found: list[Stretch] = []
    for loop, value in enumerate(values):
        if found and found[-1].value == value:
            found[-1] = Stretch(value, found[-1].first, loop + 1)
        else:
            found.append(Stretch(value, loop, loop + 1))
    return tuple(found)


def levels(values: tuple[str, ...], usual: str | None) -> tuple[str, str] | None:
    """Give the two values of a thing that has two, the usual one first."""
    if len(values) != 2:  # noqa: PLR2004
        return None
    first, second = values
    return (second, first) if usual == second else (first, second)


# --- Timers -------------------------------------------------------------------------------------


def _timers(model: Model, region: Region, nows: Sequence[RegionState]) -> Iterator[Timer]:
    """Give the time in each state that waits for one, for as long as that state was active."""
    running: dict[tuple[int, int], Timer] = {}
    for loop, now in enumerate(nows):
        for state, lasted in zip(region.path(now.leaf), now.timers, strict=True):
            full = _full(model, region.states[state], now)
            if full:
                words, first = duration(full * model.loop), loop - lasted
                running[state, first] = Timer(words, first, loop + 1, full)
    for timer in running.values():
        if timer.end - timer.first > 1:
            yield timer


def _full(model: Model, state: State, now: RegionState) -> int:
    """Give the last loop, counted from entering it, in which a state has something due."""
    drawn = dict(now.draws)
    times = [0]
    for way in state.leave:
        if way.after is not None:
            known = 0 if isinstance(way.after.high, Unknown) else model.loops_up(way.after.high)
            times.append(drawn.get(way.number, known))
    times += [model.loops_up(cue.at) for cue in state.cues if not isinstance(cue.at, Unknown)]
    return max(times)


# --- Marks --------------------------------------------------------------------------------------


def _marks(model: Model, run: Run, views: Sequence[LoopView], breach: str) -> Iterator[Mark]:
    known: set[int] = set()
    for view in views:
        for number in view.stimulus.wrong:
            if number not in known:
                known.add(number)
                yield Mark(view.loop, effect_words(model, run.faults[number]))
    for view in views:
        stuck = stalled_movement(model, view.stimulus)
        if stuck is not None:
            mechanism, movement = stuck
            source = mechanism.states[movement.source].name
            target = mechanism.states[movement.target].name
            yield Mark(view.loop, f"{source} -> {target} never ends")
            break
    if run.repeats_from is not None:
        yield Mark(run.repeats_from, "from here round and round")
    if run.breach is not None and breach:
        yield Mark(run.breach, breach, is_breach=True)
