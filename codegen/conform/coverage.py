"""How much of a behaviour some runs go through: places, edges, conditions, bounds of times.

It looks on as the definition plays each call, and says what was met and what is wanting. What a
transition's condition or time came to counts only where nothing before it was taken, and where the
other of the two holds: there alone the firmware can show it.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from behaviour.model import HeldFor, Model, Part, Region, Time, Transition
from behaviour.semantics import (
    Look,
    NextCue,
    PropState,
    RegionState,
    candidates,
    filter_loops,
    is_open,
)
from codegen.conform.edges import CUE, Edge, edge_name, edges_of
from codegen.conform.goals import (
    Item,
    all_outcomes,
    all_places,
    all_times,
    all_ways,
    lost_outcomes,
    lost_places,
    lost_times,
    lost_ways,
    parts_of,
)
from codegen.conform.timeline import Timeline, random_window

Thing = TypeVar("Thing")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: how many of its items were met, and the names of those that were not.

    `impossible` names those that can never be met, whatever the inputs do; they are not counted.
    """

    name: str
    met: int
    total: int
    wanting: tuple[str, ...]
    impossible: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Coverage:
    """The table: states, transitions, edges, conditions and times."""

    rows: tuple[Row, ...]

    @property
    def wanting(self) -> int:
        """Count what was not met and is not known to be impossible."""
        return sum(len(row.wanting) for row in self.rows)

    def row(self, name: str) -> Row:
        return next(row for row in self.rows if row.name == name)


STATES, TRANSITIONS, EDGES = "states and cues", "transitions", "from each state"
CONDITIONS, TIMES = "conditions, both ways", "times, before and at"


class Onlooker:
    """Looks on at runs and keeps what they go through; `never` are the edges that cannot be."""

    def __init__(self, model: Model, never: frozenset[Edge]) -> None:
        self.model = model
        self.never = never
        self._notes = _Notes(model)

    def look_on(self, timelines: Sequence[Timeline]) -> None:
        """Look on at more runs."""
        for timeline in timelines:
            for before, call in zip(timeline.calls, timeline.calls[1:], strict=False):
                if call.loops:
                    self._notes.note(before.leaves, call.leaves, call.loops)
            self._notes.met |= set(_places(self.model, timeline.calls[0].leaves))

    def table(self) -> Coverage:
        """Give what all runs so far have gone through."""
        model, met, edges = self.model, self._notes.met, edges_of(self.model)
        ways = {(edge.region, edge.way) for edge in edges if edge not in self.never}
        names = {edge: edge_name(model, edge) for edge in edges}
        return Coverage(
            (
                _row(STATES, all_places(model), met, lost_places(model, self.never)),
                _row(TRANSITIONS, all_ways(model), met, lost_ways(model, ways)),
                _row(EDGES, names, self._notes.edges, self.never),
                _row(CONDITIONS, all_outcomes(model), met, lost_outcomes(model, ways)),
                _row(TIMES, all_times(model), met, lost_times(model, ways, self.never)),
            )
        )


class _Notes:
    """What was met so far; the same calls in several runs are looked at once."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.met: set[Item] = set()
        self.edges: set[Edge] = set()
        self._seen: set[int] = set()
        self._kept: list[PropState] = []

    def note(self, before: PropState, after: PropState, loops: int) -> None:
        if id(after) in self._seen:
            return
        self._seen.add(id(after))
        self._kept.append(after)
        self.met.update(_filters(self.model, before, after))
        leaves = tuple(region.leaf for region in before.regions)
        look = Look(self.model, after.inputs, before.counters, leaves, done=after.done)
        for region, was, now in zip(self.model.regions, before.regions, after.regions, strict=True):
            if now.fired is not None:
                number = CUE if now.fired.transition is None else now.fired.transition.number
                self.edges.add(Edge(region.name, was.leaf, was.cue, number))
                self.met.add(("place", region.name, now.leaf, now.cue))
                if number != CUE:
                    self.met.add(("way", region.name, number))
            self._looked_at(region, was, now, look, loops)

    def _looked_at(
        self, region: Region, was: RegionState, now: RegionState, look: Look, loops: int
    ) -> None:
        """Note what came out of each transition and cue down to the one that was taken."""
        timers = tuple(timer + loops for timer in was.timers)
        for way in candidates(region, was.leaf, was.cue):
            if isinstance(way, NextCue):
                self._timed(("cue", region.name, was.leaf, was.cue), timers[-1], way.at)
                if now.fired is not None and now.fired.transition is None:
                    return
                continue
            if not is_open(region, was.leaf, way):
                continue
            waited, needed = _waiting(self.model, region, was, timers, way)
            if waited >= needed:
                for item in _outcomes(self.model, region, way, look):
                    self.met.add(item)
            if needed and look.holds(way.when):
                self._bound(("after", region.name, way.number), waited, needed)
                window = random_window(self.model, way)
                if window is not None and waited == needed in window:
                    self.met.add(("drawn", region.name, way.number, window.index(needed)))
            if now.fired is not None and now.fired.transition is way:
                return

    def _timed(self, item: Item, waited: int, time: Time) -> None:
        if isinstance(time, int):
            self._bound(item, waited, self.model.loops_up(time))

    def _bound(self, item: Item, waited: int, needed: int) -> None:
        if needed - 1 <= waited <= needed:
            self.met.add((*item, waited == needed))


def _waiting(
    model: Model, region: Region, was: RegionState, timers: tuple[int, ...], way: Transition
) -> tuple[int, int]:
    """Give how long a transition has waited and how long it must; 0 and 0 where no time counts."""
    time: Time | None = None if way.after is None else way.after.low
    timer = timers[-1]
    if way.part is Part.END:
        time = region.states[was.leaf].cues[-1].at
    elif way.after is not None and way.source is not None:
        timer = timers[region.path(was.leaf).index(way.source)]
        if way.after.low != way.after.high:
            return timer, dict(was.draws)[way.number]
    return (timer, model.loops_up(time)) if isinstance(time, int) else (0, 0)


def _outcomes(model: Model, region: Region, way: Transition, look: Look) -> Iterator[Item]:
    """Give how each part of a condition came out, and how long what it holds for has been."""
    for number, atom in enumerate(parts_of(way.when)):
        yield ("if", region.name, way.number, number, look.holds(atom))
        if isinstance(atom, HeldFor) and isinstance(atom.time, int):
            now, needed = look.inputs[model.input_index[atom.name]], model.loops_up(atom.time)
            if now.steady == atom.value and needed - 1 <= now.since <= needed:
                yield ("held", region.name, way.number, number, now.since == needed)


def _filters(model: Model, before: PropState, after: PropState) -> Iterator[Item]:
    for item, was, now in zip(model.inputs, before.inputs, after.inputs, strict=True):
        needed = filter_loops(model, item, now.raw)
        if now.raw != was.steady and needed and needed - 1 <= now.run <= needed:
            yield ("filter", item.name, now.raw, now.run == needed)


def _places(model: Model, state: PropState) -> Iterator[Item]:
    for region, now in zip(model.regions, state.regions, strict=True):
        yield ("place", region.name, now.leaf, now.cue)


def _row(
    name: str, items: Mapping[Thing, str], met: Collection[object], lost: Collection[object]
) -> Row:
    impossible = [words for item, words in items.items() if item in lost and item not in met]
    wanting = [words for item, words in items.items() if item not in lost and item not in met]
    total = len(items) - len(impossible)
    return Row(name, total - len(wanting), total, tuple(wanting), tuple(impossible))
