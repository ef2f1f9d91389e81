"""The turns that an input must take between the looks at it on a path, whenever it takes them.

A move stands for others like it, and a way to wait for others after which one may wait on: so an
input that has no time for its turns forbids more than one path, and one that may take them may yet
not be what the path says.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from behaviour.explore.legs import Leg
from behaviour.explore.situations import Moment
from behaviour.explore.surroundings import since_clock


class Kept(NamedTuple):
    """An input that is kept up to the loop of a leg: so that is `least` loops after leg `since`."""

    leg: int
    since: int
    least: int


class _Look(NamedTuple):
    """What is seen of an input: the values that it may keep, and those that it may come to."""

    keeps: frozenset[str]
    comes: frozenset[str]

    def after(self, now: frozenset[str]) -> frozenset[str]:
        """Give what an input may be once it is seen so that was one of some values."""
        come = {value for value in self.comes if now - {value}}
        return (now & self.keeps) | come


def kept_from(legs: Sequence[Leg], number: int) -> Iterator[Kept]:
    """List for how long an input must be kept on a path since it was last seen otherwise."""
    clock = since_clock(number)
    others: dict[str, int] = {}
    for at, leg in enumerate(legs):
        if at == 0 or leg.move is None:
            continue
        look = _look(leg, leg.move.moment, number)
        loops = dict(leg.move.moment.lows).get(clock, 0)
        if loops:
            since = min((others.get(value, 0) for value in look.keeps), default=0)
            yield Kept(at, since, loops + 1 if since else loops)
        for value in legs[0].space.model.inputs[number].values:
            if value not in look.keeps | look.comes:
                others[value] = at


def is_mistold(legs: Sequence[Leg], number: int) -> bool:
    """Tell whether an input is somewhere on a path surely told to be what it is not."""
    steps = (step for leg in legs[1:] for step in (leg.stay, leg.move) if step is not None)
    opened = (step.moment.opened for step in steps)
    return any(
        not each.is_open(number) and not any(c.is_true for c in each.left(number))
        for each in opened
    )


def may_turn(legs: Sequence[Leg], number: int) -> bool:
    """Tell whether an input may be as each leg, and each way to wait, sees it.

    While one waits it may turn as often as it is let.
    """
    now = frozenset(legs[0].space.model.inputs[number].values)
    for leg in legs[1:]:
        if leg.stay is not None:
            look = _look(leg, leg.stay.moment, number)
            now = look.after(now)
            now |= look.after(now)
        if leg.move is not None:
            now = _look(leg, leg.move.moment, number).after(now)
    return bool(now)


def _look(leg: Leg, moment: Moment, number: int) -> _Look:
    """Give what is seen of an input as it truly is; where nobody looks it may do anything."""
    if moment.opened.is_open(number):
        every = frozenset(leg.space.model.inputs[number].values)
        return _Look(every, every)
    true = [change.seen for change in moment.opened.left(number) if change.is_true]
    keeps = frozenset(seen.value for seen in true if not seen.became)
    return _Look(keeps, frozenset(seen.value for seen in true if seen.became))
