"""All that can come about of many marks: each with a run that replays, or shown to be never.

What a search that looks at little does not meet is never. For each mark that it does meet the path
is laid out, or looked for more closely.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import partial

from behaviour.explore.budget import LimitError
from behaviour.explore.detail import NO_DETAIL, Detail
from behaviour.explore.legs import Leg, legs_of
from behaviour.explore.meanwhile import judged
from behaviour.explore.places import Place
from behaviour.explore.reach import Far, Lookout, Witness, may_meet, meet
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Blame, schedule
from behaviour.explore.search import Reached, explore
from behaviour.explore.situations import Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.findings import Run
from behaviour.model import Model

FEW_STATES = 300
"""So many states may be looked at before it is gone about in another way."""


Attempt = Callable[[object], Run | None]
"""Tries for a run to a mark, and says nothing by finding none."""


@dataclass(slots=True)
class Covered:
    """Runs to marks, and why others are still open; a mark in neither never comes true."""

    runs: Mapping[object, Run] = field(default_factory=dict)
    open: dict[object, LimitError] = field(default_factory=dict)


@dataclass(slots=True)
class Wanted:
    """The marks that are looked for, to which of them a longer run will do, and who tries for them.

    It is looked in some `detail` from the first, where that takes few states.
    """

    is_wanted: Callable[[object], bool] = lambda _: True
    may_be_long: Callable[[object], bool] = lambda _: False
    attempt: Attempt = lambda _: None
    detail: Detail = NO_DETAIL


@dataclass(slots=True)
class _Meeting:
    """What has been found on the way to some marks; `left` are those that may yet come true."""

    lookout: Lookout
    wanted: Wanted
    left: set[object]
    found: dict[object, Witness] = field(default_factory=dict)
    tried: dict[object, Run] = field(default_factory=dict)
    open: dict[object, LimitError] = field(default_factory=dict)

    def is_left(self, name: object) -> bool:
        return name in self.left and name not in self.found

    def attempt(self, name: object) -> bool:
        """Try for a mark, and tell whether it is met."""
        run = self.wanted.attempt(name)
        if run is not None:
            self.tried[name] = run
        return run is not None

    def meet(self, name: object, detail: Detail, far: Far | None = None) -> None:
        """Search for a mark until it is found, shown to be never, or stopped by a limit."""
        part = replace(self.lookout, budget=self.lookout.budget.share())
        is_led = self.wanted.may_be_long(name)
        try:
            witness = meet(part, name, detail, far, self.left, is_led=is_led)
        except LimitError as limit:
            self.open[name] = limit
            return
        if witness is not None:
            self.found.setdefault(name, witness)
            _also(witness, self.found)

    def covered(self) -> Covered:
        runs = {name: each.run for name, each in self.found.items() if self.wanted.is_wanted(name)}
        return Covered(self.tried | runs, self.open)


def cover(lookout: Lookout, wanted: Wanted) -> Covered:
    """Find a run for every mark that can come true at all.

    What a limit stops is tried for. Raises LimitError if not even what may come true is seen whole.
    """
    space, reached, seen_in = _seen_whole(lookout, wanted.detail)
    meeting = _Meeting(lookout, wanted, set(filter(wanted.is_wanted, reached.hits)))
    later: list[tuple[object, Detail]] = []
    for name in filter(meeting.is_left, _in_turn(reached.hits, wanted)):
        blame = _try(space, reached, name, meeting.found)
        if blame is not None:
            later.append((name, seen_in.more(blame)))
    for name, detail in later:
        if meeting.is_left(name):
            meeting.meet(name, detail)
            if name in meeting.open and meeting.attempt(name):
                del meeting.open[name]
    return meeting.covered()


def _in_turn(hits: Collection[object], wanted: Wanted) -> list[object]:
    """Order marks from the nearest on, and then, farthest first, those to which a run may be long.

    On the way to the farthest of these much of the rest is met.
    """
    far = [name for name in hits if wanted.may_be_long(name)]
    return [name for name in hits if name not in far] + far[::-1]


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


def cover_by(drawn: Sequence[Lookout], lookout: Lookout, wanted: Wanted) -> Covered:
    """Do as `cover` does, led by sketches of the same prop: what one never meets is never met.

    What the roughest does not show to be never, nor the finer ones with few states, is tried for,
    and if that finds nothing searched for. Raises LimitError if the roughest is not seen whole.
    """
    rough, *finer = drawn
    space, reached, seen_in = _seen_whole(rough, wanted.detail)
    meeting = _Meeting(lookout, wanted, set(filter(wanted.is_wanted, reached.hits)))
    for name in filter(meeting.is_left, reached.hits):
        shown = partial(_is_never, name=name, others=meeting.left)
        if shown(rough, detail=seen_in) or any(shown(each, few=True) for each in finer):
            continue
        if not meeting.attempt(name) and not any(map(shown, finer)):
            far = distances(space, reached, partial(_is_marked, name))
            meeting.meet(name, NO_DETAIL, far)
    return meeting.covered()


def _is_never(
    rough: Lookout,
    name: object,
    others: set[object],
    detail: Detail = NO_DETAIL,
    *,
    few: bool = False,
) -> bool:
    """Tell whether a sketch shows a mark never to come true, with a few states if so asked."""
    budget = rough.budget.few(FEW_STATES) if few else rough.budget.share()
    try:
        return not may_meet(replace(rough, budget=budget), name, others, detail)
    except LimitError:
        return False


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
    legs, plan = judged(legs_of(space, reached.hits[name]), schedule)
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
