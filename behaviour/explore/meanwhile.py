"""Other ways to wait on a path, in which inputs turn that a search did not follow.

A search lets one way to wait stand for others, and so an input that must turn while one waits and
then be kept seems to have no time for it. Here a path waits in two ways, one after the other.
Whether its times fit is worked out as for any other path.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from behaviour.explore.legs import Leg
from behaviour.explore.scheduling import Blame
from behaviour.explore.unfollowed import fails_at, is_at_fault, unfollowed

Plan = TypeVar("Plan")

MOST_MORE = 12
"""In so many more ways may a path wait than it did."""


def judged(
    legs: list[Leg], judge: Callable[[Sequence[Leg]], Plan | Blame]
) -> tuple[list[Leg], Plan | Blame]:
    """Judge a path, or, where an input would have to be followed, one that waits otherwise.

    What is to blame for a path is so for itself, and not for the other.
    """
    plan = judge(legs)
    if isinstance(plan, Blame) and plan.follow:
        other = _waiting_otherwise(legs)
        found = plan if other is None else judge(other)
        if other is not None and not isinstance(found, Blame):
            return other, found
    return legs, plan


def _waiting_otherwise(legs: Sequence[Leg]) -> list[Leg] | None:
    """Give a path through the same situations on which no unfollowed input is in the way.

    None where none is found. What is waited in for one input may be in the way of another, and so
    in turn without end; mostly one more way will do.
    """
    path: list[Leg] | None = list(legs)
    while path is not None and len(path) <= len(legs) + MOST_MORE:
        *_, wrong = unfollowed(path)
        if not wrong:
            return path
        path = _with_longer(path, wrong[0])
    return None


def _with_longer(path: Sequence[Leg], number: int) -> list[Leg] | None:
    """Wait in one more way before the leg for which an input has no time to turn."""
    at = fails_at(path, number)
    if at == len(path) or is_at_fault(path[at].space, number):
        return None
    for legs in _waits(path[at]):
        longer = [*path[:at], *legs, *path[at + 1 :]]
        if fails_at(longer, number) >= at + len(legs):
            return longer
    return None


def _waits(leg: Leg) -> Iterator[tuple[Leg, ...]]:
    """List what may take the place of a leg: it after another way to wait, or before its move."""
    if leg.before is None or leg.move is None or leg.piece is not None:
        return
    for stay in leg.space.every_stay(leg.before):
        other = replace(leg, stay=stay)
        if leg.stay is None:
            yield (other,)
        else:
            yield replace(leg, move=None, lows=()), other
            yield replace(other, move=None, lows=()), leg
