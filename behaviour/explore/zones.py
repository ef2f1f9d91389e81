"""Difference-bound matrices of whole numbers with closed bounds, each a flat tuple.

A zone over n clocks holds (n + 1)^2 bounds, row by row: entry (i, j) bounds x_i - x_j from above,
where x_0 is the constant 0 and clock k (from 0) is x_(k+1). All zones here are closed: every bound
is as tight as the others make it (Bengtsson and Yi, Timed Automata: Semantics, Algorithms and
Tools, LNCS 3098, 2004, section 4). An empty zone is None. It knows nothing of props.
"""

from collections.abc import Callable, Iterable, Sequence
from functools import cache, lru_cache
from operator import ge, itemgetter
from typing import NamedTuple

FREE = 1 << 40
"""No bound at all. Larger than any sum of real bounds."""

Zone = tuple[int, ...]
Bound = tuple[int, int]
"""A clock and a number of loops."""


class Ends(NamedTuple):
    """How far each clock is told apart by lower bounds and by upper ones, x_0 first, by 0.

    Where nobody asks, an end is below 0.
    """

    size: int
    lows: tuple[int, ...]
    highs: tuple[int, ...]


NO_ENDS = Ends(1, (0,), (0,))
"""Where there is no clock."""


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
    if size == 1:
        return zone
    d = list(zone)
    d[size::size] = [most + loops if most < FREE else most for most in zone[size::size]]
    d[1:size] = [bound - loops for bound in zone[1:size]]
    return tuple(d)


def up(zone: Zone, size: int) -> Zone:
    """Let any number of loops pass."""
    if size == 1:
        return zone
    d = list(zone)
    d[size::size] = [FREE] * (size - 1)
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
    onward = [
        (b, bound + more) for b, more in enumerate(zone[j * size : j * size + size]) if more < FREE
    ]
    for a, to_i in enumerate(zone[i::size]):
        if to_i < FREE:
            row = a * size
            for b, more in onward:
                if to_i + more < d[row + b]:  # noqa: PLR1730
                    d[row + b] = to_i + more
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


def includes(outer: Zone, inner: Zone) -> bool:
    """Tell whether every value of `inner` lies in `outer`."""
    return all(map(ge, outer, inner))


def needed(zone: Zone, ends: Ends) -> Zone:
    """Give bounds that include a zone in another if that can do all that this one can.

    A value v' can do all that v can if each clock that v' has further is past its end by upper
    bounds in v already, and each that v' has less far has come to its end by lower bounds in v'.
    Bounds are closed and numbers whole, so the values of another zone that can do all that v can
    are those with x at most v(x), where v(x) is within its upper end, and y at least v(y) or its
    lower end. As that zone is closed, none is left only if such a y and such an x are too far apart
    in it; x_0 is one of the others. Some v of this zone has them so if its own bound on y - x is
    wider, its least x is within the upper end, and the lower end of y is too far from there. Both
    then come about in one v, since both bound x from above. This is the inclusion in the
    abstraction a_LU of Herbreteau, Srivathsan and Walukiewicz, Better Abstractions for Timed
    Automata, LICS 2012, for closed bounds.
    """
    return tuple(map(min, zone, _enough(zone[: ends.size], ends)))


@lru_cache(1 << 12)
def _enough(least: tuple[int, ...], ends: Ends) -> Zone:
    """Give the bounds that are enough whatever a zone's own are, by its least values below 0."""
    _, lows, highs = ends
    far = [-bound if -bound <= high else 2 * FREE for bound, high in zip(least, highs, strict=True)]
    return tuple(low - x for low in lows for x in far)


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
