"""Whether something can come about, exactly: found with a run that replays, or shown to be never.

Strategy: begin with no clock at all, which can do more than the prop. What even that cannot do is
never. What it can do is a path whose times are then worked out: either they exist, and the path is
laid out as a run and replayed, or the clocks that forbid it are tracked from then on and the search
is made again. There are finitely many clocks, so it ends.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TypeVar

from behaviour.explore.detail import ALL, NO_DETAIL, Detail
from behaviour.explore.guards import Clock
from behaviour.explore.legs import Leg, legs_of, legs_to
from behaviour.explore.places import Place
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Blame, Schedule, schedule
from behaviour.explore.search import Budget, Goal, LimitError, Reached, explore
from behaviour.explore.situations import Move, Question, Situation, Stay
from behaviour.explore.space import Space, Spaces
from behaviour.explore.unfollowed import unfollowed_lines
from behaviour.findings import Run
from behaviour.model import Model

FEW_STATES = 300
"""So many states may be looked at to see all in more detail than none."""


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

Attempt = Callable[[object], Run | None]
"""Tries for a run to a mark, and says nothing by finding none."""

Far = Callable[[Model, Situation], int]
"""Guesses how far a situation of a model is from what is looked for."""


@dataclass(frozen=True, slots=True)
class Witness:
    """A run that was found and replayed, with the path and times that it was laid out from."""

    run: Run
    legs: tuple[Leg, ...]
    plan: Schedule


def reach(
    lookout: Lookout, goal: Goal, detail: Detail = NO_DETAIL, near: Goal | None = None
) -> Witness | None:
    """Find a run into a situation of `goal`, or show that there is none (None).

    It looks in some `detail` from the first, and at situations that are `near` to the goal first.
    Raises LimitError.
    """
    return _refine(lookout, detail, _reaching(lookout, goal, near))


def _reaching(
    lookout: Lookout, goal: Goal, near: Goal | None
) -> Callable[[Space], list[Leg] | None]:
    far = None if near is None else partial(beside, near)
    return lambda space: way_to(space, lookout, goal, far)


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
    detail: Detail | None = None,
    far: Far | None = None,
    others: set[object] | None = None,
) -> Witness | None:
    """Find a run in which the mark `name` comes true, or show that there is none (None).

    `far` guesses how far a situation is from it, to look at the nearest first. Of the `others`
    those are taken out that are shown on the way to be never. Raises LimitError.
    """
    return _refine(lookout, detail or NO_DETAIL, _meeting(lookout, name, far, others))


def may_meet(
    lookout: Lookout, name: object, others: set[object], detail: Detail = NO_DETAIL
) -> bool:
    """Tell whether there is a way to the mark `name` whose times fit; no run is laid out.

    Of the `others` those are taken out that are shown on the way to be never. Raises LimitError.
    """
    return _timed(lookout, detail, _meeting(lookout, name, None, others)) is not None


def _meeting(
    lookout: Lookout, name: object, far: Far | None, others: set[object] | None
) -> Callable[[Space], list[Leg] | None]:
    def look(space: Space) -> list[Leg] | None:
        guess = None if far is None else partial(far, space.model)
        reached = explore(space, lookout.budget, stop_at=lambda mark: mark == name, far=guess)
        hit = reached.hits.get(name)
        if hit is None and others is not None:
            others.intersection_update(reached.hits)
        return None if hit is None else legs_of(space, hit)

    return look


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
    while True:
        legs = look(lookout.detailed(detail))
        if legs is None:
            return None
        plan = judge(legs)
        if not isinstance(plan, Blame):
            return legs, plan, detail
        if detail == ALL:
            raise LimitError("times", "a way to it was found whose times are not worked out")
        detail = detail.more(plan)


@dataclass(slots=True)
class Covered:
    """Runs to marks, and why others are still open; a mark in neither never comes true."""

    runs: Mapping[object, Run] = field(default_factory=dict)
    open: dict[object, LimitError] = field(default_factory=dict)


def cover(
    lookout: Lookout,
    wanted: Callable[[object], bool] = lambda _: True,
    attempt: Attempt = lambda _: None,
    detail: Detail = NO_DETAIL,
) -> Covered:
    """Find a run for every mark that can come true at all.

    It looks in some `detail` from the first, if that takes few states. What a limit stops is tried
    for by `attempt`. Raises LimitError if not even what may come true is seen whole.
    """
    found: dict[object, Witness] = {}
    tried: dict[object, Run] = {}
    covered = Covered()
    space, reached, detail = _seen_whole(lookout, detail)
    open_marks = {name for name in reached.hits if wanted(name)}
    later: list[tuple[object, Detail]] = []
    for name in reached.hits:
        if name in open_marks and name not in found:
            blame = _try(space, reached, name, found)
            if blame is not None:
                later.append((name, detail.more(blame)))
    for name, detail in later:
        if name in open_marks and name not in found:
            _meet_one(lookout, name, detail, None, open_marks, found, covered)
            if name in covered.open and (run := attempt(name)) is not None:
                del covered.open[name]
                tried[name] = run
    covered.runs = tried | {name: each.run for name, each in found.items() if wanted(name)}
    return covered


def _seen_whole(lookout: Lookout, detail: Detail) -> tuple[Space, Reached, Detail]:
    """Look through all in some detail, or where that takes many states in none. Raises LimitError.

    In whatever detail it is looked, what is not met is never.
    """
    if detail != NO_DETAIL:
        space = lookout.detailed(detail)
        with suppress(LimitError):
            return space, explore(space, lookout.budget.few(FEW_STATES)), detail
    space = lookout.detailed(NO_DETAIL)
    return space, explore(space, lookout.budget), NO_DETAIL


def may_meet_any(rough: Lookout) -> Collection[object] | None:
    """Give what a sketch may meet by a glance that looks at no clock; None where a limit stops it.

    What is not among it is never.
    """
    part = replace(rough, budget=rough.budget.share())
    try:
        return explore(part.space(NO_DETAIL.tracked), part.budget).hits
    except LimitError:
        return None


def cover_by(
    drawn: Sequence[Lookout],
    lookout: Lookout,
    wanted: Callable[[object], bool] = lambda _: True,
    attempt: Attempt = lambda _: None,
    detail: Detail = NO_DETAIL,
) -> Covered:
    """Do as `cover` does, led by sketches of the same prop: what one never meets is never met.

    What the roughest does not show to be never is tried for by `attempt`, and if that finds nothing
    searched for. Raises LimitError if not even that sketch is seen whole.
    """
    found: dict[object, Witness] = {}
    tried: dict[object, Run] = {}
    covered = Covered()
    rough, *finer = drawn
    space, reached, detail = _seen_whole(rough, detail)
    open_marks = {name for name in reached.hits if wanted(name)}
    for name in reached.hits:
        if name in open_marks and name not in found:
            if _is_never(rough, name, open_marks, detail):
                continue
            run = attempt(name)
            if run is not None:
                tried[name] = run
                continue
            if any(_is_never(each, name, open_marks) for each in finer):
                continue
            far = distances(space, reached, partial(_is_marked, name))
            _meet_one(lookout, name, NO_DETAIL, far, open_marks, found, covered)
    covered.runs = tried | {name: each.run for name, each in found.items() if wanted(name)}
    return covered


def _is_never(
    rough: Lookout, name: object, others: set[object], detail: Detail = NO_DETAIL
) -> bool:
    part = replace(rough, budget=rough.budget.share())
    try:
        return not may_meet(part, name, others, detail)
    except LimitError:
        return False


def _meet_one(
    lookout: Lookout,
    name: object,
    detail: Detail,
    far: Far | None,
    others: set[object],
    found: dict[object, Witness],
    covered: Covered,
) -> None:
    part = replace(lookout, budget=lookout.budget.share())
    try:
        witness = meet(part, name, detail, far, others)
    except LimitError as limit:
        covered.open[name] = limit
        return
    if witness is not None:
        found.setdefault(name, witness)
        _also(witness, found)


def distances(
    space: Space, reached: Reached, is_near: Callable[[Situation, Move | Stay], bool]
) -> Far:
    """Give how many moves lie between a situation and a loop that is near, by the regions in it."""
    before: dict[Situation, list[Situation]] = {}
    near: list[Situation] = []
    for at in reached.by_situation:
        moves = space.moves(at)
        for move in moves.moves:
            before.setdefault(move.to, []).append(at)
        steps: list[Move | Stay] = [*moves.moves, *moves.stays, *moves.marked]
        if any(is_near(at, step) for step in steps):
            near.append(at)
    names = [region.name for region in space.model.regions]
    best: dict[tuple[Place, ...], int] = {}
    seen, far = set(near), 0
    while near:
        for at in near:
            best.setdefault(at.places, far)
        near = [b for b in {b for at in near for b in before.get(at, ())} if b not in seen]
        seen.update(near)
        far += 1
    numbers: list[int] = []

    def guess(model: Model, at: Situation) -> int:
        if not numbers:
            numbers.extend(model.region_index[each] for each in names)
        return best.get(tuple(at.places[n] for n in numbers), far)

    return guess


def _is_marked(name: object, at: Situation, step: Move | Stay) -> bool:
    del at
    return any(mark.name == name for mark in step.marks)


def _try(
    space: Space, reached: Reached, name: object, found: dict[object, Witness]
) -> Blame | None:
    legs = legs_of(space, reached.hits[name])
    plan = schedule(legs)
    if isinstance(plan, Blame):
        return plan
    try:
        witness = Witness(concrete(legs, plan), tuple(legs), plan)
    except ReplayError:
        return Blame()
    found.setdefault(name, witness)
    _also(witness, found)
    return None


def _also(witness: Witness, found: dict[object, Witness]) -> None:
    """Note every other mark that comes true on the way of a run."""
    legs: Sequence[Leg] = witness.legs
    for at, leg in enumerate(legs):
        marks = leg.move.marks if leg.move is not None else leg.stay.marks if leg.stay else ()
        for mark in marks:
            if mark.name in found:
                continue
            if all(witness.plan.age(at, clock) >= least for clock, least in mark.lows):
                found[mark.name] = _shortened(witness, at)


def _shortened(witness: Witness, at: int) -> Witness:
    end = witness.plan.loops[at]
    run = replace(witness.run, stimuli=witness.run.stimuli[: end + 1], breach=end)
    return Witness(run, witness.legs[: at + 1], witness.plan)
