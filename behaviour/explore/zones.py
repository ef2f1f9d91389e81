"""Difference-bound matrices of whole numbers with closed bounds, each a flat tuple.

A zone over n clocks holds (n + 1)^2 bounds, row by row: entry (i, j) bounds x_i - x_j from above,
where x_0 is the constant 0 and clock k (from 0) is x_(k+1). All zones here are closed: every bound
is as tight as the others make it (Bengtsson and Yi, Timed Automata: Semantics, Algorithms and
Tools, LNCS 3098, 2004, section 4). An empty zone is None. It knows nothing of props.
"""

from collections.abc import Callable, Iterable, Sequence
from functools import cache
from operator import ge, itemgetter

FREE = 1 << 40
"""No bound at all. Larger than any sum of real bounds."""

Zone = tuple[int, ...]
Bound = tuple[int, int]
"""A clock and a number of loops."""


def zeroes(clocks: int) -> Zone:
    """Give the zone in which every clock is 0."""
    return (0,) * ((clocks + 1) * (clocks + 1))


def everything(clocks: int) -> Zone:
    """Give the zone of all values from 0 on."""
    size = clocks + 1
    return tuple(0 if i in (0, j) else FREE for i in range(size) for j in range(size))


def width(zone: Zone) -> int:
    """Give the row length of a zone: its clocks and one."""
    size = 1
    while size * size < len(zone):
        size += 1
    return size


def close(bounds: Sequence[int], size: int) -> Zone | None:
    """Tighten every bound by all others (Floyd and Warshall); None if nothing is left."""
    d = list(bounds)
    rows = range(0, size * size, size)
    for k in range(size):
        row_k = k * size
        onward = [(j, d[row_k + j]) for j in range(size) if j != k and d[row_k + j] < FREE]
        if not onward:
            continue
        for row_i in rows:
            via = d[row_i + k]
            if via >= FREE or row_i == row_k:
                continue
            for j, bound in onward:
                if via + bound < d[row_i + j]:  # noqa: PLR1730
                    d[row_i + j] = via + bound
    if any(d[i * size + i] < 0 for i in range(size)):
        return None
    return tuple(d)


def shift(zone: Zone, size: int, loops: int = 1) -> Zone:
    """Add `loops` to every clock; a negative number may be given for a zone that allows it."""
    d = list(zone)
    for i in range(1, size):
        if d[i * size] < FREE:
            d[i * size] += loops
        d[i] -= loops
    return tuple(d)


def up(zone: Zone, size: int) -> Zone:
    """Let any number of loops pass."""
    d = list(zone)
    for i in range(1, size):
        d[i * size] = FREE
    return tuple(d)


def down(zone: Zone, size: int) -> Zone:
    """Go back any number of loops, as far as no clock falls below 0."""
    d = list(zone)
    for i in range(1, size):
        lowest = 0
        for j in range(1, size):
            bound = d[j * size + i]
            lowest = min(lowest, bound)
        d[i] = lowest
    return tuple(d)


def tighten(zone: Zone, size: int, i: int, j: int, bound: int) -> Zone | None:
    """Add the bound x_i - x_j <= `bound` and close again; None if nothing is left."""
    if bound >= zone[i * size + j]:
        return zone
    if bound + zone[j * size + i] < 0:
        return None
    d = list(zone)
    d[i * size + j] = bound
    column_j = [d[j * size + b] for b in range(size)]
    for a in range(size):
        to_i = d[a * size + i]
        if to_i >= FREE:
            continue
        through = to_i + bound
        row = a * size
        for b in range(size):
            onward = column_j[b]
            if onward < FREE and through + onward < d[row + b]:
                d[row + b] = through + onward
    return tuple(d)


def at_least(zone: Zone | None, size: int, bounds: Iterable[Bound]) -> Zone | None:
    """Keep the values in which each named clock has at least its bound."""
    for clock, least in bounds:
        if zone is None:
            return None
        zone = tighten(zone, size, 0, clock + 1, -least)
    return zone


def at_most(zone: Zone | None, size: int, bounds: Iterable[Bound]) -> Zone | None:
    """Keep the values in which each named clock has at most its bound."""
    for clock, most in bounds:
        if zone is None:
            return None
        zone = tighten(zone, size, clock + 1, 0, most)
    return zone


def carry(zone: Zone, size: int, sources: Sequence[int]) -> Zone:
    """Build a zone whose clock k is clock `sources[k]` of this one, or 0 where that is -1.

    A clock is taken at most once.
    """
    return _carrying(size, tuple(sources))(zone)


