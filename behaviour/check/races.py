"""Transitions that could be due in one loop, so that only their order decides; and always does."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from itertools import combinations

from behaviour.check.implying import can_hold, exclude, implies
from behaviour.explore.guards import strongest
from behaviour.explore.places import Way, spot
from behaviour.explore.situations import Mark, Moment
from behaviour.model import Model, Part, Region, Transition
from behaviour.semantics import NotKnownError, candidates

Pair = tuple[Transition, Transition]


def rival_pairs(model: Model, region: Region) -> tuple[Pair, ...]:
    """List every two transitions of one place of which the second could be due as well.

    Raises NotKnownError where the file leaves that open.
    """
    return tuple(pair for pair in _pairs(region) if _are_rivals(model, region, *pair))


def possible_rivals(model: Model, region: Region) -> Iterator[Pair]:
    """List those, and the pairs of which the file leaves open whether they are."""
    for pair in _pairs(region):
        try:
            if _are_rivals(model, region, *pair):
                yield pair
        except NotKnownError:
            yield pair


def _pairs(region: Region) -> Collection[Pair]:
    """List every two transitions of one place, in the order in which it looks at them.

    Interlocks are left out.
    """
    found: dict[tuple[int, int], Pair] = {}
    for state in region.states:
        for cue in range(len(state.cues) + 1) if not state.children else ():
            ways = [
                way
                for way in candidates(region, state.number, cue)
                if isinstance(way, Transition) and way.part is not Part.INTERLOCK
            ]
            found |= {
                (first.number, second.number): (first, second)
                for first, second in combinations(ways, 2)
            }
    return found.values()


def _are_rivals(model: Model, region: Region, winner: Transition, loser: Transition) -> bool:
    """Tell whether two may be due at once, do something else, and the loser is no 'otherwise'."""
    key = ("rivals", region.name, winner.number, loser.number)
    if key not in model.worked_out:
        model.worked_out[key] = (_may_race(model, region, winner, loser),)
    return bool(model.worked_out[key][0])


def _may_race(model: Model, region: Region, winner: Transition, loser: Transition) -> bool:
    if (loser.target, loser.does) == (winner.target, winner.does):
        return False
    if exclude(model, winner.when, loser.when):
        return False
    return not implies(model, region, winner, loser)


def rivals(
    model: Model, region: Region, taken: Transition, others: Mapping[int, Pair], moment: Moment
) -> tuple[Way, ...]:
    """List the rivals of a transition that its place looks at later.

    Of `others`, by number, the pairs with it are to be looked for. `model` and `region` are as the
    file has them; in a search they may be drawn roughly.
    """
    at = moment.model.region_index[region.name]
    ways = () if moment.before is None else spot(moment.model, at, moment.before.places[at]).ways
    at_winner = next((n for n, way in enumerate(ways) if way.transition is taken), len(ways))
    return tuple(
        way
        for way in ways[at_winner + 1 :]
        if way.transition is not None
        and way.transition.number in others
        and _are_rivals(model, region, *others[way.transition.number])
    )


def races(
    region: Region, winner: Transition, others: Iterable[Way], moment: Moment
) -> Iterator[Mark]:
    """Mark each of a transition's rivals that holds in the same loop."""
    for other in others:
        loser = other.transition
        if loser is None:
            continue
        for lows in moment.told.judge(other.when):
            bounds = lows
            if other.clock is not None and other.early > 1:
                bounds = strongest((*lows, (other.clock, other.early)))
            yield Mark(("order", region.name, winner.number, loser.number), bounds)


def shadow(region: Region, model: Model, way: Transition) -> Transition | None:
    """Give a transition that is looked at before another and holds whenever it does, if one is."""
    try:
        if not can_hold(model, way.when):
            return None
        found = (other for other in _before(region, way) if implies(model, region, way, other))
        return next(found, None)
    except NotKnownError:
        return None


def _before(region: Region, way: Transition) -> Iterator[Transition]:
    """List what is looked at before a transition, of its own state and of those around it."""
    path = () if way.source is None else region.path(way.source)
    interlocks = [*region.interlocks, *(w for n in path for w in region.states[n].interlocks)]
    if way in interlocks:
        interlocks = interlocks[: interlocks.index(way)]
    yield from (each for each in interlocks if each.target not in path)
    if way.part is not Part.INTERLOCK and way.source is not None:
        leave = region.states[way.source].leave
        yield from leave[: leave.index(way)] if way in leave else leave
