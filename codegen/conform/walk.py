"""Makes runs that go everywhere: random ones, steered towards what no run has done yet.

Strategy: runs grow as a tree. A new stretch begins at power-up; at a place of which a transition
that no run has taken comes next, or comes nearest to what its counters want; or at a place found
lately or seldom begun at. Then it fidgets at random or aims: it takes a transition that could come
next, and moves the inputs so that it will, to the loop before, the loop, or the one after.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from behaviour.model import AddTo, Model, Region, Transition
from behaviour.semantics import NextCue, PropState, candidates
from codegen.conform.aiming import (
    counters_in,
    is_within_reach,
    loops_of,
    missing,
    near,
    stretches,
    waits,
)
from codegen.conform.edges import way_name
from codegen.conform.timeline import ROLLOVER, Call, Dice, Timeline, first_call, next_call
from codegen.refusals import MILLISECOND

Looks = tuple[tuple[tuple[int, int], ...], tuple[int, ...]]
"""What makes places alike: leaf and cue of each region, and the counters."""

Taken = tuple[str, int, int]
"""Region, and a transition's number with -1, or a leaf's number with the cue that was fired."""

ALIKE = 4
"""So many places are kept of those that look alike."""
LATELY = 8
NOT_THERE = 5
"""How far a place counts from a transition whose state is not active there."""
PUNCTUAL_LOOPS = 120
"""A wait longer than this is shortened by one late loop."""

HOW_OFTEN_LATE = 0.3
HOW_OFTEN_AIMED = 0.7
HOW_OFTEN_HELPFUL = 0.6
HOW_OFTEN_KEPT_ANEW = 0.02
BEGINNINGS = (0.15, 0.45, 0.6, 0.8)
"""Up to each chance, a stretch begins: at power-up, before what is untaken, nearest to it, lately;
and beyond the last, where few began.
"""


@dataclass(frozen=True, slots=True)
class Place:
    """A call in the tree of runs, and where the loop that it did began."""

    call: Call
    begun_ms: int
    before: "Place | None"


@dataclass(frozen=True, slots=True)
class Walked:
    """The runs, and every transition and cue that they took."""

    timelines: tuple[Timeline, ...]
    taken: frozenset[Taken]


def everything(model: Model) -> dict[Taken, str]:
    """Map all that a run can take to its name."""
    found = {}
    for region in model.regions:
        for way in region.transitions():
            found[region.name, way.number, -1] = way_name(model, region.name, way)
        for state in region.states:
            last = len(state.cues) - (1 if state.end is not None else 0)
            for fired in range(1, last + 1):
                name = f"cue {fired} of {region.name}.{state.name}"
                found[region.name, state.number, fired] = name
    return found


def walk(model: Model, seed: int, calls: int, most_calls: int) -> Walked:
    """Make runs of about `calls` calls in all; the same seed makes the same runs.

    Where a transition or cue is still not taken then, more are made, up to about `most_calls`.
    """
    return _Walker(model, Random(seed)).walk(calls, most_calls)  # noqa: S311


class _Walker:
    def __init__(self, model: Model, random: Random) -> None:
        self.model = model
        self.random = random
        self.loop_ms = model.loop // MILLISECOND
        self.taken: set[Taken] = set()
        self.places: dict[Looks, list[Place]] = {}
        self.begun: dict[Looks, int] = {}
        self.timelines: list[Timeline] = []
        self.waits = waits(model)
        self.leaning = 0
        self.is_late = False

    def walk(self, calls: int, most_calls: int) -> Walked:
        wanted, made = everything(self.model).keys(), 0
        while made < calls or (made < most_calls and wanted - self.taken):
            made += self._stretch(30 + self.random.randrange(100))
        return Walked(tuple(self.timelines), frozenset(self.taken))

    def _stretch(self, calls: int) -> int:
        """Grow one run by a stretch, and keep it whole; give the calls that were made."""
        self.leaning = self.random.choice((-1, 0, 0, 1))
        self.is_late = self.random.random() < HOW_OFTEN_LATE
        place, made = self._begin(), 0
        while made < calls:
            before = place
            is_aimed = self.random.random() < HOW_OFTEN_AIMED
            place = self._aim(place) if is_aimed else self._fidget(place)
            made += _distance(before, place)
        name = f"run {len(self.timelines) + 1}"
        self.timelines.append(Timeline(name, tuple(reversed(list(_back(place))))))
        return made

    # --- Where a stretch begins -----------------------------------------------------------------

    def _begin(self) -> Place:
        anew, untaken, nearest, lately = BEGINNINGS
        chance = self.random.random() if self.places else 0
        if chance < anew:
            return self._power_up()
        place = None
        if chance < untaken:
            place = self._before_untaken()
        elif chance < nearest:
            place = self._nearest()
        if place is not None:
            return place
        return self._lately() if chance < lately else self._seldom()

    def _power_up(self) -> Place:
        model, random = self.model, self.random
        raw = tuple(
            random.choice((item.safe or item.values[0], random.choice(item.values)))
            for item in model.inputs
        )
        now_ms = random.choice((0, ROLLOVER - random.randrange(1, 3000), random.randrange(10**9)))
        return self._note(Place(first_call(model, now_ms, raw, self._dice()), now_ms, None))

    def _before_untaken(self) -> Place | None:
        """Take a transition that no run has taken, from a place where only inputs are wanting."""
        found = list(self._next_untaken())
        if not found:
            return None
        places, region, way = self.random.choice(found)
        return self._take(self.random.choice(places), region, way)

    def _nearest(self) -> Place | None:
        """Find a place of which little is missing for some transition that no run has taken."""
        wanted = self._untaken()
        if not wanted:
            return None
        region, way = self.random.choice(wanted)
        far = {looks: self._missing(region, way, places) for looks, places in self.places.items()}
        least = min(far.values())
        looks = self.random.choice([looks for looks, distance in far.items() if distance == least])
        return self.random.choice(self.places[looks])

    def _missing(self, region: Region, way: Transition, places: list[Place]) -> int:
        state = places[0].call.leaves
        leaf = state.regions[self.model.region_index[region.name]].leaf
        is_active = way.source is None or region.contains(way.source, leaf)
        return missing(self.model, state, way.when) + (0 if is_active else NOT_THERE)

    def _lately(self) -> Place:
        return self.random.choice(self.places[self.random.choice(list(self.places)[-LATELY:])])

    def _seldom(self) -> Place:
        seldom = min(self.begun.values())
        looks = [looks for looks, times in self.begun.items() if times == seldom][-1]
        self.begun[looks] += 1
        return self.random.choice(self.places[looks])

    def _next_untaken(self) -> Iterator[tuple[list[Place], Region, Transition]]:
        for places in self.places.values():
            state = places[0].call.leaves
            for region, now in zip(self.model.regions, state.regions, strict=True):
                for way in candidates(region, now.leaf, now.cue):
                    if isinstance(way, Transition) and self._is_untaken(region, way, state):
                        yield places, region, way

    def _is_untaken(self, region: Region, way: Transition | NextCue, state: PropState) -> bool:
        """Tell whether no run has taken a transition, and only inputs are wanting for it."""
        if isinstance(way, NextCue) or (region.name, way.number, -1) in self.taken:
            return False
        return is_within_reach(self.model, state, way.when)

    # --- What a stretch does --------------------------------------------------------------------

    def _fidget(self, place: Place) -> Place:
        """Change one input or several, and let them stand for a while or hardly at all."""
        random = self.random
        raw = list(place.call.raw)
        for _ in range(random.choice((1, 1, 1, 2))):
            if raw:
                at = random.randrange(len(raw))
                raw[at] = random.choice(self.model.inputs[at].values)
        wait = random.choice((1, 1, 2, 3, random.choice(self.waits)))
        return self._hold(place, tuple(raw), max(wait, 1))

    def _aim(self, place: Place) -> Place:
        """Do what a transition or cue that could come next waits for."""
        regions = list(zip(self.model.regions, place.call.leaves.regions, strict=True))
        region, now = self.random.choice(regions)
        ways = candidates(region, now.leaf, now.cue)
        if not ways:
            return self._fidget(place)
        state = place.call.leaves
        fresh = [way for way in ways if self._is_untaken(region, way, state)]
        if not fresh and self.random.random() < HOW_OFTEN_HELPFUL:
            fresh = [way for way in ways if self._is_helpful(way)]
        way = self.random.choice(fresh or list(ways))
        if isinstance(way, NextCue):
            loops = near(self.random, loops_of(self.model, way.at))
            return self._hold(place, place.call.raw, loops)
        return self._take(place, region, way)

    def _is_helpful(self, way: Transition | NextCue) -> bool:
        """Tell whether a transition counts what one that no run has taken waits for."""
        if isinstance(way, NextCue):
            return False
        counted = {action.counter for action in way.does if isinstance(action, AddTo)}
        return any(counted & counters_in(untaken.when) for _, untaken in self._untaken())

    def _untaken(self) -> list[tuple[Region, Transition]]:
        return [
            (region, way)
            for region in self.model.regions
            for way in region.transitions()
            if (region.name, way.number, -1) not in self.taken
        ]

    def _take(self, place: Place, region: Region, way: Transition) -> Place:
        for raw, loops in stretches(self.model, self.random, place.call.leaves, region, way):
            place = self._hold(place, raw, loops)
        return place

    def _hold(self, place: Place, raw: tuple[str, ...], loops: int) -> Place:
        """Let inputs stand for so many loops; most of a long time goes by in one late loop."""
        left = loops
        if left > PUNCTUAL_LOOPS:
            skipped = left - PUNCTUAL_LOOPS // 2
            place = self._call(place, raw)
            place = self._call(place, raw, skipped)
            left -= skipped + 1
        for _ in range(left):
            place = self._call(place, raw)
        return place

    def _call(self, place: Place, raw: tuple[str, ...], loops: int = 1) -> Place:
        now_ms = place.begun_ms + loops * self.loop_ms
        if self.is_late:
            late = self.random.choice((0, 0, self.random.randrange(self.loop_ms), self.loop_ms))
            now_ms = max(now_ms + late - self.random.choice((0, 0, 1)), place.call.now_ms)
        call = next_call(self.model, place.call, place.begun_ms, now_ms, raw, self._dice())
        begun_ms = place.begun_ms + call.loops * self.loop_ms
        return self._note(Place(call, begun_ms, place))

    def _dice(self) -> Dice:
        return Dice(self.model, self._draw)

    def _draw(self, _: tuple[str, int], low: int, high: int) -> int:
        if self.leaning:
            return low if self.leaning < 0 else high
        return self.random.randint(low, high)

    def _note(self, place: Place) -> Place:
        state = place.call.leaves
        self.taken.update(_taken_in(self.model, state))
        looks = tuple((region.leaf, region.cue) for region in state.regions), state.counters
        self.begun.setdefault(looks, 0)
        alike = self.places.setdefault(looks, [])
        if len(alike) < ALIKE:
            alike.append(place)
        elif self.random.random() < HOW_OFTEN_KEPT_ANEW:
            alike[self.random.randrange(ALIKE)] = place
        return place


def _taken_in(model: Model, state: PropState) -> Iterator[Taken]:
    for region, now in zip(model.regions, state.regions, strict=True):
        if now.fired is None:
            continue
        way = now.fired.transition
        if way is None:
            yield region.name, now.leaf, now.cue
        else:
            yield region.name, way.number, -1


def _back(place: Place) -> Iterator[Call]:
    at: Place | None = place
    while at is not None:
        yield at.call
        at = at.before


def _distance(before: Place, after: Place) -> int:
    """Count the calls from one place to a later one of the same run."""
    count, at = 0, after
    while at is not before and at.before is not None:
        count, at = count + 1, at.before
    return count
