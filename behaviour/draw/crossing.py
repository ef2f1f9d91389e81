"""Which arrows of a laid out frame cross others, and which of them are best written out."""

from collections import Counter
from itertools import combinations, pairwise

from behaviour.draw.flags import BEGIN, ArrowKey
from behaviour.draw.laid_out import LaidOut, Path, samples
from behaviour.draw.shapes import Point

NAMED = ("words ", "interlock ")
"""What the names of nodes begin with that stand for one transition."""


def crossing_arrows(laid: LaidOut) -> frozenset[ArrowKey]:
    """Give the arrow that crosses most others, by region and number; nothing where none does.

    A pointer to where a frame begins is given only where nothing else can be written out.
    """
    counts: Counter[ArrowKey] = Counter()
    for one, other in crossing_paths(laid):
        counts.update({key for key in (_key(one), _key(other)) if key is not None})
    if not counts:
        return frozenset()
    return frozenset({max(counts, key=lambda key: (key[1] != BEGIN, counts[key], key))})


def crossing_paths(laid: LaidOut) -> tuple[tuple[Path, Path], ...]:
    """List the pairs of lines that cross."""
    lines = [(path, tuple(samples(path.points))) for path in laid.paths]
    return tuple(
        (one, other)
        for (one, points), (other, others) in combinations(lines, 2)
        if _are_near(points, others) and _cross(points, others)
    )


def _key(path: Path) -> ArrowKey | None:
    """Give the transition that a line is a part of, or the bar that it points from."""
    name = next((end for end in path.ends if end.startswith(NAMED)), None)
    if name is None:
        return (path.ends[0], BEGIN) if path.ends[0].startswith("bar ") else None
    _, region, number = name.split(" ")
    return region, int(number)


def _are_near(one: tuple[Point, ...], other: tuple[Point, ...]) -> bool:
    """Tell whether the boxes around two lines meet."""
    return all(
        min(p[axis] for p in one) <= max(p[axis] for p in other)
        and min(p[axis] for p in other) <= max(p[axis] for p in one)
        for axis in (0, 1)
    )


def _cross(one: tuple[Point, ...], other: tuple[Point, ...]) -> bool:
    return any(_meet(a, b, c, d) for a, b in pairwise(one) for c, d in pairwise(other))


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
