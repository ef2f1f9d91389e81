"""Inputs that a search did not follow: the fewest changes that a path asks of each of them.

Where no changes do for all that is looked at on the path, the input is named, to be followed.
"""

from collections.abc import Iterator, Sequence
from itertools import count
from typing import NamedTuple

from behaviour.explore.guards import is_read
from behaviour.explore.legs import Leg, Shift, When
from behaviour.explore.situations import Moment
from behaviour.explore.space import Space


class Unfollowed(NamedTuple):
    """What the inputs that were left open begin with, how they change, and for which none fit."""

    first: dict[int, str]
    shifts: dict[int, list[Shift]]
    wrong: list[int]


def unfollowed(legs: Sequence[Leg]) -> Unfollowed:
    """Choose the changes of each input that was left open, and list those without any that fit."""
    space = legs[0].space
    first: dict[int, str] = {}
    shifts: dict[int, list[Shift]] = {}
    wrong: list[int] = []
    nodes = count(len(legs))
    for number in range(len(space.model.inputs)):
        if number in space.followed:
            continue
        begin, changes, fits = _changes_of(legs, number)
        if is_at_fault(space, number):
            changes, fits = [], not any(_is_looked_at(leg, number) for leg in legs)
        first[number] = begin
        shifts[number] = [
            each._replace(node=next(nodes)) if each.has_node else each for each in changes
        ]
        if not fits:
            wrong.append(number)
    return Unfollowed(first, shifts, wrong)


def is_at_fault(space: Space, number: int) -> bool:
    """Tell whether the line of an input is at fault, and not the controller that samples it."""
    return number in space.circuit.lines and not space.circuit.stops


def unfollowed_lines(legs: Sequence[Leg]) -> Iterator[int]:
    """List the inputs on lines that the search did not follow, and that somebody looks at."""
    space = legs[0].space
    for number in sorted(space.circuit.lines - space.followed):
        if any(_is_looked_at(leg, number) for leg in legs):
            yield number


def _is_looked_at(leg: Leg, number: int) -> bool:
    steps = (leg.stay, leg.move)
    return any(step is not None and not step.moment.opened.is_open(number) for step in steps)


class _Need(NamedTuple):
    """A loop in which an input must be seen in one of some ways: a value, and whether just come.

    With `is_true` what is told is also what truly is. It is so seen in each loop before `end`.
    """

    at: When
    ways: tuple[tuple[str, bool], ...]
    is_true: bool
    end: When | None = None

    @property
    def leg(self) -> int:
        """Give the leg that this loop is waited in for, or is the move of."""
        return self.at.leg + bool(self.at.later)

    def keeps(self, value: str) -> bool:
        return (value, False) in self.ways

    def comes(self, value: str) -> bool:
        """Tell whether an input may come to a value, and be kept at it for as long as one waits."""
        return (value, True) in self.ways and (not self.at.later or self.keeps(value))


def _needs(legs: Sequence[Leg], number: int) -> Iterator[_Need]:
    for at, leg in enumerate(legs):
        if at == 0 or leg.before is None:
            continue
        if leg.stay is not None and not leg.stay.moment.opened.is_open(number):
            moment = leg.stay.moment
            is_timed = any(c[1] == number and is_read(c) for c, _ in (*moment.lows, *moment.highs))
            end = None if is_timed else When(at) if leg.move is not None else When(at, 1)
            yield (need := _need(When(at - 1, 1), moment, number)._replace(end=end))
            if leg.move is None and not all(comes for _, comes in need.ways):
                yield need._replace(at=When(at), end=None)
        if leg.move is not None and not leg.move.moment.opened.is_open(number):
            yield _need(When(at), leg.move.moment, number)


def _need(at: When, moment: Moment, number: int) -> _Need:
    choices = moment.opened.choices[number]
    if choices is None:
        raise AssertionError(f"input {number} was thought to be looked at")
    return _Need(at, *choices.told(moment.opened.masks[number]))


def _changes_of(legs: Sequence[Leg], number: int) -> tuple[str, list[Shift], bool]:
    """Give what an input begins with, how it changes, and whether that does for all needs."""
    needs = list(_needs(legs, number))
    now, is_true = _first_value(legs, number, needs)
    fits = is_true = is_true and all(need.is_true for need in needs)
    begin, changes = now, list[Shift]()
    last = When(0)
    for need in needs:
        if (now, False) not in need.ways:
            value, comes = _nearest(need, now)
            if not comes or value == now:
                # it changes unseen before, so as to be quiet now, or to come now
                between = When(need.at.leg - 1, 1)
                has_room = need.at.later == 0 and need.at.leg > 0 and between > last
                fits = fits and has_room and not _looks(legs, between.leg + 1, number)
                changes.append(Shift(between, value if not comes else _other(legs, number, value)))
            if comes:
                changes.append(_coming(legs, need, value))
            now = value
        last = need.at
    if is_true and not fits:
        ahead = _looking_ahead(legs, number, needs, begin)
        return (begin, changes, False) if isinstance(ahead, int) else (begin, list(ahead), True)
    return begin, changes, fits


