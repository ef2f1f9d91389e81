"""A way that was found in one drawing of a prop, to be gone by in a finer one.

It only says what to look at first: what is found and what is never do not hang on it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from behaviour.explore.detail import Detail
from behaviour.explore.legs import Leg
from behaviour.explore.situations import Situation
from behaviour.explore.zones import FREE
from behaviour.model import Model


@dataclass(frozen=True, slots=True)
class Course:
    """A way that a drawing can go, and the `detail` in which its times fit.

    It is told by where `regions` and watches are, which a finer drawing has as well. Where no way
    is known it leads nowhere.
    """

    detail: Detail
    regions: tuple[str, ...] = ()
    left: Mapping[object, int] = field(default_factory=dict)
    """How many moves before its end something is come to on it."""

    def beside(self, model: Model) -> Callable[[Situation], int]:
        """Give how far situations of a model are from the end, by where they are on the way."""
        numbers = [model.region_index[name] for name in self.regions]

        def far(at: Situation) -> int:
            places = tuple([at.places[number] for number in numbers])
            return self.left.get((places, at.watch), FREE)

        return far


def course_of(model: Model, legs: Sequence[Leg], detail: Detail) -> Course:
    """Give the course of a path through a model that was found in some detail."""
    left: dict[object, int] = {}
    for moves, leg in enumerate(reversed(legs)):
        if leg.move is not None:
            left.setdefault((leg.move.to.places, leg.move.to.watch), moves)
    return Course(detail, tuple(model.region_index), left)
