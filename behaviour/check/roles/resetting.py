"""reset-on-press: what a reset that is pressed, or stuck, brings about.

A region takes a transition in a loop in which a `reset` reads pressed, and with the reset released
for long it would not have taken that one.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.seeing import is_active, look
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit
from behaviour.explore.situations import Moment, Next
from behaviour.model import Input


@dataclass(frozen=True, slots=True, eq=False)
class OnPress:
    """Breaks when a region goes where only a reset that reads pressed makes it go."""

    region: str
    reset: Input
    number: int
    otherwise: Otherwise

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        region = moment.model.region_index[self.region]
        way = moment.ways[region]
        if place == BREACH:
            yield Next(BREACH)
        elif (
            way is None
            or way.transition is None
            or not is_active(self.reset, look(moment, self.number).value)
        ):
            yield Next(0)
        else:
            for option in self.otherwise.options(moment, region, self.reset.values[0]):
                other = None if option.way is None else option.way.transition
                same = other is not None and other.number == way.transition.number
                yield Next(0 if same else BREACH, option.lows, option.highs)

    def limits(self, place: int) -> Iterator[tuple[int, Limit]]:
        del place
        yield from ()
