"""What stays possible, shown on sketches: whatever else is drawn roughly, people bring it about."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import tee

from behaviour.check.asking import Asking
from behaviour.check.barring import Course, is_barred
from behaviour.check.lateness import lateness_of
from behaviour.explore.budget import LimitError
from behaviour.explore.cone import cone
from behaviour.explore.forgetting import compared
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question
from behaviour.explore.sketch import lasting
from behaviour.explore.ways import Possible
from behaviour.model import Condition, Model
from behaviour.semantics import NotKnownError


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
        if any(_is_possible_late(asking, rough, possible, prospect) for rough in early):
            return True
        if not question.may_stall:
            whole = asking.lookout(question, conditions=asked, regions=named, stays_possible=True)
            last = asking.forgetting(whole, asked)
            if _is_possible_late(asking, last, possible, prospect):
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


def is_known_possible(
    asking: Asking, question: Question, conditions: Sequence[Condition | None]
) -> bool:
    """Tell whether it was shown on a sketch, with something else wrong that is felt no more."""
    known = asking.common.possible
    drawn = asking.sketches(question, conditions=conditions, at_rest=True, uncounting=True)
    return any(known.get((asking.drawing(rough), tuple(conditions))) for rough in drawn)


def _is_possible_late(
    asking: Asking,
    drawn: Lookout,
    possible: Callable[[Lookout], Possible],
    prospect: Prospect,
) -> bool:
    """Try to show it from where the regions of a drawing are late, with inputs held in one way."""
    if prospect.may_excuse(drawn.model):
        return False
    goal = possible(drawn)
    goal.free, goal.tried = drawn.question.free, asking.tried
    try:
        lateness = lateness_of(asking, compared(drawn.question.conditions))
        late = lateness.together(goal.lookout)
        if late is None or is_barred(drawn, filter(goal.counts, late), prospect.may_come):
            return False
        return goal.is_proved_from(late, lateness.vector(drawn.model))
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
