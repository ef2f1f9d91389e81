"""Bounds on clocks that several parts of one loop bring, put together.

A loop is possible only while no clock must have come further than it may have.
"""

from typing import NamedTuple, Protocol

from behaviour.explore.guards import Lows, strongest


class Bounds(NamedTuple):
    """What each clock must have counted at the least, and what at the most, in a fixed order."""

    lows: Lows = ()
    highs: Lows = ()


NO_BOUNDS = Bounds()


class Bounded(Protocol):
    """Anything that holds only under bounds on clocks."""

    @property
    def lows(self) -> Lows: ...
    @property
    def highs(self) -> Lows: ...


def meet(bounds: Bounds, part: Bounded) -> Bounds | None:
    """Give the bounds of both; None where they cannot be met together."""
    lows, highs = part.lows, part.highs
    if not lows and not highs:
        return bounds
    if not bounds.lows and not bounds.highs:
        lows = lows if len(lows) < 2 else strongest(lows)  # noqa: PLR2004
        highs = highs if len(highs) < 2 else _lowest(highs)  # noqa: PLR2004
    else:
        lows = strongest(bounds.lows + lows) if lows else bounds.lows
        highs = _lowest(bounds.highs + highs) if highs else bounds.highs
    if lows and highs:
        most = dict(highs)
        if any(least > most.get(clock, least) for clock, least in lows):
            return None
    return Bounds(lows, highs)


def _lowest(highs: Lows) -> Lows:
    """Keep the lowest bound of each clock, in a fixed order: the last of them, sorted, stays."""
    return tuple(reversed(dict(sorted(highs, reverse=True)).items()))
