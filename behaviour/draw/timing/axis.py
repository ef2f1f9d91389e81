"""The axis of a chart: where each loop stands, which waits are cut, and what begins a new strip.

Within a strip time runs evenly, between two breaks; a break says that a wait was cut. It knows no
prop: it is given the loops in which something changes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

STRIP = 640.0
BREAK = 16.0
CLOSEST = 9.0
"""Points between the two changes that lie closest together."""
WIDEST = 40.0
"""Points that one loop takes at most."""
LAST = 44.0
"""Points of the last loop, which is drawn wide: what it left is what a run is told for."""
WAIT = 64.0
"""Points that are left of a wait that was cut, at least."""
MOST_CHANGES = 240
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500)


@dataclass(frozen=True, slots=True)
class Piece:
    """Loops that stand evenly, `unit` points each, from `left` on."""

    first: int
    end: int
    left: float
    unit: float

    @property
    def right(self) -> float:
        return self.left + (self.end - self.first) * self.unit

    def at(self, loop: int) -> float:
        return self.left + (loop - self.first) * self.unit


@dataclass(frozen=True, slots=True)
class Strip:
    """One row of a chart: pieces with a break between two that do not follow each other."""

    pieces: tuple[Piece, ...]

    @property
    def first(self) -> int:
        return self.pieces[0].first

    @property
    def end(self) -> int:
        return self.pieces[-1].end

    @property
    def width(self) -> float:
        return self.pieces[-1].right

    def at(self, loop: int) -> float:
        """Give where a loop begins; one that was cut away stands in the middle of its break."""
        if loop <= self.first:
            return self.pieces[0].left
        for piece, after in pairwise(self.pieces):
            if loop <= piece.end:
                return piece.at(loop)
            if loop < after.first:
                return (piece.right + after.left) / 2
        return min(self.pieces[-1].at(loop), self.width)

    def breaks(self) -> tuple[float, ...]:
        """List the middles of the breaks."""
        return tuple(
            (one.right + after.left) / 2
            for one, after in pairwise(self.pieces)
            if one.end < after.first
        )


def strips(changes: Sequence[int], wide: float = LAST) -> tuple[Strip, ...]:
    """Lay an axis under changes that go from loop 0 to the end, both among them.

    `wide` is the points of the last loop.
    """
    *early, end = changes
    last = end - 1
    kept = _kept(sorted({*early, last}))
    gaps = [after - before for before, after in pairwise(kept)]
    rows: list[list[Piece]] = [[]]
    if gaps:
        unit, most = _scale(gaps)
        rows = _in_rows(_uncut(kept, most, _hidden(early, kept)), unit)
    left = rows[-1][-1].right if rows[-1] else 0.0
    rows[-1].append(Piece(last, end, left, wide))
    return tuple(Strip(tuple(row)) for row in rows)


def ticks(piece: Piece, apart: float) -> tuple[int, ...]:
    """List loops with a round number, about so many points apart; the first where there is none."""
    step, decade = 1, 0
    while step * piece.unit < apart:
        decade += 1
        step = STEPS[decade % 3] * 10 ** (decade // 3)
    found = tuple(range(-(-piece.first // step) * step, piece.end, step))
    return found or (piece.first,)


def _kept(changes: Sequence[int]) -> list[int]:
    if len(changes) <= MOST_CHANGES:
        return list(changes)
    half = MOST_CHANGES // 2
    return [*changes[:half], *changes[-half:]]


def _hidden(changes: Sequence[int], kept: Sequence[int]) -> int | None:
    """Give the change after which changes are left out."""
    return None if len(kept) >= len(changes) else kept[MOST_CHANGES // 2 - 1]


def _scale(gaps: Sequence[int]) -> tuple[float, int]:
    """Choose the points of a loop, and the longest wait that stays whole, in loops."""
    needed = CLOSEST / min(gaps)
    for most in _caps(max(gaps)):
        shown = [_shown(gap, most) for gap in gaps]
        breaks = sum(gap != left for gap, left in zip(gaps, shown, strict=True))
        unit = min(WIDEST, (STRIP - breaks * BREAK) / sum(shown))
        if unit >= needed and (not breaks or most * unit >= WAIT):
            return unit, most
    return needed, max(4, round(WAIT / needed))


def _caps(longest: int) -> list[int]:
    """List round numbers of loops from the longest wait down."""
    rounds = [step * 10**power for power in range(8) for step in (1, 2, 3, 5, 7)]
    return [longest, *sorted((cap for cap in rounds if 4 <= cap < longest), reverse=True)]  # noqa: PLR2004


def _shown(gap: int, most: int) -> int:
    """Count the loops of a wait that are shown; a little too long is left whole."""
    return gap if gap <= most * 5 // 4 else most


def _uncut(kept: Sequence[int], most: int, hidden: int | None) -> list[tuple[int, int]]:
    """List the stretches of loops that are shown."""
    found = [(kept[0], kept[0])]
    for before, after in pairwise(kept):
        shown = _shown(after - before, most)
        if shown == after - before and before != hidden:
            found[-1] = (found[-1][0], after)
            continue
        head = min(shown, most) // 2
        found[-1] = (found[-1][0], before + head)
        found.append((after - (min(shown, most) - head), after))
    return found


def _in_rows(stretches: Sequence[tuple[int, int]], unit: float) -> list[list[Piece]]:
    rows: list[list[Piece]] = [[]]
    todo = list(reversed(stretches))
    while todo:
        first, end = todo.pop()
        left = rows[-1][-1].right + BREAK if rows[-1] else 0.0
        fits = int((STRIP - left) / unit + 0.001)
        if fits >= end - first:
            rows[-1].append(Piece(first, end, left, unit))
        elif fits * unit >= WAIT / 2 or not rows[-1]:
            cut = first + max(1, fits)
            rows[-1].append(Piece(first, cut, left, unit))
            rows.append([])
            todo.append((cut, end))
        else:
            rows.append([])
            todo.append((first, end))
    return [row for row in rows if row]
