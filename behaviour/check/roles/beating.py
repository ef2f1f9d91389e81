"""stop-is-beaten: what goes on under a stop.

In no loop may a hazard be away from rest, as the loop leaves it, while the steady value of a stop
is not its safe one. A stop that is presumed active after power-up counts as active.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.check.roles.seeing import counts, is_away, look
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit
from behaviour.explore.situations import Moment, Next
from behaviour.model import Condition, Output


@dataclass(frozen=True, slots=True)
class Beating:
    """Breaks in a loop that leaves a hazard away from rest with a stop `hit`."""

    output: Output
    at: int
    hit: Condition

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        if place == BREACH:
            return (Next(BREACH),)
        beaten = is_away(moment, self.at, self.output) and counts(moment, self.hit)
        return (Next(BREACH if beaten else 0),)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


@dataclass(frozen=True, slots=True)
class Comes:
    """Met in a loop in which an input becomes a value: the story of a filter that is too slow."""

    number: int
    value: str

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        del number, moment
        return (Next(0),)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        now = look(moment, self.number)
        comes = now.became and now.value == self.value
        return (Next(BREACH if comes or place == BREACH else 0),)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()
