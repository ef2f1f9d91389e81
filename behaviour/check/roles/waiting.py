"""Whether a hazard may rest for ever while everybody stands still.

What starts by itself once an input is turned is told only where it would not have started anyway.
So where it starts sooner or later however people stand, turning an input makes nothing start.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial

from behaviour.check.asking import Asking
from behaviour.check.roles.seeing import is_away
from behaviour.explore.endless import may_last
from behaviour.explore.guards import Limit
from behaviour.explore.situations import Moment, Next, Question, Situation
from behaviour.model import Condition, Output

BEFORE, WAITING = 0, 1


def may_wait(asking: Asking, output: Output, still: tuple[Condition, ...]) -> bool:
    """Tell whether an output may rest for ever from some loop on, with `still` true in each.

    It may where a limit stops.
    """
    watch = Waits(output, asking.model.output_index[output.name], still)
    question = Question(watches=(watch,), conditions=still, may_stall=True)
    drawn = asking.lookout(question, conditions=still, outputs=(output.name,))
    return may_last(drawn, partial(_is_waiting, WAITING))


def _is_waiting(place: int, at: Situation) -> bool:
    return at.watch[0] == place


@dataclass(frozen=True, slots=True, eq=False)
class Waits:
    """Waits from any loop on while an output rests and the conditions `still` hold."""

    output: Output
    at: int
    still: tuple[Condition, ...]

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        yield from self.go_on(number, BEFORE, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        if place == BEFORE:
            yield Next(BEFORE)
        if not is_away(moment, self.at, self.output) and all(map(moment.told.judge, self.still)):
            yield Next(WAITING)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()
