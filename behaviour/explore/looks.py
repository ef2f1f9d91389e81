"""Whether there may be a way to something: no run is laid out, and nobody is told the way.

Strategy: drawings of a prop are asked that become finer, each as closely as the last had to be. In
all but the last a way will do of which nothing is known to forbid it. A guard that was once told as
it is is presumed unsafe no more.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.detail import NO_DETAIL, Detail, times_in
from behaviour.explore.guards import is_read
from behaviour.explore.leading import Course, course_of
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.lines import true_filter_clock
from behaviour.explore.reach import Closer, Lookout, beside, look_closer, seen_from_afar
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Blame, Schedule, fits, forbids
from behaviour.explore.search import Goal, Search
from behaviour.explore.situations import Situation
from behaviour.explore.space import Space
from behaviour.explore.surroundings import filter_clock
from behaviour.explore.zones import FREE
from behaviour.findings import Run
from behaviour.model import Model

Judge = Callable[[Sequence[Leg]], Schedule | Blame | None]


def may_reach(
    lookout: Lookout, goal: Goal, detail: Detail = NO_DETAIL, near: Goal | None = None
) -> Course | None:
    """Give a way into a situation of `goal` whose times fit in some detail, if there is any.

    It begins with `detail`. No run is laid out. Raises LimitError.
    """
    return Quest(lookout, goal, detail, near).go_on(lookout.budget)


class Quest:
    """Looks for such a way. What a limit has stopped can go on from there."""

    def __init__(self, lookout: Lookout, goal: Goal, detail: Detail, near: Goal | None) -> None:
        self._lookout = lookout
        self._closer = Closer(lookout, detail, _led(lookout, goal, near), _fits_lines)
        self._found: tuple[list[Leg], Schedule] | None = None

    def go_on(self, budget: Budget) -> Course | None:
        """Give the way, if there is one. Raises LimitError."""
        self._lookout.budget = budget
        judged = self._closer.go_on()
        if judged is None:
            return None
        legs, plan, closer = judged
        self._found = legs, plan
        return course_of(self._lookout.model, legs, closer)

    def laid_out(self) -> Run | None:
        """Lay out as a run the way that was found; None where it does not go just so.

        Whoever asks once more has had it already.
        """
        found, self._found = self._found, None
        if found is None:
            return None
        try:
            return concrete(*found)
        except ReplayError:
            return None


@dataclass(slots=True)
class Looks:
    """Looks for the same in drawings of a prop that become finer, as closely as the last had to."""

    detail: Detail = NO_DETAIL
    """How closely the last drawing was looked at, by its own numbers."""
    _model: Model | None = None
    _fits: bool = True

    @property
    def are_open(self) -> bool:
        """Tell whether a drawing did not show a way whose times fit at the first glance."""
        return self.detail != NO_DETAIL or not self._fits

    def may_reach(self, lookout: Lookout, goal: Goal) -> bool:
        """Tell whether there may be a way into a situation of `goal`, as it is where a limit stops.

        A way will do of which nothing is known to forbid it. With whatever detail one begins, what
        is not found is never.
        """
        return self._may_reach(lookout, goal, forbids)

    def fits(self, lookout: Lookout, goal: Goal) -> bool:
        """Tell the same of the last drawing, where the times of the way must fit."""
        return self._may_reach(lookout, goal, fits)

    def _may_reach(
        self,
        lookout: Lookout,
        goal: Goal,
        judge: Judge,
    ) -> bool:
        if self._model is not None:
            carried = self.detail.carried(self._model, lookout.model)
            self.detail = carried.moving_too(self._model, lookout.model)
        elif lookout.question.is_timed:
            self.detail = Detail(times_in(lookout.model, len(lookout.question.watches)))
        self._model = lookout.model
        try:
            judged = look_closer(
                lookout, self.detail, _led(lookout, goal, None), partial(_judged, judge)
            )
        except LimitError:
            return True
        if judged is None:
            return False
        _, plan, self.detail = judged
        self._fits = plan is not None
        return True


def _judged(judge: Judge, legs: Sequence[Leg]) -> Schedule | Blame | None:
    """Judge a path; where a clock is to blame, so are those of all states and watches.

    Where one of them must be looked at the others mostly must be soon after.
    """
    found = judge(legs)
    if not isinstance(found, Blame) or not found.clocks:
        return found
    space = legs[0].space
    times = times_in(space.model, len(space.question.watches))
    return replace(found, clocks=found.clocks | times)


def _fits_lines(legs: Sequence[Leg]) -> Schedule | Blame:
    """Judge a path; where a line at fault is to blame, so are the filters of all that are followed.

    What a line reads and what is truly there go through a filter each, so mostly both count.
    """
    found = fits(legs)
    if not isinstance(found, Blame):
        return found
    space = legs[0].space
    lines = space.circuit.lines
    if not any(is_read(clock) and clock[1] in lines for clock in found.clocks):
        return found
    followed = (space.followed | found.follow) & lines
    filters = {each for at in followed for each in (filter_clock(at), true_filter_clock(at))}
    return replace(found, clocks=found.clocks | filters)


def _led(lookout: Lookout, goal: Goal, near: Goal | None) -> Callable[[Space], list[Leg] | None]:
    """Look first along the way that the last look found, as far as it still can be gone.

    Nobody is told the way, so it need not be the shortest.
    """
    last: dict[object, int] = {}
    stopped: list[Search] = []

    def far(at: Situation) -> int:
        return last.get(seen_from_afar(at), FREE)

    def look(space: Space) -> list[Leg] | None:
        if not stopped:
            first = None if near is None else partial(beside, near)
            stopped.append(Search(space, goal=goal, far=far if last else first))
        reached = stopped[0].go_on(lookout.budget)
        stopped.clear()
        legs = None if reached.goal is None else legs_to(space, reached.goal)
        last.clear()
        for left, leg in enumerate(reversed(legs or ())):
            if leg.move is not None:
                last.setdefault(seen_from_afar(leg.move.to), left)
        return legs

    return look