def fails_at(legs: Sequence[Leg], number: int) -> int:
    """Name the leg for which no changes of an input do; if there is none, the number of legs."""
    needs = list(_needs(legs, number))
    begin, is_true = _first_value(legs, number, needs)
    if not is_true:
        return 0
    untrue = min((need.leg for need in needs if not need.is_true), default=len(legs))
    ahead = _looking_ahead(legs, number, needs, begin)
    return min(untrue, ahead) if isinstance(ahead, int) else untrue


def _looking_ahead(
    legs: Sequence[Leg], number: int, needs: Sequence[_Need], begin: str
) -> tuple[Shift, ...] | int:
    """Choose the fewest changes that do for all needs, or name the leg for which none do."""
    ways: dict[str, tuple[Shift, ...]] = {begin: ()}
    last = When(0)
    for need in needs:
        after: dict[str, tuple[Shift, ...]] = {}
        for now, so_far in ways.items():
            for value, more in _turns(legs, number, need, now, last):
                if value not in after or len(so_far) + len(more) < len(after[value]):
                    after[value] = (*so_far, *more)
        if not after:
            return need.leg
        ways, last = after, need.at
    return min(ways.values(), key=len)


def _turns(
    legs: Sequence[Leg], number: int, need: _Need, now: str, last: When
) -> Iterator[tuple[str, tuple[Shift, ...]]]:
    """List what an input may be so as to be seen as it must, and its changes since the last need.

    It may change unseen, and change again to be seen coming.
    """
    if need.keeps(now):
        yield now, ()
    unseen = _unseen(legs, need.at, last)
    for value in legs[0].space.model.inputs[number].values:
        if value == now:
            continue
        if need.end is not None and need.keeps(now) and need.comes(value):
            yield value, (Shift(unseen or need.at, value, need.end),)
        elif unseen is not None and need.keeps(value):
            yield value, (Shift(unseen, value, need.at),)
        elif need.comes(value):
            yield value, (_coming(legs, need, value),)
        if unseen is not None and need.comes(now):
            yield now, (Shift(unseen, value, need.at), _coming(legs, need, now))


def _coming(legs: Sequence[Leg], need: _Need, value: str) -> Shift:
    """Give a change that is seen to come; in a way to wait in its first loop, and others follow.

    A path that does not wait at all is not seen in it.
    """
    if not need.at.later:
        return Shift(need.at, value)
    ends = When(need.leg, int(legs[need.leg].move is None))
    return Shift(need.at, value, ends, at_once=True)


def _unseen(legs: Sequence[Leg], at: When, last: When) -> When | None:
    """Give the soonest loop after a need, if there is any before the next one.

    What is seen of a way to wait is seen for as long as one waits so.
    """
    after = When(last.leg + 1)
    if last.later:
        return after if at > after else None
    waits = legs[after.leg].stay is not None
    return When(last.leg, 1) if at > after or (at == after and waits) else None


def _nearest(need: _Need, now: str) -> tuple[str, bool]:
    """Choose how an input is seen that reads `now`: best by coming to another value."""
    return max(need.ways, key=lambda way: (way[1] and way[0] != now, way[1]))


def _first_value(legs: Sequence[Leg], number: int, needs: Sequence[_Need]) -> tuple[str, bool]:
    """Choose what an input is told to be at power-up, and tell whether it is also true."""
    space, opened = legs[0].space, legs[0].moment.opened
    item = space.model.inputs[number]
    if opened.is_open(number):
        now = item.values[0]
        if needs:
            value, comes = min(needs[0].ways, key=lambda way: way[1])
            now = _other(legs, number, value) if comes else value
        if item.presumed is not None and now == item.safe:
            now = item.presumed
        return now, True
    left = opened.left(number)
    wanted = {value for value, comes in (needs[0].ways if needs else ()) if not comes}
    change = min(
        left,
        key=lambda c: (c.truly.value != c.seen.value, bool(wanted) and c.seen.value not in wanted),
    )
    is_judged = number in space.judged
    return change.seen.value, not is_judged or change.truly.value == change.seen.value


def _other(legs: Sequence[Leg], number: int, value: str) -> str:
    item = legs[0].space.model.inputs[number]
    return next(other for other in item.values if other != value)


def _looks(legs: Sequence[Leg], at: int, number: int) -> bool:
    """Tell whether waiting before leg `at` is done under the eyes of somebody."""
    stay = legs[at].stay
    return stay is None or not stay.moment.opened.is_open(number)
