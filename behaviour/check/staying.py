"""What stays possible, shown on sketches: whatever else is drawn roughly, people bring it about."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from behaviour.check.asking import Asking
from behaviour.explore.cone import cone
from behaviour.explore.reach import Lookout
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Question
from behaviour.explore.sketch import lasting
from behaviour.explore.ways import Possible
from behaviour.model import Condition


def is_possible(
    asking: Asking,
    question: Question,
    possible: Callable[[Lookout], Possible],
    *,
    conditions: Iterable[Condition | None] = (),
    regions: Iterable[str] = (),
    quickly: bool = False,
) -> bool:
    """Try to show on a sketch that something stays possible, whatever other regions do.

    Where no region is named it is tried first whatever counters have come to. If `quickly`, it is
    tried only whatever the mechanisms do too.
    """
    asked, named = tuple(conditions), tuple(regions)
    drawn = asking.sketches(
        question, conditions=asked, regions=named, at_rest=True, uncounting=not named
    )
    for rough in _with_lasting(asking, question, drawn, asked, named):
        if quickly and rough.model.mechanism:
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
