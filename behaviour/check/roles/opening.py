"""guard-open-moves: what an open guard lets move.

Two things are asked. Each hazard must have been at rest within `reaction` after a guard really
became unsafe: that was as long before it counts as its filter and one loop take, so the hazard has
what is left of `reaction` from the loop in which it counts; where filter and loop alone take
longer, it must be at rest already that much before. And no hazard leaves rest in a loop, loop 0
included, in which the controller knows (or after power-up presumes) a guard not to be safe.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.check.roles.seeing import active, counts, is_away, leaves_rest
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit, count
from behaviour.explore.places import lower
from behaviour.explore.situations import Moment, Next
from behaviour.model import Becomes, Condition, Input, Model, Output
from behaviour.semantics import filter_loops

QUIET, WAITING, GUESSED = 0, 1, 2


def sensing(model: Model, item: Input, value: str) -> int:
    """Count the loops from when an input really becomes a value until that can be acted on."""
    return filter_loops(model, item, value) + 1


def left_of_reaction(model: Model, item: Input, value: str) -> int:
    """Count the loops that `reaction` leaves once an unsafe value counts; below 0 it is too late.

    Where no `reaction` is given, filter and one loop are allowed, and nothing is left.
    """
    if model.reaction is None:
        return 0
    return count(model, model.reaction) - sensing(model, item, value)


@dataclass(frozen=True, slots=True)
class Opening:
    """Breaks when a hazard is not at rest in time after a guard `opens`, or leaves rest.

    From `WAITING` the hazard is still to come to rest; in `GUESSED` it was away when it ought to
    have been at rest, if the guard is known to have opened in exactly so many loops.
    """

    output: Output
    at: int
    unsafe: Condition
    opens: Condition
    allowed: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, QUIET, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        away = is_away(moment, self.at, self.output)
        if place == BREACH or (
            leaves_rest(moment, self.at, self.output) and counts(moment, self.unsafe)
        ):
            yield Next(BREACH)
        elif self.allowed < 0:
            yield from self._too_late(("watch", number, 0), place, moment, away=away)
        elif not away:
            yield Next(QUIET)
        elif place == WAITING:
            yield Next(BREACH, ((("watch", number, 0), self.allowed),))
            yield Next(WAITING)
        elif not moment.left.judge(self.opens):
            yield Next(QUIET)
        else:
            yield Next(WAITING, restarts=(0,)) if self.allowed else Next(BREACH)

    def _too_late(
        self, clock: tuple[str, int, int], place: int, moment: Moment, *, away: bool
    ) -> Iterator[Next]:
        gap = -self.allowed
        if place == GUESSED:
            if moment.left.judge(self.opens):
                yield Next(BREACH, ((clock, gap),), ((clock, gap),))
            early = lower((), clock, gap - 1)
            if early is not None:
                yield Next(GUESSED, (), early)
            return
        yield Next(QUIET)
        if away:
            yield Next(GUESSED, restarts=(0,))

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        match place:
            case 1:
                return ((0, Limit(self.allowed)),)
            case 2:
                return ((0, Limit(-self.allowed, -self.allowed)),)
            case _:
                return ()


def opening(output: Output, at: int, guard: Input, value: str, allowed: int) -> Opening:
    """Watch a hazard with its number, and a guard as it becomes an unsafe value."""
    return Opening(output, at, active(guard), Becomes(guard.name, value), allowed)
