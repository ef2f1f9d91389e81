"""How long the movements of the hardware took in a recording, against their windows in the file.

Strategy: each mechanism is followed by what it makes inputs read. Of all the ways in which it can
have gone, those that break the fewest windows count; where they differ in where it stood, that is
not known.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from behaviour.model import Mechanism, Model, Movement
from behaviour.semantics import Look, look_back
from behaviour.story import LoopView
from behaviour.world.mechanism import (
    Phase,
    Progress,
    Stand,
    at_power_up,
    enter,
    may_be_passed,
    settle,
    window,
)

BY_ITSELF = 5
"""What a change that no movement explains weighs against a window that is broken."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """A movement that was seen to end in loop `loop`, or to be overdue there.

    `took` is in loops, None for a change that no movement explains; where such a change leads to
    where it came from, what is read fits no state at all. `is_whole` tells that it was seen from
    its beginning on, so that its earliest end counts as well.
    """

    mechanism: str
    source: int
    target: int
    loop: int
    took: int | None
    low: int
    high: int
    is_whole: bool = True
    is_over: bool = True
    is_broken: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """Where a mechanism stood in each loop, None where that is not known, and what it crossed."""

    places: tuple[int | None, ...]
    likely: tuple[int, ...]
    crossings: tuple[Crossing, ...]


class _Way(NamedTuple):
    """One way to a stand: how much it breaks, what happened in its last loop, and from where.

    `is_lost` tells that what is read fits no state.
    """

    weight: int
    crossing: Crossing | None
    stand: Stand
    before: "_Way | None"
    is_lost: bool = False


def course_of(
    model: Model, number: int, views: Sequence[LoopView], spare: int, clocks: int
) -> Course:
    """Follow a mechanism through a recording.

    No breach of a window are `spare` loops beyond it, and what clocks that differ by so many
    millionths make of it. Raises NotKnownError where the file leaves a window open.
    """
    tracker = _Tracker(model, model.mechanism[number], spare, clocks)
    ways: dict[Stand, _Way] = {}
    places: list[int | None] = []
    for view in views:
        found = tracker.begin(view) if not ways else tracker.onward(ways.values(), view)
        look = _look(model, view)
        ways = {}
        for way in found:
            stand = settle(tracker.mechanism, way.stand, look.holds)
            known = ways.get(stand)
            if known is None or way.weight < known.weight:
                ways[stand] = way._replace(stand=stand)
        least = min(way.weight for way in ways.values())
        likely = [way for way in ways.values() if way.weight == least]
        there = {way.stand.state for way in likely}
        is_known = len(there) == 1 and not any(way.is_lost for way in likely)
        places.append(there.pop() if is_known else None)
    best = min(ways.values(), key=lambda way: way.weight)
    crossings, stood = [], []
    back: _Way | None = best
    while back is not None:
        stood.append(back.stand.state)
        crossings += [] if back.crossing is None else [back.crossing]
        back = back.before
    return Course(tuple(places), tuple(reversed(stood)), tuple(reversed(crossings)))


def _look(model: Model, view: LoopView) -> Look:
    return look_back(model, view.state._replace(outputs=view.real))


@dataclass(frozen=True)
class _Tracker:
    model: Model
    mechanism: Mechanism
    spare: int
    clocks: int

    def earliest(self, low: int) -> int:
        """Give the fewest loops that are still no breach of the early end of a window."""
        return low - self.spare - -(-low * self.clocks // 1_000_000)

    def latest(self, high: int) -> int:
        """Give the most loops that are still no breach of the late end of a window."""
        return high + self.spare + -(-high * self.clocks // 1_000_000)

    def begin(self, view: LoopView) -> Iterator[_Way]:
        agreeing = [s for s in at_power_up(self.mechanism) if self._agrees(s.state, view)]
        for stand in agreeing or self._anywhere(view):
            yield _Way(0, None, stand, None)
        if not agreeing and not self._anywhere(view):
            for stand in at_power_up(self.mechanism):
                yield _Way(BY_ITSELF, self._fits_none(view, stand.state), stand, None, is_lost=True)

    def onward(self, ways: Iterable[_Way], view: LoopView) -> Iterator[_Way]:
        found, before = False, tuple(ways)
        for way in before:
            for each in self._goes_on(way, view):
                found = True
                yield each
        if not found:
            best = min(before, key=lambda way: way.weight)
            yield from self._moved_by_itself(best, view)

    def _goes_on(self, way: _Way, view: LoopView) -> Iterator[_Way]:
        movements = self.mechanism.states[way.stand.state].movements
        progress = tuple(
            Progress(now.phase, now.clock + 1) if now.phase.is_running else now
            for now in way.stand.progress
        )
        late: Crossing | None = None
        for movement, now in zip(movements, progress, strict=True):
            if now.phase.is_running:
                low, high = window(self.model, movement, now.phase)
                if now.clock == self.latest(high) + 1:
                    late = self._crossing(movement, view, now, (low, high), is_over=False)
                yield from self._arrives(way, view, movement, now, (low, high))
        if self._agrees(way.stand.state, view):
            stand = Stand(way.stand.state, progress, entered=False)
            yield _Way(way.weight + (late is not None), late, stand, way)

    def _arrives(
        self,
        way: _Way,
        view: LoopView,
        movement: Movement,
        now: Progress,
        bounds: tuple[int, int],
    ) -> Iterator[_Way]:
        """End a movement, and with it such as can be passed between two looks."""
        crossing = self._crossing(movement, view, now, bounds)
        too_early = now.clock < self.earliest(bounds[0])
        targets = [movement.target]
        for target in targets:
            if self._agrees(target, view):
                weight = way.weight + too_early
                yield _Way(weight, crossing, enter(self.mechanism, target), way)
            for onward in self.mechanism.states[target].movements:
                if may_be_passed(self.model, onward) and onward.target not in targets:
                    targets.append(onward.target)

    def _crossing(
        self,
        movement: Movement,
        view: LoopView,
        now: Progress,
        bounds: tuple[int, int],
        *,
        is_over: bool = True,
    ) -> Crossing:
        low, high = bounds
        return Crossing(
            self.mechanism.name,
            movement.source,
            movement.target,
            view.loop,
            now.clock,
            low,
            high,
            is_whole=now.phase is Phase.FIRST,
            is_over=is_over,
            is_broken=not self.earliest(low) <= now.clock <= self.latest(high),
        )

    def _moved_by_itself(self, way: _Way, view: LoopView) -> Iterator[_Way]:
        stands = self._anywhere(view)
        for stand in stands:
            moved = self._unexplained(view, way.stand.state, stand.state)
            yield _Way(way.weight + BY_ITSELF, None if way.is_lost else moved, stand, way)
        if not stands:
            fits_none = None if way.is_lost else self._fits_none(view, way.stand.state)
            yield _Way(way.weight + BY_ITSELF, fits_none, way.stand, way, is_lost=True)

    def _fits_none(self, view: LoopView, state: int) -> Crossing:
        return self._unexplained(view, state, state)

    def _unexplained(self, view: LoopView, source: int, target: int) -> Crossing:
        name = self.mechanism.name
        return Crossing(name, source, target, view.loop, None, 0, 0, is_broken=True)

    def _anywhere(self, view: LoopView) -> list[Stand]:
        """List where it may stand by what is read, however it came there."""
        agreeing = [s.number for s in self.mechanism.states if self._agrees(s.number, view)]
        return [
            Stand(state, (Progress(Phase.BROKEN),) * len(self.mechanism.states[state].movements))
            for state in agreeing
        ]

    def _agrees(self, state: int, view: LoopView) -> bool:
        return all(
            view.true[self.model.input_index[name]] == value
            for name, value in self.mechanism.states[state].reads
        )
