"""Drawings that forget what was counted, where the count is set anew before anybody asks for it.

Strategy: a counter that one region alone counts, and that nobody else asks for, only matters in the
states from which that region may come to ask for it, or to count on, before it sets it. Whoever
comes to another state may as well set it to where it began. From there on a prop does the same, at
the same times, with whatever count; so situations that differ in nothing else are one, and nothing
comes about in such a drawing, goes round or stays possible, that does not in the prop.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from operator import is_

from behaviour.explore.guards import atoms
from behaviour.model import (
    AddTo,
    Compare,
    Condition,
    Counter,
    Model,
    Region,
    SetTo,
    State,
    Transition,
    Unknown,
)
from behaviour.semantics import candidates

Leaves = frozenset[int]


def forgetful(part: Model, prop: Model, told: Collection[str]) -> Model:
    """Draw a part of a prop so that counts are forgotten; those that are `told` are kept."""
    own = sorted(_own(prop).difference(told))
    key = ("forgetful", *own)
    known: Model | None = part.worked_out.get(key)
    if known is None:
        known = part.worked_out[key] = _forgetful(part, own)
    return known


def compared(conditions: Iterable[Condition | None]) -> frozenset[str]:
    """Name the counters that conditions ask for."""
    every = (atom for condition in conditions for atom in atoms(condition))
    return frozenset(atom.name for atom in every if isinstance(atom, Compare))


def is_idle(prop: Model, region: Region, leaf: int, counter: str) -> bool:
    """Tell whether it is all one, where a region is in a leaf, what a counter has come to."""
    return counter in _own(prop) and leaf not in _minding(region, counter)


def _own(prop: Model) -> frozenset[str]:
    """Name the counters that nobody asks for but the one region that counts them."""
    key = ("counts of its own",)
    known: frozenset[str] | None = prop.worked_out.get(key)
    if known is None:
        mechanical = compared(m.during for each in prop.mechanism for m in each.movements())
        asked = {
            each.name: compared(way.when for way in each.transitions()) for each in prop.regions
        }
        counting = {each.name: counted_by(each) for each in prop.regions}
        known = prop.worked_out[key] = frozenset(
            counter
            for name, counted in counting.items()
            for counter in counted - mechanical
            if not any(
                counter in asked[other] | counting[other] for other in counting if other != name
            )
        )
    return known


def counted_by(region: Region) -> frozenset[str]:
    """Name the counters that a region counts."""
    return frozenset(action.counter for way in region.transitions() for action in way.does)


def _forgetful(part: Model, own: Iterable[str]) -> Model:
    regions = list(part.regions)
    for name in own:
        for at, region in enumerate(regions):
            if name in counted_by(region):
                regions[at] = _forgetting(region, part.counter[name])
    is_same = all(map(is_, part.regions, regions))
    return part if is_same else replace(part, regions=tuple(regions))


def _asks(condition: Condition | None, counter: str) -> bool:
    return counter in compared((condition,))


def _forgetting(region: Region, counter: Counter) -> Region:
    """Let a region set a counter to where it began wherever it comes to where that is all one."""
    minding = _minding(region, counter.name)
    if len(minding) == sum(not state.children for state in region.states):
        return region
    forget = SetTo(counter.name, counter.begins)

    def way(old: Transition) -> Transition:
        if not isinstance(old.target, int) or region.leaf(old.target) in minding:
            return old
        if any(action.counter == counter.name for action in old.does):
            return old
        return replace(old, does=(*old.does, forget))

    def state(old: State) -> State:
        return replace(
            old,
            interlocks=tuple(map(way, old.interlocks)),
            leave=tuple(map(way, old.leave)),
            end=None if old.end is None else way(old.end),
        )

    return replace(
        region,
        interlocks=tuple(map(way, region.interlocks)),
        states=tuple(map(state, region.states)),
    )


def _minding(region: Region, counter: str) -> Leaves:
    """Give the leaves from which a region may ask for a counter, or count on, before it sets it."""
    leaves = [state.number for state in region.states if not state.children]
    onward = {leaf: list(_ways(region, leaf)) for leaf in leaves}
    found: set[int] = set()
    size = -1
    while size != len(found):
        size = len(found)
        found |= {
            leaf
            for leaf, ways in onward.items()
            if any(_minds(region, way, counter, found) for way in ways)
        }
    return frozenset(found)


def _minds(region: Region, way: Transition, counter: str, found: set[int]) -> bool:
    if _asks(way.when, counter):
        return True
    for action in way.does:
        if action.counter == counter:
            return isinstance(action, AddTo)
    return isinstance(way.target, Unknown) or (
        way.target is not None and region.leaf(way.target) in found
    )


def _ways(region: Region, leaf: int) -> Iterator[Transition]:
    cues = len(region.states[leaf].cues)
    for way in candidates(region, leaf, max(cues - 1, 0)):
        if isinstance(way, Transition):
            yield way
