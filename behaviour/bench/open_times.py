"""Times drawn at random, which no recording says: left open until something shows that one is over.

Strategy: a time that is open counts as its longest. Each loop from its shortest on may be the one
in which it is over, and is looked at both ways.
"""

from collections.abc import Iterator
from typing import NamedTuple

from behaviour.model import Model
from behaviour.semantics import PropState, window_of


class OpenTime(NamedTuple):
    """A time of a region by its place, how long it has run, and the bounds that it ends in."""

    place: int
    number: int
    timer: int
    low: int
    high: int


def left_open(model: Model, prop: PropState) -> PropState:
    """Leave open the times of the states that a loop has entered."""
    for each in _running(model, prop):
        if each.timer == 0:
            prop = _with_drawn(prop, each, each.high)
    return prop


def turns(model: Model, prop: PropState, loops: int) -> list[PropState]:
    """List what a loop so many loop times later may go on from: each open time may be over in it"""
    found = [prop]
    for each in _still_open(model, prop):
        over = each.timer + loops
        if each.low <= over < each.high:
            found += [_with_drawn(one, each, over) for one in found]
    return found


def soonest(model: Model, prop: PropState) -> PropState:
    """Let every open time be over as soon as it can be."""
    for each in _still_open(model, prop):
        prop = _with_drawn(prop, each, max(each.low, each.timer + 1))
    return prop


def _still_open(model: Model, prop: PropState) -> Iterator[OpenTime]:
    for each in _running(model, prop):
        drawn = dict(prop.regions[each.place].draws)[each.number]
        if drawn == each.high > max(each.low, each.timer):
            yield each


def _running(model: Model, prop: PropState) -> Iterator[OpenTime]:
    for place, (region, now) in enumerate(zip(model.regions, prop.regions, strict=True)):
        for timer, number in zip(now.timers, region.path(now.leaf), strict=True):
            for chance in region.chances(number) if now.draws else ():
                yield OpenTime(place, chance.number, timer, *window_of(model, chance))


def _with_drawn(prop: PropState, time: OpenTime, loops: int) -> PropState:
    now = prop.regions[time.place]
    draws = tuple((n, loops if n == time.number else drawn) for n, drawn in now.draws)
    changed = now._replace(draws=draws)
    before, after = prop.regions[: time.place], prop.regions[time.place + 1 :]
    return prop._replace(regions=(*before, changed, *after))
