"""What stays possible, shown on sketches: whatever else is drawn roughly, people bring it about."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import tee

from behaviour.check.asking import Asking
from behaviour.check.barring import Course, is_barred
from behaviour.check.felt import stays_read
from behaviour.check.lateness import lateness_of
from behaviour.explore.budget import LimitError
from behaviour.explore.cone import cone
from behaviour.explore.forgetting import compared
from behaviour.explore.late import Held
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question
from behaviour.explore.sketch import lasting
from behaviour.explore.ways import Possible
from behaviour.faults import Slow, Stalls
from behaviour.model import Condition, Model
from behaviour.semantics import NotKnownError

AFTER = "possible after"
"""Says of what is known that it is what stays possible from wherever a fault leaves a prop."""


@dataclass(frozen=True, slots=True)
class Prospect:
    """What is known beforehand of whether drawings can show that something stays possible."""

    may_come: Callable[[Course], bool]
    """Tells whether it may come about on a course; where others can bar it, nothing is tried."""
    may_excuse: Callable[[Model], bool] = lambda _: False
    """Tells whether something in a drawing may excuse that it is not possible."""
    quickly: bool = False
    """It is tried only whatever the mechanisms do too."""


def is_possible(
    asking: Asking,
    question: Question,
    possible: Callable[[Lookout], Possible],
    prospect: Prospect,
    *,
    conditions: Iterable[Condition | None] = (),
    regions: Iterable[str] = (),
) -> bool:
    """Try to show on a sketch that something stays possible, whatever other regions do.

    It is tried first from where the prop is late, with nothing wrong, but not where there may be an
    excuse. Where no region is named it is tried first whatever counters have come to.
    """
    asked, named = tuple(conditions), tuple(regions)
    rough_first = asking.sketches(
        question, conditions=asked, regions=named, at_rest=True, uncounting=not named
    )
    drawn: Iterable[Lookout] = _with_lasting(asking, question, rough_first, asked, named)
    if not asking.faults:
        drawn, early = tee(drawn)
        late = _Late(asking, possible, prospect)
        if late.shows_any(early, question, asked, named):
            return True
    for rough in drawn:
        if prospect.quickly and rough.model.mechanism:
            return False
        goal = possible(rough)
        goal.free, goal.tried = rough.question.free, asking.tried
        key = (asking.drawing(rough), asked)
        known = asking.common.possible if asking.faults and not named else {}
        try:
            if key not in known:
                known[key] = goal.is_proved()
            if known[key]:
                return True
        except LimitError:
            continue
    return False


def is_possible_after(
    asking: Asking,
    question: Question,
    possible: Callable[[Lookout], Possible],
    prospect: Prospect,
    conditions: Sequence[Condition | None],
) -> bool:
    """Try to show that something stays possible from wherever one thing going wrong leaves a prop.

    Once that is over for good, or while a line reads what people might hold as well, the prop does
    nothing that it would not do with nothing wrong; nor does it with a movement that is slow or
    stalls, where all of them may take for ever. So people hold the inputs until it is late, and go
    on from there.
    """
    kept = stays_read(asking.model, asking.faults, conditions)
    if kept is None:
        return False
    may_stall = any(isinstance(fault, Stalls | Slow) for fault in asking.faults)
    key = (AFTER, may_stall, tuple(kept.items()), tuple(conditions))
    known = asking.common.known
    if key not in known:
        sound = Asking(asking.model, asking.budget.share())
        still = replace(question, may_stall=may_stall)
        rough = sound.sketches(still, conditions=conditions, at_rest=True, uncounting=True)
        drawn = _with_lasting(sound, still, rough, conditions, ())
        late = _Late(sound, possible, prospect, kept)
        known[key] = late.shows_any(drawn, still, conditions, ())
    return bool(known[key])


def is_known_possible(
    asking: Asking, question: Question, conditions: Sequence[Condition | None]
) -> bool:
    """Tell whether it was shown on a sketch, with something else wrong that is felt no more."""
    known = asking.common.possible
    drawn = asking.sketches(question, conditions=conditions, at_rest=True, uncounting=True)
    return any(known.get((asking.drawing(rough), tuple(conditions))) for rough in drawn)


@dataclass(frozen=True, slots=True)
class _Late:
    """Something that may be possible from where a prop is late, with inputs held in one way.

    Of these some are `kept` as they are, and people turn the others.
    """

    asking: Asking
    possible: Callable[[Lookout], Possible]
    prospect: Prospect
    kept: Held = field(default_factory=dict)

    def shows_any(
        self,
        drawn: Iterable[Lookout],
        question: Question,
        conditions: Sequence[Condition | None],
        regions: Sequence[str],
    ) -> bool:
        """Tell whether some drawing shows it; the last is the whole prop, if nothing may stall."""
        if any(self._shows(rough) for rough in drawn):
            return True
        if question.may_stall:
            return False
        whole = self.asking.lookout(
            question, conditions=conditions, regions=regions, stays_possible=True
        )
        return self._shows(self.asking.forgetting(whole, conditions))

    def _shows(self, drawn: Lookout) -> bool:
        """Try to show it from where the regions of a drawing are late."""
        model = drawn.model
        if self.prospect.may_excuse(model):
            return False
        goal = self.possible(drawn)
        goal.free, goal.tried = drawn.question.free, self.asking.tried
        try:
            lateness = lateness_of(self.asking, compared(drawn.question.conditions), self.kept)
            late = lateness.together(goal.lookout)
            may_come = self.prospect.may_come
            if late is None or is_barred(drawn, filter(goal.counts, late), may_come):
                return False
            kept = frozenset(model.input_index[n] for n in self.kept if n in model.input_index)
            return goal.is_proved_from(late, lateness.vector(model), kept)
        except (LimitError, NotKnownError):
            return False


def _with_lasting(
    asking: Asking,
    question: Question,
    drawn: Iterable[Lookout],
    conditions: Iterable[Condition | None],
    regions: Iterable[str],
) -> Iterator[Lookout]:
    """Give before each sketch with a stall one without in which movements may take for ever.

    The last is of the prop itself.
    """
    if asking.faults or not question.may_stall:
        yield from drawn
        return
    for rough in drawn:
        still = lasting(rough.model)
        if still is not None:
            alone = replace(rough.question, may_stall=False)
            yield asking.look(still, alone, (), (), stays_possible=True)
        yield rough
    still = lasting(cone(asking.model, conditions, regions).model)
    if still is not None:
        yield asking.look(still, replace(question, may_stall=False), (), (), stays_possible=True)
