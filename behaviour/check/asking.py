"""What every check needs: the model, its budget, searches that are shared, and how facts are made.

It knows no check.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from behaviour.check.drawings import Asked, Drawing, drawings
from behaviour.check.felt import at_will, felt
from behaviour.check.retold import as_drawn
from behaviour.explore.aiming import Vector
from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.cone import cone
from behaviour.explore.detail import NO_DETAIL, Detail
from behaviour.explore.forgetting import compared, forgetful
from behaviour.explore.leading import Course
from behaviour.explore.looks import Looks, Quest
from behaviour.explore.lulls import played
from behaviour.explore.reach import Lookout, Witness, reach
from behaviour.explore.search import Goal
from behaviour.explore.situations import Question, Situation
from behaviour.explore.sketch import drawn_as, left_to_others
from behaviour.explore.space import Spaces
from behaviour.explore.walking.trying import Walked
from behaviour.explore.whole import whole
from behaviour.faults import BrownOut, Fault, Stalls, Swapped
from behaviour.findings import Run
from behaviour.model import Condition, Model
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, replay
from behaviour.world.circuit import Circuit

Judge = Callable[[Run, Sequence[LoopView]], Run | None]
"""Judges a run by plain definition, and gives it up to the loop in which it breaks, if it does."""

MOST_AT_ONCE = 2000
"""So many states may be looked at to find at once what a sketch has found."""


@dataclass(slots=True, eq=False)
class Common:
    """What several worlds of one model share: what is asked where none of their faults is felt.

    What a sketch may come to hangs on the sketch, on who looks on, and on the faults that it feels.
    Where these are equal it is searched once, whatever else is wrong.
    """

    parts: dict[object, tuple[Model, Spaces]] = field(default_factory=dict)
    """The parts and sketches that feel no fault."""
    drawn: dict[Asked, Sequence[Drawing]] = field(default_factory=dict)
    """The drawings of what is asked for."""
    may: dict[object, Course | None] = field(default_factory=dict)
    """What was asked of sketches, and the way in which it may come about, if it may."""
    wider: dict[tuple[str, Fault], bool] = field(default_factory=dict)
    """Whether what is asked by a name was shown to hold with more going wrong."""
    held: set[tuple[str, Fault | None]] = field(default_factory=set)
    """What was shown at more length to hold under a fault, by that under which more goes wrong."""
    possible: dict[object, bool] = field(default_factory=dict)
    """Whether sketches have shown what was asked of them to stay possible."""
    known: dict[object, object] = field(default_factory=dict)
    """What was worked out of the prop as it is written, and hangs on nothing that is wrong."""


@dataclass(slots=True)
class Asking:
    """One model being checked; with `faults`, in a world in which those things are wrong."""

    model: Model
    budget: Budget
    faults: tuple[Fault, ...] = ()
    shadowed: bool = False
    """Only runs count that a controller cannot tell from those of a healthy prop."""
    haste: int = 0
    """If any, nothing is searched but what the first sketch shows with so many states."""
    left_out: set[str] = field(default_factory=set)
    known: dict[str, object] = field(default_factory=dict)
    """What a family of checks has worked out and will need again."""
    walks: dict[object, Walked] = field(default_factory=dict)
    """The short walks of parts of the prop."""
    common: Common = field(default_factory=Common)
    tried: Counter[Vector] = field(default_factory=Counter)
    """How much each way to hold the inputs has shown to stay possible."""
    _parts: dict[object, tuple[Model, Spaces]] = field(default_factory=dict)
    _begun: dict[object, Quest] = field(default_factory=dict)
    """What was asked of sketches. What a limit has stopped goes on when it is asked again."""

    @property
    def _felt(self) -> tuple[str, ...]:
        """Name the outputs by which a fault comes about, whatever is asked."""
        if not any(isinstance(fault, BrownOut) for fault in self.faults):
            return ()
        return tuple(output.name for output in self.model.outputs if output.hazard)

    @property
    def _read(self) -> tuple[str, ...]:
        """Name the mechanisms whose movements matter whatever is asked."""
        if self.shadowed:
            return tuple(self.model.mechanism_index)
        swapped = {
            name
            for fault in self.faults
            if isinstance(fault, Swapped)
            for name in (fault.first, fault.second)
        }
        return tuple(
            mechanism.name
            for mechanism in self.model.mechanism
            if any(name in swapped for state in mechanism.states for name, _ in state.reads)
        )

    def lookout(
        self,
        question: Question,
        *,
        conditions: Iterable[Condition | None] = (),
        regions: Iterable[str] = (),
        outputs: Iterable[str] = (),
        mechanisms: Iterable[str] = (),
        stays_possible: bool = False,
    ) -> Lookout:
        """Give a search over what the question can depend on.

        With `stays_possible` it is about what must stay possible, and not about what must not be.
        """
        asked, driven = tuple(conditions), tuple(outputs)
        part = cone(self.model, asked, regions, (*driven, *self._felt), (*mechanisms, *self._read))
        self.left_out.update(part.left_out)
        return self.look(part.model, question, asked, driven, stays_possible=stays_possible)

    def sketches(  # noqa: PLR0913
        self,
        question: Question,
        *,
        conditions: Iterable[Condition | None] = (),
        regions: Iterable[str] = (),
        outputs: Iterable[str] = (),
        moving: bool = False,
        at_rest: bool = False,
        uncounting: bool = False,
        told: frozenset[str] = frozenset(),
    ) -> Iterator[Lookout]:
        """Give searches in which regions that are only looked at may be anywhere, finer and finer.

        What one of them does not find is never. `moving` keeps the mechanisms that what is asked
        for moves. `at_rest` is for questions in which people hold still: what is left out goes on
        all the same. With `uncounting` they are given without their counters too. In the healthy
        prop only the first that has any is, since what one does not show the next seldom does. Of
        counters that are `told` nothing is forgotten.
        """
        asked, driven = tuple(conditions), (*outputs, *self._felt)
        wanted = Asked(asked, tuple(regions), driven, self._read, moving, uncounting, told)
        for model, part in self._drawn(wanted):
            free = left_to_others(model, part) if at_rest else frozenset[int]()
            alone = replace(question, free=question.free | free)
            if at_rest and (loose := at_will(part, self.faults, asked)):
                looser = replace(alone, free=alone.free | loose)
                yield self.look(part, looser, asked, driven, stays_possible=at_rest)
            yield self.look(part, alone, asked, driven, stays_possible=at_rest)

    def forgetting(
        self, whole: Lookout, conditions: Sequence[Condition | None], outputs: Sequence[str] = ()
    ) -> Lookout:
        """Give a search over the same that forgets counts that nobody will ask for."""
        model = forgetful(whole.model, self.model, compared(conditions))
        return self.look(model, whole.question, conditions, outputs, stays_possible=False)

    def _drawn(self, asked: Asked) -> Iterable[Drawing]:
        """Draw what is asked for; with something wrong once for all that is, as it is the same."""
        if not self.faults:
            return drawings(self.model, asked, once=True)
        known = self.common.drawn
        if asked not in known:
            known[asked] = tuple(drawings(self.model, asked, once=False))
        return known[asked]

    def look(
        self,
        part: Model,
        question: Question,
        asked: Sequence[Condition | None],
        outputs: Sequence[str],
        *,
        stays_possible: bool,
    ) -> Lookout:
        """Search a part of the prop; of what is wrong only what the part feels is put in."""
        names = drawn_as(part)
        if not self.faults:
            model, spaces = self._parts.setdefault(names, (part, Spaces()))
            return Lookout(model, question, self.budget.share(), spaces=spaces)
        faults = self.faults
        if not self.shadowed:
            free = {part.inputs[number].name for number in question.free}
            faults = felt(part, faults, asked, outputs, stays_possible=stays_possible, free=free)
        question = replace(_with_faults(question, faults), shadowed=self.shadowed)
        parts = self._parts if faults or self.shadowed else self.common.parts
        model, spaces = parts.setdefault((names, faults), (part, Spaces()))
        return Lookout(model, question, self.budget.share(), spaces=spaces)

    def may_reach(
        self, rough: Lookout, goal: Goal, detail: Detail, near: Goal | None = None
    ) -> Course | None:
        """Tell by which way a sketch may come to a goal, if it may; what a limit stops may.

        What is equally asked of an equal sketch under faults that it feels alike is asked once.
        """
        key = self._key(rough, goal)
        if key not in self.common.may:
            there = detail.carried(self.model, rough.model)
            quest = self._begun.setdefault(key, Quest(rough, goal, there, near))
            try:
                self.common.may[key] = quest.go_on(rough.budget)
            except LimitError:
                return Course(there)
        return self.common.may[key]

    def _laid_out(self, rough: Lookout, goal: Goal, judge: Judge) -> Run | None:
        """Give what breaks of the run that a sketch was found to do, if the prop can do the same.

        It is played by the definition with what is wrong, and judged by it.
        """
        quest = self._begun.get(self._key(rough, goal))
        if quest is None or self.shadowed or len(self.faults) != 1:
            return None
        try:
            found = quest.laid_out()
            told = found and as_drawn(Circuit(self.model, self.faults), rough.model, found)
            return told and judge(*told)
        except (NotKnownError, LimitError):
            return None

    def _key(self, rough: Lookout, goal: Goal) -> object:
        question = rough.question
        return (self.drawing(rough), question.watches, question.conditions, goal)

    def drawing(self, rough: Lookout) -> object:
        """Give something equal for equal drawings of the prop in equal worlds."""
        question, part = rough.question, rough.model
        return (drawn_as(part), question.people(), question.may_stall, question.begins_anew)

    def reach(
        self,
        question: Question,
        goal: Callable[[Model], Goal],
        *,
        conditions: Iterable[Condition | None] = (),
        outputs: Iterable[str] = (),
        near: Goal | None = None,
        judge: Judge | None = None,
    ) -> Run | None:
        """Find a run of the whole prop into a goal, or show that there is none (None).

        `goal` is made for the part of the model that is searched. With something wrong, situations
        `near` to the goal are looked at first, and a run that `judge` finds broken will do as well.
        Raises LimitError.
        """
        for part, run in self.reach_each(
            question, goal, conditions=conditions, outputs=outputs, near=near, judge=judge
        ):
            return self.whole(part, run)
        return None

    def reach_each(
        self,
        question: Question,
        goal: Callable[[Model], Goal],
        *,
        conditions: Iterable[Condition | None] = (),
        outputs: Iterable[str] = (),
        near: Goal | None = None,
        judge: Judge | None = None,
    ) -> Iterator[tuple[Model, Run]]:
        """Find runs into a goal, each into a situation that none was found into, and their part.

        `goal` is made for the part of the model that is searched. What a sketch had to look at is
        looked at from the first in what is drawn finer. Raises LimitError.
        """
        asked, driven = tuple(conditions), tuple(outputs)
        whole = self.lookout(question, conditions=asked, outputs=driven)
        wanted = goal(whole.model)
        uncounting = not question.is_counted or bool(self.faults)
        drawn = self.sketches(question, conditions=asked, outputs=driven, uncounting=uncounting)
        if self.faults:
            found = self._first_wrong(whole, drawn, goal, wanted, near, judge)
            if isinstance(found, Run):
                yield self.model, found
                return
            witness = found
        else:
            finest = partial(self.forgetting, whole, asked, driven)
            witness = self._first(whole, drawn, finest, goal)
        whole = replace(whole, budget=self.budget.share())
        met: set[Situation] = set()
        while witness is not None:
            yield whole.model, witness.run
            last = witness.legs[-1].move
            if last is None:
                return
            met.add(last.to)
            witness = reach(whole, lambda at: wanted(at) and at not in met)

    def _first(
        self,
        whole: Lookout,
        drawn: Iterable[Lookout],
        finest: Callable[[], Lookout],
        goal: Callable[[Model], Goal],
    ) -> Witness | None:
        """Find a run into what is wanted, or show that there is none, led by sketches.

        The `finest` does nothing that the prop cannot. The run is looked for in the detail in
        which it was seen that there is a way.
        """
        looks = Looks()
        for rough in drawn:
            if not looks.may_reach(rough, goal(rough.model)):
                return None
        if looks.are_open:
            closely = finest()
            if not looks.fits(closely, goal(closely.model)):
                return None
        wanted = goal(whole.model)
        return reach(replace(whole, budget=self.budget.share()), wanted, looks.detail)

    def _first_wrong(
        self,
        whole: Lookout,
        drawn: Iterable[Lookout],
        goal: Callable[[Model], Goal],
        wanted: Goal,
        near: Goal | None,
        judge: Judge | None,
    ) -> Witness | Run | None:
        """Do the same with something wrong: what is met in the first sketch is looked for at once.

        There it is looked for along the way that the sketch has gone, if the prop does not go it
        just so, and not twice in the same detail.
        In haste it is only told what the first sketch shows.
        """
        detail = NO_DETAIL
        tried: set[Detail] = set()
        for rough in drawn:
            if self.haste:
                rough.budget = self.budget.few(self.haste)
            found = self.may_reach(rough, goal(rough.model), detail, near)
            if found is None:
                return None
            if judge is not None and (run := self._laid_out(rough, goal(rough.model), judge)):
                return run
            if self.haste:
                raise LimitError("haste", "the first sketch does not show it")
            detail = found.detail.carried(rough.model, self.model)
            if detail in tried:
                continue
            tried.add(detail)
            hasty = replace(whole, budget=self.budget.few(MOST_AT_ONCE))
            try:
                return reach(hasty, wanted, detail.carried(self.model, whole.model), near, found)
            except LimitError:
                continue
        whole = replace(whole, budget=self.budget.share())
        return reach(whole, wanted, detail.carried(self.model, whole.model), near)

    def whole(self, part: Model, run: Run) -> Run:
        """Tell a run of a part of the prop for the whole of it.

        Raises NotKnownError where the rest does what the file leaves open: it has no story then.
        """
        told = whole(self.model, run, tuple(item.name for item in part.mechanism))
        if self.model.unknowns:
            replay(self.model, told)
        return told


def _with_faults(question: Question, faults: tuple[Fault, ...]) -> Question:
    """Put a question to a world with something wrong, in which only that is wrong."""
    stalls = tuple((each.mechanism, each.movement) for each in faults if isinstance(each, Stalls))
    others = tuple(each for each in faults if not isinstance(each, Stalls))
    return replace(question, faults=others, may_stall=bool(stalls), stalls=stalls)


def following_lines(lookout: Lookout) -> Lookout:
    """Follow the inputs whose lines are at fault: only so is it seen what they no longer read."""
    circuit = Circuit(lookout.model, lookout.question.faults)
    if circuit.stops or not circuit.lines:
        return lookout
    return replace(lookout, follow=lookout.follow | circuit.lines - lookout.question.free)


def may(ask: Callable[[], bool]) -> bool:
    """Ask what may come about; what a limit stops may."""
    try:
        return ask()
    except LimitError:
        return True


def where(model: Model, region: str, run: Run, *, loops_before_end: int = 0) -> tuple[str, str]:
    """Give the region and its state at the end of a run, or some loops before."""
    end = max(len(run.stimuli) - loops_before_end, 1)
    state = played(model, run.stimuli[:end])
    at = model.region_index[region]
    return region, model.regions[at].states[state.regions[at].leaf].name
