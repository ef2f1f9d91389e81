"""A rule's scope: another watch is only in force in a part of the run.

Strategy: each stretch of the scope is a run of its own to the watch inside, so that what it
measures begins no earlier than the scope does, and is forgotten when the scope ends.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.check.watching import BREACH, Truth, join, truths
from behaviour.explore.guards import Limit
from behaviour.explore.situations import Moment, Next, Watch, going
from behaviour.model import Scope, ScopeKind

OUTSIDE = 0


@dataclass(frozen=True, slots=True)
class Scoped:
    """Lets `inner` look on within a scope. Its places are one more than those of `inner`."""

    inner: Watch
    scope: Scope

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        up_to = self.scope.kind is ScopeKind.UP_TO
        for now in truths(moment.left.judge(self.scope.condition)):
            if now.holds is up_to:
                yield going(OUTSIDE, now.lows, now.highs)
            else:
                yield from _within(now, self.inner.begin(number, moment))

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        if place == BREACH:
            yield going(BREACH)
        elif place == OUTSIDE and self.scope.kind is ScopeKind.UP_TO:
            yield going(OUTSIDE)
        elif place == OUTSIDE:
            yield from self.begin(number, moment)
        elif self.scope.kind is ScopeKind.ONCE_BEGUN:
            yield from _within(Truth(holds=True), self.inner.go_on(number, place - 1, moment))
        else:
            up_to = self.scope.kind is ScopeKind.UP_TO
            for now in truths(moment.left.judge(self.scope.condition)):
                if now.holds is up_to:
                    yield going(OUTSIDE, now.lows, now.highs)
                else:
                    yield from _within(now, self.inner.go_on(number, place - 1, moment))

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return () if place in (BREACH, OUTSIDE) else self.inner.limits(place - 1)


def _within(now: Truth, nexts: Iterable[Next]) -> Iterator[Next]:
    for each in nexts:
        lows, highs = join(now, Truth(holds=True, lows=each.lows, highs=each.highs))
        place = BREACH if each.place == BREACH else each.place + 1
        yield going(place, lows, highs, each.restarts)