@cache
def _carrying(size: int, sources: tuple[int, ...]) -> Callable[[Zone], Zone]:
    rows = [0] + [source + 1 for source in sources]
    if len(rows) == 1:
        return lambda zone: zone[:1]
    return itemgetter(*(i * size + j for i in rows for j in rows))


def uncarry(zone: Zone, size: int, sources: Sequence[int], clocks: int) -> Zone | None:
    """Undo `carry`: all values over `clocks` clocks that it would take into `zone`.

    The clocks that were set to 0 must be able to be 0; what was dropped may be anything.
    """
    kept: Zone | None = zone
    for at, source in enumerate(sources):
        if source < 0 and kept is not None:
            kept = tighten(kept, size, at + 1, 0, 0)
    if kept is None:
        return None
    wide = clocks + 1
    place = [(0, 0)] + [(at + 1, s + 1) for at, s in enumerate(sources) if s >= 0]
    bounds = list(everything(clocks))
    for from_i, i in place:
        for from_j, j in place:
            bounds[i * wide + j] = min(bounds[i * wide + j], kept[from_i * size + from_j])
    return close(bounds, wide)


def extrapolate(zone: Zone, size: int, most: Sequence[int]) -> Zone:
    """Forget what no guard can tell: values of clock k above `most[k]` are all alike.

    This is the extrapolation by maximal constants (Behrmann, Bouyer, Larsen and Pelanek, STTT 8(3),
    2006, Extra_M), which keeps a bisimulation for guards on single clocks.
    """
    d: list[int] | None = None
    limits = (0, *most)
    for i in range(size):
        for j in range(size):
            if i == j:
                continue
            bound = zone[i * size + j]
            if bound < FREE and bound > limits[i] and i:
                d = d or list(zone)
                d[i * size + j] = FREE
            elif j and bound < -limits[j]:
                d = d or list(zone)
                d[i * size + j] = -limits[j] - 1
    if d is None:
        return zone
    closed = close(d, size)
    if closed is None:
        raise AssertionError("a wider zone cannot be empty")
    return closed


def widen(zone: Zone, size: int, limits: Sequence[tuple[int, int]]) -> Zone:
    """Forget what no guard on the way to anything can tell, by lower and upper bounds apart.

    `limits` has for each clock the most that it is asked to have at the least and at the most, -1
    where nobody asks. What can be reached stays the same; unlike `extrapolate` it does not keep
    which zones can do just the same. This is Extra+_LU of Behrmann, Bouyer, Larsen and Pelanek,
    Lower and Upper Bounds in Zone-Based Abstractions of Timed Automata, STTT 8(3), 2006, for
    closed bounds on whole numbers, where `below -U` is `at most -U - 1`.
    """
    d = list(zone)
    changed = False
    lows = [0, *(low for low, _ in limits)]
    highs = [0, *(high for _, high in limits)]
    least = [-zone[j] for j in range(size)]
    for i in range(size):
        is_past_low = i > 0 and least[i] > lows[i]
        for j in range(size):
            bound = zone[i * size + j]
            if i == j or (bound >= FREE and i):
                continue
            if i and (bound > lows[i] or is_past_low or (j and least[j] > highs[j])):
                d[i * size + j] = FREE
                changed = True
            elif not i and least[j] > highs[j]:
                d[j] = -highs[j] - 1
                changed = True
    if not changed:
        return zone
    closed = close(d, size)
    if closed is None:
        raise AssertionError("a wider zone cannot be empty")
    return closed


def includes(outer: Zone, inner: Zone) -> bool:
    """Tell whether every value of `inner` lies in `outer`."""
    return all(map(ge, outer, inner))


def subtract(zone: Zone, size: int, other: Zone) -> list[Zone]:
    """Give what of `zone` lies outside `other`, in pieces that do not overlap."""
    pieces = []
    rest: Zone | None = zone
    for i in range(size):
        for j in range(size):
            bound = other[i * size + j]
            if rest is None or i == j or bound >= FREE or rest[i * size + j] <= bound:
                continue
            piece = tighten(rest, size, j, i, -bound - 1)
            if piece is not None:
                pieces.append(piece)
            rest = tighten(rest, size, i, j, bound)
    return pieces if rest is not None else [zone]


def uncovered(zone: Zone, size: int, others: Iterable[Zone]) -> list[Zone]:
    """Give what of `zone` lies outside every one of `others`."""
    left = [zone]
    for other in others:
        left = [piece for part in left for piece in subtract(part, size, other)]
        if not left:
            break
    return left
