"""States that are always left if people or time will have it so, as the file itself says.

It searches nothing. Strategy: from a state, let nobody do anything until all times and cues of it
are over; then let people bring about one of its ways out, if they can do so whatever else is going
on. In that loop the region takes it, or a way that comes before it. Where none of those stays, it
leaves the state; and if it has left it while people got ready, so much the better.
"""

from collections.abc import Iterator

from behaviour.check.standstill import Resting, holds_for_long
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.guards import alternatives
from behaviour.explore.late import Held
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Part,
    Region,
    Transition,
    Unknown,
)
from behaviour.semantics import candidates, is_open

NOBODY_RESTS: Resting = {}


def is_always_left(model: Model, region: Region, leaf: int) -> bool:
    """Tell whether a state without inner states can be left from wherever the prop is with it.

    It can if this says so, with nothing wrong but that a movement may have stalled.
    """
    if (end := region.states[leaf].end) is not None and end.target is None:
        return False
    for way in _ways(region, leaf):
        if way.target is None:
            return False
        if way.when is None or is_at_will(model, way.when):
            return True
    return False


def _ways(region: Region, leaf: int) -> Iterator[Transition]:
    """List by priority what a region may do from a state, its cues apart."""
    cues = region.states[leaf].cues
    for way in candidates(region, leaf, max(len(cues) - 1, 0)):
        if isinstance(way, Transition) and is_open(region, leaf, way):
            yield way


def is_at_will(model: Model, condition: Condition) -> bool:
    """Tell whether people can bring a condition about by themselves, wherever everything is.

    They can where it asks of each input that no mechanism moves for one thing at the most: they
    let go of what must become something, hold all else for as long as is asked, and then turn.
    """
    return any(_is_at_will(model, each) for each in alternatives(condition))


def _is_at_will(model: Model, alternative: Condition) -> bool:
    named: set[str] = set()
    for part in _parts(alternative):
        match part:
            case HeldFor(time=Unknown()):
                return False
            case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
                if name not in model.input or name in model.moved or name in named:
                    return False
                if isinstance(part, Is) and not _fits(model, part):
                    return False
                named.add(name)
            case _:
                return False
    return True


def _parts(condition: Condition) -> Iterator[Condition]:
    if isinstance(condition, And):
        for part in condition.parts:
            yield from _parts(part)
    else:
        yield condition


def _fits(model: Model, part: Is) -> bool:
    return any((value in part.values) != part.negated for value in model.input[part.name].values)


# --- With the inputs held -----------------------------------------------------------------------


def rests(model: Model, region: Region, held: Held) -> int:
    """Count the states that what is written of them does not show to be left with inputs held."""
    return sum(
        not state.children and not _is_left(model, region, state.number, held)
        for state in region.states
    )


def late_leaves(
    model: Model, region: Region, held: Held, resting: Resting
) -> frozenset[int] | None:
    """Give the leaves that a region comes to for good once inputs have long been held.

    Regions that are `resting` stay in some leaf by then. Whatever else is asked for may be so or
    not. None where some way may still lead on, or a time is not known.
    """
    onward: dict[int, list[int]] = {}
    ends: list[int] = []
    for leaf in (state.number for state in region.states if not state.children):
        ways = list(_possible(model, region, leaf, held, resting))
        if any(isinstance(way.target, Unknown) or _is_at_no_time(way) for way in ways):
            return None
        onward[leaf] = [region.leaf(way.target) for way in ways if isinstance(way.target, int)]
        if not ways:
            ends.append(leaf)
        elif not _is_left(model, region, leaf, held, resting):
            return None
    groups = strongly_connected(onward)
    if any(len(group) > 1 or any(at in onward[at] for at in group) for group in groups):
        return None
    return frozenset(ends)


def _possible(
    model: Model, region: Region, leaf: int, held: Held, resting: Resting
) -> Iterator[Transition]:
    """List the ways that may be taken from a leaf; after one that is due at once none is."""
    for way in _ways(region, leaf):
        holds = _may_go(model, way, held, resting)
        if holds is not False:
            yield way
        if holds and way.after is None and way.part is not Part.END:
            return


def _may_go(model: Model, way: Transition, held: Held, resting: Resting) -> bool | None:
    return True if way.when is None else holds_for_long(model, way.when, held, resting)


def _is_at_no_time(way: Transition) -> bool:
    after = way.after
    return after is not None and (isinstance(after.low, Unknown) or isinstance(after.high, Unknown))


def _is_left(
    model: Model, region: Region, leaf: int, held: Held, resting: Resting = NOBODY_RESTS
) -> bool:
    for way in _ways(region, leaf):
        holds = _may_go(model, way, held, resting)
        if holds is not False and way.target is None:
            return False
        if holds:
            return True
    return False
