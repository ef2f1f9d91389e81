"""Counters that are never taken past their bounds, as is shown by the region that counts them.

Strategy: that region is followed alone, with its counts, wherever its conditions let it go by these
counts; whatever else they ask for may be so or not, and no time counts. Every run of the prop goes
such a way. A counter that several regions count is left to the search.
"""

from collections.abc import Iterator

from behaviour.explore.forgetting import counted_by
from behaviour.model import (
    And,
    Compare,
    Condition,
    Model,
    Not,
    Or,
    Part,
    Region,
    Transition,
    Unknown,
)
from behaviour.semantics import NotKnownError, acted, candidates, compare, is_open

MOST_LOOKED_AT = 2000
"""So many leaves with counts are looked at, and what takes more is left to the search."""

Counts = dict[str, int]


def kept_within(model: Model, region: Region) -> frozenset[str]:
    """Name the counters that a region counts and, as it shows alone, never past their bounds."""
    key = ("kept within", region.name)
    if key not in model.worked_out:
        try:
            model.worked_out[key] = tuple(sorted(_followed(model, region)))
        except NotKnownError:
            model.worked_out[key] = ()
    return frozenset(map(str, model.worked_out[key]))


def _followed(model: Model, region: Region) -> set[str]:
    """Follow the region with the counters that it alone counts, and leave out those it overdoes."""
    others = [counted_by(other) for other in model.regions if other.name != region.name]
    own = counted_by(region).difference(*others)
    kept = set(own)
    first = {name: model.counter[name].begins for name in sorted(own)}
    stack = [(leaf, first) for leaf in _first_leaves(region)] if own else []
    seen: set[tuple[int, ...]] = set()
    while stack and kept:
        leaf, counts = stack.pop()
        if (key := (leaf, *counts.values())) in seen:
            continue
        seen.add(key)
        if len(seen) > MOST_LOOKED_AT:
            return set()
        for way in _ways(region, leaf, counts):
            after = dict(counts)
            for action in (each for each in way.does if each.counter in own):
                counter = model.counter[action.counter]
                value = acted(action, after[counter.name])
                after[counter.name] = min(max(value, counter.low), counter.high)
                if after[counter.name] != value:
                    kept.discard(counter.name)
            there = region.leaf(way.target) if isinstance(way.target, int) else leaf
            stack.append((there, after))
    return kept


def _first_leaves(region: Region) -> Iterator[int]:
    """List where a region may be after power-up: where it begins, or where an interlock leads."""
    begin = region.leaf(region.begins)
    yield begin
    for way in candidates(region, begin, 0):
        if isinstance(way, Transition) and way.part is Part.INTERLOCK:
            if isinstance(way.target, Unknown):
                raise NotKnownError(way.target)
            if way.target is not None:
                yield region.leaf(way.target)


def _ways(region: Region, leaf: int, counts: Counts) -> Iterator[Transition]:
    """List the ways out of a leaf, or on in it, that these counts let it go.

    After one that is due at once whatever else is so, no other has its turn.
    """
    for way in candidates(region, leaf, max(len(region.states[leaf].cues) - 1, 0)):
        if not isinstance(way, Transition) or not is_open(region, leaf, way):
            continue
        may_hold, may_fail = _comes_out(way.when, counts)
        if may_hold:
            yield way
        if not may_fail and way.after is None and way.part is not Part.END:
            return


def _comes_out(condition: Condition | None, counts: Counts) -> tuple[bool, bool]:
    """Tell whether a condition may hold with these counts, and whether it may fail."""
    match condition:
        case None:
            return True, False
        case And(parts=parts):
            each = [_comes_out(part, counts) for part in parts]
            return all(holds for holds, _ in each), any(fails for _, fails in each)
        case Or(parts=parts):
            each = [_comes_out(part, counts) for part in parts]
            return any(holds for holds, _ in each), all(fails for _, fails in each)
        case Not(part=part):
            holds, fails = _comes_out(part, counts)
            return fails, holds
        case Compare(name=name, sign=sign, number=number) if name in counts:
            is_so = compare(counts[name], sign, number)
            return is_so, not is_so
        case _:
            return True, True
