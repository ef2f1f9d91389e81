"""Transitions that could be due in one loop, so that only their order decides."""

from collections.abc import Iterator

from behaviour.check.implying import implies
from behaviour.explore.guards import strongest
from behaviour.explore.places import Way, spot
from behaviour.explore.situations import Mark, Moment
from behaviour.model import Model, Part, Region


def races(region: Region, model: Model, at: int, way: Way, moment: Moment) -> Iterator[Mark]:
    """Mark each later way that holds in the same loop, and would have done something else.

    `region` is as the file has it; in a search it may look at others only roughly.
    """
    winner = way.transition
    if winner is None or winner.part is Part.INTERLOCK or moment.before is None:
        return
    place = moment.before.places[at]
    after_winner = False
    ways = {way.number: way for way in region.transitions()}
    for other in spot(moment.told.model, at, place).ways:
        loser = other.transition
        if loser is winner:
            after_winner = True
            continue
        if not after_winner or loser is None or loser.part is Part.INTERLOCK:
            continue
        if (loser.target, loser.does) == (winner.target, winner.does):
            continue
        if implies(model, region, ways[winner.number], ways[loser.number]):
            continue
        for lows in moment.told.judge(other.when):
            bounds = lows
            if other.clock is not None and other.early > 1:
                bounds = strongest((*lows, (other.clock, other.early)))
            yield Mark(("order", region.name, winner.number, loser.number), bounds)
