"""Watches: automata that look at every loop beside the prop, the simple ones.

Strategy: a place of 0 is quiet and -1 is a breach; other places are numbered by each watch as it
needs them. A condition that asks clocks (`for`) splits a loop into those where it holds and those
where it does not. Stretches are measured by a clock that is 0 in their first loop, so a condition
that has held for n loops reads n - 1.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from behaviour.explore.guards import Guard, Limit, Lows
from behaviour.explore.places import lower
from behaviour.explore.situations import Moment, Next, going
from behaviour.model import Condition

BREACH = -1


class Truth(NamedTuple):
    """Whether a condition holds in a loop, under bounds on clocks."""

    holds: bool
    lows: Lows = ()
    highs: Lows = ()


SURELY = Truth(holds=True)
NEVER = Truth(holds=False)


def truths(guard: Guard) -> list[Truth]:
    """Split a loop by a guard: where it holds, and where it does not."""
    if not guard:
        return [NEVER]
    if () in guard:
        return [SURELY]
    found = [Truth(holds=True, lows=lows) for lows in guard]
    for bounds in product(*guard):
        highs: Lows | None = ()
        for clock, least in bounds:
            highs = None if highs is None else lower(highs, clock, least - 1)
        if highs is not None:
            found.append(Truth(holds=False, highs=highs))
    return found


def join(first: Truth, second: Truth) -> tuple[Lows, Lows]:
    """Put the bounds of two truths together."""
    highs = first.highs
    for clock, most in second.highs:
        highs = lower(highs, clock, most) or highs
    return first.lows + second.lows, highs


@dataclass(frozen=True, slots=True)
class Simple:
    """Breaks in the loop in which `condition` is `wrong`: `never` and `at all times`."""

    condition: Condition
    wrong: bool

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        for truth in truths(moment.left.judge(self.condition)):
            to = BREACH if truth.holds == self.wrong or place == BREACH else 0
            yield going(to, truth.lows, truth.highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


@dataclass(frozen=True, slots=True)
class Duration:
    """Breaks once `condition` has held for more than `loops` loops without a break."""

    condition: Condition
    loops: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        clock = ("watch", number, 0)
        for truth in truths(moment.left.judge(self.condition)):
            if place == BREACH:
                yield going(BREACH, truth.lows, truth.highs)
            elif not truth.holds:
                yield going(0, truth.lows, truth.highs)
            elif place == 0:
                yield going(BREACH if self.loops == 0 else 1, truth.lows, truth.highs, (0,))
            else:
                yield going(BREACH, (*truth.lows, (clock, self.loops)), truth.highs)
                yield going(1, truth.lows, truth.highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return ((0, Limit(self.loops)),) if place == 1 else ()
