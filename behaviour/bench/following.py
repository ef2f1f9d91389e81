"""A recording followed by `step`: every way in which the prop could have come to what was seen.

When exactly a loop looked at its inputs, and which times were drawn, no recording says. So all
that is possible is followed side by side: each way is a state of the prop with the moments at
which its last loop may have begun. A way ends where it drives something that was not seen, or
misses a change that was. Where no way is left, the recording differs.

Strategy: a loop begins a loop time after the last, within the error of two clocks; the moments of
a recording may be off by a slack. Ways that are in one state at moments that touch are one way.
Long waits in which nothing can happen are one step.
"""

import time
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from behaviour.bench.capture import Capture
from behaviour.bench.open_times import left_open, soonest, turns
from behaviour.bench.sighting import Met, Mismatch, sighting_of
from behaviour.explore.canonical import canonical_prop, ceilings, own_conditions
from behaviour.model import Micros, Model
from behaviour.semantics import PropState, power_up, step

MOST_WAYS = 20_000
MOST_ENDS = 5_000
MOST_KNOWN = 500_000
LONGEST_JUMP = 1 << 20


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a recording may be off, and how late a loop may come.

    A moment may be off by `slack`, and the two clocks may differ by `clocks` millionths. Up to
    `late` loops in a row may be left out. The first loop comes within `boot` of power-up.
    """

    slack: Micros
    clocks: int = 0
    late: int = 0
    boot: Micros = 0


@dataclass(frozen=True, slots=True)
class Played:
    """One loop time on a way through the recording, and when it began.

    `skipped` is one in which the controller made no loop.
    """

    at: Micros
    raw: tuple[str, ...]
    prop: PropState
    skipped: bool = False


@dataclass(frozen=True, slots=True)
class Followed:
    """How far a recording could be followed, by one of the ways there.

    `mismatches` is the first difference, empty if there is none; `also` has what other ways would
    have allowed instead. `open` says why the end was not come to though nothing differs.
    """

    path: tuple[Played, ...]
    mismatches: tuple[Mismatch, ...] = ()
    also: tuple[Mismatch, ...] = ()
    open: str = ""

    @property
    def until(self) -> Micros:
        return self.path[-1].at if self.path else 0


@dataclass(slots=True)
class _Piece:
    """How a way comes to be where it is, at a moment from `low` to `high`."""

    parent: "_Way | None"
    loops: int
    raw: tuple[str, ...]
    prop: PropState
    low: Micros
    high: Micros
    late: int
    quiet: bool = False


class _Left(NamedTuple):
    """What a loop leaves: the prop, the number of what is alike from here on, and what it shows."""

    prop: PropState
    alike: int
    shown: tuple[str, ...]
    is_quiet: bool


@dataclass(slots=True)
class _Way:
    """A state of the prop by its number, and how far each signal has been accounted for."""

    loop: int
    alike: int
    seen: tuple[int, ...]
    low: Micros
    high: Micros
    late: int
    pieces: list[_Piece]


@dataclass(frozen=True, slots=True)
class _End:
    """A way that ended, and why."""

    way: _Way
    mismatches: tuple[Mismatch, ...]

    @property
    def at(self) -> Micros:
        return min(each.at for each in self.mismatches)


def follow(model: Model, capture: Capture, tolerance: Tolerance, seconds: float) -> Followed:
    """Follow a recording from its power-up on, with punctual loops if that will do.

    Raises NotKnownError where the file leaves open what a loop needs.
    """
    until = time.monotonic() + seconds
    punctual = _Following(model, capture, replace(tolerance, late=0), until).whole()
    if not punctual.mismatches or not tolerance.late:
        return punctual
    late = _Following(model, capture, tolerance, until).whole()
    put_off = (tolerance.late + 1) * model.loop
    is_further = not late.mismatches or late.until > punctual.until + put_off
    return late if is_further else punctual


@dataclass
class _Following:
    """All ways at once; `slots` has those that come to each loop, by what makes them alike.

    Props that behave alike have one number, and what a loop makes of one is `known` once for all.
    """

    model: Model
    capture: Capture
    tolerance: Tolerance
    until: float
    slots: dict[int, dict[tuple[int, tuple[int, ...]], list[_Way]]] = field(default_factory=dict)
    props: list[PropState] = field(default_factory=list)
    numbers: dict[PropState, int] = field(default_factory=dict)
    known: dict[tuple[int, tuple[str, ...], int], tuple[_Left, ...]] = field(default_factory=dict)
    ends: list[_End] = field(default_factory=list)
    over: list[_Way] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.sighting = sighting_of(self.model, self.capture, self.tolerance.slack)
        self.own = ceilings(self.model, own_conditions(self.model))

    def whole(self) -> Followed:
        self._power_up()
        while self.slots:
            loop = min(self.slots)
            ways = [way for group in self.slots.pop(loop).values() for way in group]
            if len(ways) > MOST_WAYS:
                return self._given_up(ways, "it can be read in too many ways")
            jump = 0 if self.slots else self._jump(ways)
            for way in ways:
                if time.monotonic() > self.until:
                    return self._given_up(ways, "the time for it is over")
                if self._is_over(way):
                    self.over.append(way)
                elif jump > 1:
                    self._waits(way, jump)
                else:
                    self._goes_on(way)
            if len(self.ends) > MOST_ENDS:
                self.ends = self._latest_ends()
        if self.over:
            return Followed(self._path(min(self.over, key=lambda way: (way.late, -way.low))))
        return self._differs()

    # --- One loop on --------------------------------------------------------------------------

    def _power_up(self) -> None:
        slack = self.tolerance.slack
        seen = tuple(signal.number(self.capture.begins) for signal in self.sighting.signals)
        root = _Way(-1, -1, seen, self.capture.begins, self.capture.begins, 0, [])
        for raw, low, high in self.sighting.readings(
            self.capture.begins - slack, self.capture.begins + self.tolerance.boot + slack
        ):
            left = self._left(power_up(self.model, raw, {}), None)
            self._add(root, None, 0, raw, left, low, high)

    def _goes_on(self, way: _Way) -> None:
        """Make the next loop; where something happens in it, it may also come late."""
        if not self._loops(way, 1):
            for loops in range(2, self.tolerance.late + 2):
                self._loops(way, loops)

    def _loops(self, way: _Way, loops: int) -> bool:
        """Make a loop so many loop times after the last, and tell whether nothing happens in it."""
        low, high = self._later(way, loops)
        is_quiet, before = True, way.pieces[0].raw
        for raw, first, last in self.sighting.readings(low, high):
            for left in self._outcomes(way.alike, raw, loops):
                is_quiet = is_quiet and raw == before and left.is_quiet
                self._add(way, way, loops, raw, left, first, last)
        return is_quiet

    def _outcomes(self, alike: int, raw: tuple[str, ...], loops: int) -> tuple[_Left, ...]:
        """List what a loop can make of a prop: each time that is open may be over in it."""
        key = (alike, raw, loops)
        found = self.known.get(key)
        if found is None:
            if len(self.known) > MOST_KNOWN:
                self.known.clear()
            before = self.props[alike]
            found = self.known[key] = tuple(
                self._left(step(self.model, turn, raw, {}, loops), before)
                for turn in turns(self.model, before, loops)
            )
        return found

    def _left(self, left: PropState, before: PropState | None) -> _Left:
        prop = left_open(self.model, left)
        is_quiet = before is not None and self._is_quiet(before, prop)
        return _Left(prop, self._number(prop), self.sighting.shown(prop), is_quiet)

    def _number(self, prop: PropState) -> int:
        alike = canonical_prop(self.model, prop, self.own)
        number = self.numbers.setdefault(alike, len(self.props))
        if number == len(self.props):
            self.props.append(alike)
        return number

    def _later(self, way: _Way, loops: int) -> tuple[Micros, Micros]:
        whole = loops * self.model.loop
        off = -(-whole * self.tolerance.clocks // 1_000_000)
        return way.low + whole - off, way.high + whole + off

    def _add(
        self,
        way: _Way,
        parent: _Way | None,
        loops: int,
        raw: tuple[str, ...],
        left: _Left,
        low: Micros,
        high: Micros,
    ) -> None:
        met = self.sighting.met(way.seen, left.shown, low, high)
        if isinstance(met, Met):
            late = way.late + max(loops - 1, 0)
            piece = _Piece(parent, loops, raw, left.prop, met.low, met.high, late)
            self._put(way.loop + max(loops, 1), piece, left.alike, met.seen)
        else:
            self.ends.append(_End(way, met))

    def _put(self, loop: int, piece: _Piece, alike: int, seen: tuple[int, ...]) -> None:
        there = self.slots.setdefault(loop, {}).setdefault((alike, seen), [])
        for way in there:
            if way.low <= piece.high + 1 and piece.low <= way.high + 1:
                way.low, way.high = min(way.low, piece.low), max(way.high, piece.high)
                way.pieces.append(piece)
                way.late = min(way.late, piece.late)
                return
        there.append(_Way(loop, alike, seen, piece.low, piece.high, piece.late, [piece]))

    # --- Long waits ---------------------------------------------------------------------------

    def _is_quiet(self, before: PropState, after: PropState) -> bool:
        return (
            after.outputs == before.outputs
            and after.done == before.done
            and not any(region.fired for region in after.regions)
            and not any(item.became for item in after.inputs)
        )

    def _jump(self, ways: list[_Way]) -> int:
        """Give so many loops that nothing can happen in any way, or less than two."""
        if not self.sighting.is_whole:
            return 0
        loops = min((self._free(way) for way in ways), default=0)
        while loops > 1:
            if all(self._stays_quiet(way, loops) for way in ways):
                return loops
            loops //= 2
        return 0

    def _free(self, way: _Way) -> int:
        """Count the loops before anything is seen to change, or the recording ends."""
        slack = self.tolerance.slack
        edges = self.sighting.edges
        ahead = list(edges[bisect_right(edges, way.low - slack) :][:1])
        for signal, at in zip(self.sighting.signals, way.seen, strict=True):
            ahead += [each.at for each in signal.stretches[at + 1 : at + 2]]
        room = min([*ahead, self.capture.ends]) - slack - way.high
        whole = self.model.loop * (1_000_000 + self.tolerance.clocks) / 1_000_000
        return min(int(room / whole) - 1, LONGEST_JUMP)

    def _stays_quiet(self, way: _Way, loops: int) -> bool:
        raw = self.sighting.raws_at(way.high)[0]
        if raw != way.pieces[0].raw:
            return False
        prop = self.props[way.alike]
        early = soonest(self.model, prop)
        return self._is_quiet(prop, step(self.model, early, raw, {}, loops))

    def _waits(self, way: _Way, loops: int) -> None:
        raw = way.pieces[0].raw
        low, high = self._later(way, loops)
        prop = step(self.model, self.props[way.alike], raw, {}, loops)
        piece = _Piece(way, loops, raw, prop, low, high, way.late, quiet=True)
        self._put(way.loop + loops, piece, self._number(prop), way.seen)

    # --- How it ends --------------------------------------------------------------------------

    def _is_over(self, way: _Way) -> bool:
        return self._later(way, 1)[1] > self.capture.ends + self.tolerance.slack

    def _given_up(self, ways: Iterable[_Way], why: str) -> Followed:
        return Followed(self._path(max(ways, key=lambda way: way.low)), open=why)

    def _differs(self) -> Followed:
        near = self._latest_ends()
        best = min(near, key=lambda end: (len(end.mismatches), end.way.late, -end.at))
        names = {(each.sort, each.name) for each in best.mismatches}
        also = dict.fromkeys(
            each
            for end in near
            for each in end.mismatches
            if (each.sort, each.name) in names and each not in best.mismatches
        )
        path = self._path(best.way) if best.way.loop >= 0 else ()
        return Followed(path, best.mismatches, tuple(also))

    def _latest_ends(self) -> list[_End]:
        furthest = max(end.at for end in self.ends)
        return [end for end in self.ends if end.at >= furthest - self.model.loop]

    def _path(self, way: _Way) -> tuple[Played, ...]:
        """Choose one course of those that lead to a way, loop by loop."""
        found: list[Played] = []
        at = (way.low + way.high) // 2
        here: _Way | None = way
        while here is not None:
            pieces = (each for each in here.pieces if each.low <= at <= each.high)
            piece = min(pieces, key=lambda each: each.late)
            found.append(Played(at, piece.raw, piece.prop))
            here = piece.parent
            if here is None:
                break
            low, high = self._later(here, piece.loops)
            first = max(here.low, at - (high - here.high))
            last = min(here.high, at - (low - here.low))
            before = (first + last) // 2
            found += reversed(self._between(here, piece, before, at))
            at = before
        return tuple(reversed(found))

    def _between(self, here: _Way, piece: _Piece, begins: Micros, ends: Micros) -> list[Played]:
        """Fill the loop times between two loops of a way: skipped ones, or quiet ones."""
        found = []
        for loop in range(1, piece.loops):
            at = begins + (ends - begins) * loop // piece.loops
            raw = self.sighting.raws_at(at)[0]
            if piece.quiet:
                prop = step(self.model, self.props[here.alike], piece.raw, {}, loop)
                found.append(Played(at, piece.raw, prop))
            else:
                found.append(Played(at, raw, self.props[here.alike], skipped=True))
        return found
