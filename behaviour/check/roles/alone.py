"""What people leave alone: that one input is turned, or an interlock cleared, and nothing else.

Both watches let through a little more than is asked: what they do not find is never, and what they
find is to be shown on the concrete prop.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.check.roles.seeing import is_stopped_by_interlock, leaves_rest, was_away
from behaviour.check.watching import BREACH
from behaviour.explore.guards import HOLDS, Limit, Lows
from behaviour.explore.situations import Moment, Next
from behaviour.model import And, Becomes, Condition, Input, Is, Not, Or, Output, Transition

BEFORE, ALONE, CLEARED = 0, 1, 2


def left_alone(items: Iterable[Input]) -> Condition:
    """Say that no input of `items` becomes anything."""
    return Not(Or(tuple(Becomes(item.name, value) for item in items for value in item.values)))


def let_go(items: Iterable[Input]) -> Condition:
    """Say that each input of `items` has its first value."""
    return And(tuple(Is(item.name, item.values[:1]) for item in items))


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """Breaks when a hazard starts after an input `turns`, the others `still` from then on."""

    output: Output
    at: int
    turns: Condition
    others_still: Condition
    still: Condition

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        del number, moment
        yield Next(BEFORE)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        told = moment.told
        if place == BREACH:
            yield Next(BREACH)
        elif place == BEFORE:
            yield Next(BEFORE)
            rests = not was_away(moment, self.at, self.output)
            if rests and told.judge(self.turns) and told.judge(self.others_still):
                yield Next(self._then(moment))
        elif told.judge(self.still):
            yield Next(self._then(moment))

    def _then(self, moment: Moment) -> int:
        return BREACH if leaves_rest(moment, self.at, self.output) else ALONE

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


@dataclass(frozen=True, slots=True, eq=False)
class Cleared:
    """Breaks when a hazard starts again after an interlock that stopped it was cleared alone.

    What people did before it stopped is `told` so many loops later at most; else the others, who
    are not named by the interlock, stand still.
    """

    output: Output
    at: int
    owner: str
    interlock: Transition
    others_still: Condition
    told: int

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        del number, moment
        yield Next(BEFORE)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        if place == BREACH:
            yield Next(BREACH)
        elif place == BEFORE:
            yield Next(BEFORE)
            if self._stops(moment):
                yield Next(ALONE, restarts=(0,))
        elif moment.told.judge(self.others_still):
            yield from self._then(place, moment, ())
        elif self.told:
            yield from self._then(place, moment, ((("watch", number, 0), self.told),))

    def _then(self, place: int, moment: Moment, highs: Lows) -> Iterator[Next]:
        starts = leaves_rest(moment, self.at, self.output)
        if place == CLEARED or moment.told.judge(self.interlock.when) != HOLDS:
            yield Next(BREACH if starts else CLEARED, (), highs)
        if place == ALONE and not starts:
            yield Next(ALONE, (), highs)

    def _stops(self, moment: Moment) -> bool:
        way = moment.ways[moment.model.region_index[self.owner]]
        return (
            way is not None
            and way.transition is not None
            and way.transition.number == self.interlock.number
            and is_stopped_by_interlock(moment, self.at, self.output, self.owner)
        )

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        if place in (ALONE, CLEARED) and self.told:
            yield 0, Limit(high=self.told)
