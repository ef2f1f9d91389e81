"""What a region may do by its transitions alone, whatever else goes on and however long it takes.

It searches nothing. In every spot that there is, come to or not, a region may take any transition
whose condition may hold, down to the first that surely does.
"""

from collections.abc import Iterator
from typing import NamedTuple

from behaviour.check.hands import Hands
from behaviour.model import Condition, Part, Region, Transition
from behaviour.semantics import NextCue, candidates, is_open

Spot = tuple[int, int]
"""A leaf, and how many of its cues have fired."""


class Way(NamedTuple):
    """A transition that a region may take, or (None) its next cue, and where it leads.

    Where it holds and is not `timed` it is taken for certain, or one before it.
    """

    transition: Transition | None
    to: Spot
    when: Condition | None
    timed: bool

    @property
    def is_interlock(self) -> bool:
        return self.transition is not None and self.transition.part is Part.INTERLOCK


def spots_of(region: Region) -> Iterator[Spot]:
    """List all that a region may be in."""
    for state in region.states:
        if not state.children:
            for fired in range(len(state.cues) + 1):
                yield state.number, fired


def ways_from(region: Region, spot: Spot) -> Iterator[Way]:
    """List by priority what a region may do."""
    leaf, fired = spot
    for way in candidates(region, leaf, fired):
        if isinstance(way, NextCue):
            yield Way(None, (leaf, fired + 1), None, timed=True)
        elif is_open(region, leaf, way):
            is_end = way.part is Part.END
            stays = (leaf, fired + is_end)
            to = (region.leaf(way.target), 0) if isinstance(way.target, int) else stays
            yield Way(way, to, way.when, is_end or way.after is not None)


def begin(region: Region, hands: Hands) -> Iterator[Spot]:
    """List where power-up may lead, by what is known of inputs then."""
    first = (region.leaf(region.begins), 0)
    for way in ways_from(region, first):
        if way.is_interlock:
            holds = hands.judge(way.when)
            if holds is not False:
                yield way.to
            if holds:
                return
    yield first


def after(region: Region, spot: Spot, hands: Hands) -> Iterator[Spot]:
    """List where a later loop may lead, by what is known of inputs in it."""
    for way in ways_from(region, spot):
        holds = hands.judge(way.when)
        if holds is not False:
            yield way.to
        if holds and not way.timed:
            return
    yield spot
