"""What people leave alone: that one input is turned, or an interlock cleared, and nothing else.

Both watches let through a little more than is asked: what they do not find is never, and what they
find is to be shown on the concrete prop.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from behaviour.check.roles.seeing import is_stopped_by_interlock, leaves_rest, was_away
from behaviour.check.watching import BREACH
from behaviour.explore.guards import HOLDS, Limit, Lows
from behaviour.explore.situations import Moment, Next
from behaviour.model import (
    And,
    Becomes,
    Condition,
    Input,
    Is,
    Model,
    Not,
    Or,
    Output,
    Role,
    Transition,
)
from behaviour.semantics import filter_loops

BEFORE, ALONE, CLEARED = 0, 1, 2


def left_alone(items: Iterable[Input]) -> Condition:
    """Say that no input of `items` becomes anything."""
    return Not(Or(tuple(becomes_anything(item) for item in items)))


def told_later(model: Model, items: Sequence[Input]) -> Iterator[tuple[Condition, int]]:
    """Give what inputs may become so many loops after all has been done to them.

    Each value of an input is told once its own filter has held it for long enough.
    """
    lasts = {
        Becomes(item.name, value): filter_loops(model, item, value)
        for item in items
        for value in item.values
    }
    for loops in sorted(set(lasts.values()) - {0}):
        yield Not(Or(tuple(each for each, told in lasts.items() if told < loops))), loops


def becomes_anything(item: Input) -> Condition:
    """Say that an input changes."""
    return Or(tuple(Becomes(item.name, value) for value in item.values))


def turned_by_people(item: Input) -> Condition:
    """Say that an input is turned; what is held to run may also be let go at any time."""
    is_held = item.role is Role.HOLD_TO_RUN
    return Or(tuple(Becomes(item.name, value) for value in item.values[is_held:]))


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

    The others, who are not named by the interlock, stand still; what they did before it stopped
    is `told` later: each of these conditions may hold for so many loops. Each of those that it
    names is turned once at most, so that none of `turns` comes true twice. With something still
    held that is to be `let_go` nothing starts by itself.

    Its places are where it is, and which inputs have turned by then (`_place`).
    """

    output: Output
    at: int
    owner: str
    interlock: Transition
    others_still: Condition
    told: tuple[tuple[Condition, int], ...]
    turns: tuple[Condition, ...]
    let_go: Condition

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
        else:
            for others, loops in self.told:
                if moment.told.judge(others):
                    yield from self._then(place, moment, ((("watch", number, 0), loops),))

    def _then(self, place: int, moment: Moment, highs: Lows) -> Iterator[Next]:
        where, before = _parts(place)
        turned = {n for n, each in enumerate(self.turns) if moment.told.judge(each) == HOLDS}
        starts = leaves_rest(moment, self.at, self.output)
        if turned & before or (starts and not moment.told.judge(self.let_go)):
            return
        if where == CLEARED or moment.told.judge(self.interlock.when) != HOLDS:
            yield Next(BREACH if starts else _place(CLEARED, before | turned), (), highs)
        if where == ALONE and not starts:
            yield Next(_place(ALONE, before | turned), (), highs)

    def _stops(self, moment: Moment) -> bool:
        way = moment.ways[moment.model.region_index[self.owner]]
        return (
            way is not None
            and way.transition is not None
            and way.transition.number == self.interlock.number
            and is_stopped_by_interlock(moment, self.at, self.output, self.owner)
        )

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        if place not in (BEFORE, BREACH) and self.told:
            yield 0, Limit(high=max(loops for _, loops in self.told))


def _place(where: int, turned: frozenset[int]) -> int:
    return where + CLEARED * sum(1 << each for each in turned)


def _parts(place: int) -> tuple[int, frozenset[int]]:
    where = ALONE if place % CLEARED == ALONE else CLEARED
    bits = (place - where) // CLEARED
    return where, frozenset(n for n in range(bits.bit_length()) if bits >> n & 1)
