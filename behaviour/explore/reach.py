"""Whether something can come about, exactly: found with a run that replays, or shown to be never.

Strategy: begin with no clock at all, which can do more than the prop. What even that cannot do is
never. What it can do is a path whose times are then worked out: either they exist, and the path is
laid out as a run and replayed, or the clocks that forbid it are tracked from then on and the search
is made again. There are finitely many clocks, so it ends.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Generic, TypeVar

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.detail import ALL, NO_DETAIL, Detail
from behaviour.explore.guards import Clock
from behaviour.explore.leading import Course
from behaviour.explore.legs import Leg, legs_of, legs_to
from behaviour.explore.meanwhile import judged
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Blame, Schedule, schedule
from behaviour.explore.search import Goal, explore
from behaviour.explore.situations import Move, Question, Situation
from behaviour.explore.space import Space, Spaces
from behaviour.explore.unfollowed import unfollowed_lines
from behaviour.explore.zones import FREE
from behaviour.findings import Run
from behaviour.model import Model


@dataclass(slots=True)
class Lookout:
    """One model under one question, searched again and again in more detail.

    `spaces` may be shared by all that is asked of the same model.
    """

    model: Model
    question: Question
    budget: Budget
    follow: frozenset[int] = frozenset()
    spaces: Spaces = field(default_factory=Spaces)

    def space(self, tracked: frozenset[Clock] | None) -> Space:
        """Give the space with these clocks, and only the inputs followed that always are."""
        return self.detailed(Detail(tracked))

    def detailed(self, detail: Detail) -> Space:
        follow = self.follow | detail.follow
        return self.spaces.asked(
            self.model, self.question, detail.tracked, follow, recalls=detail.recalls
        )

    def asked(
        self,
        question: Question,
        tracked: frozenset[Clock] | None,
        follow: frozenset[int] = frozenset(),
    ) -> Space:
        """Give the space of another question about the same model."""
        return self.spaces.asked(self.model, question, tracked, follow)


Plan = TypeVar("Plan")

Far = Callable[[Model, Situation], int]
"""Guesses how far a situation of a model is from what is looked for."""


@dataclass(frozen=True, slots=True)
class Witness:
    """A run that was found and replayed, with the path and times that it was laid out from."""

    run: Run
    legs: tuple[Leg, ...]
    plan: Schedule


def reach(
    lookout: Lookout,
    goal: Goal,
    detail: Detail = NO_DETAIL,
    near: Goal | None = None,
    course: Course | None = None,
) -> Witness | None:
    """Find a run into a situation of `goal`, or show that there is none (None).

    It looks in some `detail` from the first, and first at situations that are on a `course`, or
    else `near` to the goal. Raises LimitError.
    """
    far: Callable[[Situation], int] | None = None if near is None else partial(beside, near)
    if course is not None and course.left:
        far = course.beside(lookout.model)
    return _refine(lookout, detail, lambda space: way_to(space, lookout, goal, far))


def way_to(
    space: Space, lookout: Lookout, goal: Goal, far: Callable[[Situation], int] | None
) -> list[Leg] | None:
    """Give a way into a situation of `goal`, if there is one in a space."""
    reached = explore(space, lookout.budget, goal=goal, far=far)
    return None if reached.goal is None else legs_to(space, reached.goal)


def beside(near: Goal, at: Situation) -> int:
    """Tell how far a situation is from those that are near: none at all, or one."""
    return int(not near(at))


def meet(
    lookout: Lookout,
    name: object,
    detail: Detail = NO_DETAIL,
    far: Far | None = None,
    others: set[object] | None = None,
    *,
    is_led: bool = False,
) -> Witness | None:
    """Find a run in which the mark `name` comes true, or show that there is none (None).

    `far` guesses how far a situation is from it, to look at the nearest first. With `is_led` each
    look goes first along the way that the last one found, so that the run may be longer than need
    be. Of the `others` those are taken out that are shown on the way to be never. Raises
    LimitError.
    """
    return _refine(lookout, detail, _meeting(lookout, name, far, others, is_led=is_led))


def may_meet(
    lookout: Lookout, name: object, others: set[object], detail: Detail = NO_DETAIL
) -> bool:
    """Tell whether there is a way to the mark `name` whose times fit; no run is laid out.

    Of the `others` those are taken out that are shown on the way to be never. Raises LimitError.
    """
    look = _meeting(lookout, name, None, others, is_led=True)
    return _timed(lookout, detail, look) is not None


def _meeting(
    lookout: Lookout,
    name: object,
    far: Far | None,
    others: set[object] | None,
    *,
    is_led: bool,
) -> Callable[[Space], list[Leg] | None]:
    last: dict[object, int] = {}

    def look(space: Space) -> list[Leg] | None:
        guess = None if far is None else partial(far, space.model)
        along = partial(_along, last, guess) if last else guess
        reached = explore(space, lookout.budget, stop_at=lambda mark: mark == name, far=along)
        hit = reached.hits.get(name)
        if hit is None and others is not None:
            others.intersection_update(reached.hits)
        legs = [] if hit is None else legs_of(space, hit)
        last.clear()
        for left, leg in enumerate(reversed(legs) if is_led else ()):
            if isinstance(leg.move, Move):
                last.setdefault(seen_from_afar(leg.move.to), left)
        return legs or None

    return look


def _along(last: dict[object, int], far: Callable[[Situation], int] | None, at: Situation) -> int:
    """Guess how far a situation is from what is looked for by a way that led there."""
    left = last.get(seen_from_afar(at))
    return left if left is not None else FREE + (0 if far is None else far(at))


def seen_from_afar(at: Situation) -> object:
    """Give what of a situation is the same however closely it is looked at."""
    return at.places, at.counters, at.watch


def _refine(
    lookout: Lookout, detail: Detail, look: Callable[[Space], list[Leg] | None]
) -> Witness | None:
    while True:
        timed = _timed(lookout, detail, look)
        if timed is None:
            return None
        legs, plan, detail = timed
        try:
            return Witness(concrete(legs, plan), tuple(legs), plan)
        except ReplayError:
            if detail == ALL:
                raise
            looked_at = frozenset(unfollowed_lines(legs))
            detail = detail.more(Blame(follow=looked_at)) if looked_at else ALL


def _timed(
    lookout: Lookout, detail: Detail, look: Callable[[Space], list[Leg] | None]
) -> tuple[list[Leg], Schedule, Detail] | None:
    """Look with more and more detail until a way is found whose times fit, or none."""
    return look_closer(lookout, detail, look, schedule)


def look_closer(
    lookout: Lookout,
    detail: Detail,
    look: Callable[[Space], list[Leg] | None],
    judge: Callable[[Sequence[Leg]], Plan | Blame],
) -> tuple[list[Leg], Plan, Detail] | None:
    """Look with more and more detail until a way is found that nothing is to blame for, or none."""
    return Closer(lookout, detail, look, judge).go_on()


@dataclass(slots=True)
class Closer(Generic[Plan]):
    """Looks closer and closer; what a limit has stopped can go on in the `detail` it was in."""

    lookout: Lookout
    detail: Detail
    look: Callable[[Space], list[Leg] | None]
    judge: Callable[[Sequence[Leg]], Plan | Blame]

    def go_on(self) -> tuple[list[Leg], Plan, Detail] | None:
        """Give the way that is found, if there is one. Raises LimitError."""
        while True:
            legs = self.look(self.lookout.detailed(self.detail))
            if legs is None:
                return None
            legs, plan = judged(legs, self.judge)
            if not isinstance(plan, Blame):
                return legs, plan, self.detail
            if self.detail == ALL:
                raise LimitError("times", "a way to it was found whose times are not worked out")
            self.detail = self.detail.more(plan)
