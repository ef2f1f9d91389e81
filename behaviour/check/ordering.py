"""Watches of what comes in which order, how often, and for how long at the least.

Strategy: each keeps in its place what it has to know of the loops before, such as whether a
condition held in the last one, where that makes a difference. A condition that holds in the first
loop of all begins then.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product

from behaviour.check.watching import BREACH, SURELY, Truth, join, truths
from behaviour.explore.guards import FAILS, HOLDS, Limit
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Moment, Next, going
from behaviour.model import And, Becomes, Condition


def split(sight: Sight, asked: Iterable[Condition]) -> Iterator[tuple[tuple[bool, ...], Truth]]:
    """Split a loop by several conditions: which of them hold, under which bounds."""
    guards = [sight.judge(condition) for condition in asked]
    if all(guard in (FAILS, HOLDS) for guard in guards):
        yield tuple([bool(guard) for guard in guards]), SURELY
        return
    for every in product(*map(truths, guards)):
        whole = Truth(holds=True)
        for each in every:
            lows, highs = join(whole, each)
            whole = Truth(holds=True, lows=lows, highs=highs)
        yield tuple(each.holds for each in every), whole


def is_over_at_once(condition: Condition | None) -> bool:
    """Tell whether a condition never holds in two loops on end, as nothing comes to v that is at v.

    Wherever it holds it begins, so nobody need keep whether it held in the last loop.
    """
    match condition:
        case Becomes():
            return True
        case And(parts=parts):
            return any(map(is_over_at_once, parts))
        case _:
            return False


HAS_COME = 1
"""The place in which an order without `since` is kept for good."""


@dataclass(frozen=True, slots=True)
class Order:
    """`first: A`, `before: B`: breaks where B holds and A has not held yet.

    Place 0 waits for A, 1 has had it. With `since` 2 is before C has ever begun; 4 has had A in a
    loop in which C holds, so that it does not begin in the next, unless it is over at once.
    """

    condition: Condition
    before: Condition
    since: Condition | None

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0 if self.since is None else 2, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        if place == BREACH:
            yield going(BREACH)
            return
        if place == HAS_COME and self.since is None:
            yield going(HAS_COME)
            return
        asked = [self.condition, self.before, *(() if self.since is None else (self.since,))]
        for (comes, follows, *since), bounds in split(moment.left, asked):
            held, phase = divmod(place, 3)
            now = bool(since and since[0])
            if now and not held:
                phase = 0
            if phase == 0 and comes:
                phase = 1
            kept = now and phase == 1 and not is_over_at_once(self.since)
            to = BREACH if phase == 0 and follows else 3 * kept + phase
            yield going(to, bounds.lows, bounds.highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


@dataclass(frozen=True, slots=True)
class Tally:
    """`count: A`, `at most: n`: breaks where A begins once more, since C last began or at all.

    A place is the count times four, and two if C held in the last loop, and one if A did. Of what
    is over at once it is not kept, nor of C where it would begin at a count of none.
    """

    condition: Condition
    most: int
    since: Condition | None

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        if place == BREACH:
            yield going(BREACH)
            return
        asked = [self.condition, *(() if self.since is None else (self.since,))]
        for (holds, *since), bounds in split(moment.left, asked):
            counted, held, since_held = place // 4, bool(place & 1), bool(place & 2)
            now = bool(since and since[0])
            if now and not since_held:
                counted = 0
            if holds and not held:
                counted += 1
            kept = 2 * (now and counted > 0 and not is_over_at_once(self.since))
            kept += holds and not is_over_at_once(self.condition)
            to = BREACH if counted > self.most else 4 * counted + kept
            yield going(to, bounds.lows, bounds.highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


@dataclass(frozen=True, slots=True)
class Frequency:
    """`count: A`, `at most: n`, `per: d`: breaks where A begins too soon after n beginnings.

    The last n beginnings have a clock each, taken in turn. A place says how many of them run,
    which of them is the oldest, and whether A held in the last loop.
    """

    condition: Condition
    most: int
    loops: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        if place == BREACH:
            yield going(BREACH)
            return
        running, oldest, held = self._parts(place)
        for truth in truths(moment.left.judge(self.condition)):
            if not truth.holds or held:
                to = self._place(running, oldest, held=truth.holds)
                yield going(to, truth.lows, truth.highs)
            elif not self.most:
                yield going(BREACH if self.loops else 0, truth.lows, truth.highs)
            elif running < self.most:
                to = self._place(running + 1, oldest, held=True)
                yield going(to, truth.lows, truth.highs, (running,))
            else:
                clock = ("watch", number, oldest)
                if self.loops > 1:
                    _, highs = join(truth, Truth(holds=True, highs=((clock, self.loops - 1),)))
                    yield going(BREACH, truth.lows, highs)
                to = self._place(running, (oldest + 1) % self.most, held=True)
                yield going(to, (*truth.lows, (clock, self.loops)), truth.highs, (oldest,))

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        if place == BREACH:
            return ()
        running, *_ = self._parts(place)
        return tuple((which, Limit(self.loops, self.loops - 1)) for which in range(running))

    def _parts(self, place: int) -> tuple[int, int, bool]:
        rest, held = divmod(place, 2)
        return *divmod(rest, max(self.most, 1)), bool(held)

    def _place(self, running: int, oldest: int, *, held: bool) -> int:
        return 2 * (running * max(self.most, 1) + oldest) + held


@dataclass(frozen=True, slots=True)
class Shortest:
    """`while: C`, `at least: d`: breaks where C ends sooner than `loops` loops after it began."""

    condition: Condition
    loops: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        clock = ("watch", number, 0)
        for truth in truths(moment.left.judge(self.condition)):
            if place == BREACH:
                yield going(BREACH, truth.lows, truth.highs)
            elif place == 0:
                restarts = (0,) if truth.holds else ()
                yield going(int(truth.holds), truth.lows, truth.highs, restarts)
            elif truth.holds:
                yield going(1, truth.lows, truth.highs)
            else:
                _, highs = join(truth, Truth(holds=True, highs=((clock, self.loops - 1),)))
                if self.loops > 1:
                    yield going(BREACH, truth.lows, highs)
                yield going(0, (*truth.lows, (clock, self.loops)), truth.highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return ((0, Limit(self.loops, self.loops - 1)),) if place == 1 else ()


PENDING = 1


@dataclass(frozen=True, slots=True)
class Pending:
    """`whenever: A`, `then: B`: is in the place PENDING while A has come and B has not since."""

    trigger: Condition
    response: Condition

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        for (answered,), bounds in split(moment.left, [self.response]):
            if answered or place == PENDING:
                yield going(0 if answered else PENDING, bounds.lows, bounds.highs)
                continue
            for (asked,), more in split(moment.found, [self.trigger]):
                lows, highs = join(bounds, more)
                yield going(PENDING if asked else 0, lows, highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()
