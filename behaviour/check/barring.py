"""What others can keep from ever coming about, as far as the file itself says.

It searches nothing. In a drawing some inputs are left to others. Strategy: let those read the same
for ever, and let people, times and counters do whatever they like. Where regions never come to the
goal even so, no plan of people leads there, and none need be looked for in that drawing.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import product
from math import prod

from behaviour.check.standstill import Step, holds_for_long, steps_from
from behaviour.explore.guards import atoms
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Situation
from behaviour.model import Condition, HeldFor, InState, Is, Model

MOST_HELD = 16
"""In no more ways others are let hold what is theirs."""

Steps = Callable[[str, int], list[Step]]
"""Lists the transitions of a region, by its name, out of a leaf."""


@dataclass(eq=False)
class Course:
    """Where regions may come to from where they are, while others hold some inputs."""

    model: Model
    held: Mapping[str, str]
    leaves: dict[str, frozenset[int]]
    left: set[tuple[str, int]] = field(default_factory=set)
    """The leaves, each after its region, out of which a transition may lead."""

    def may_hold(self, condition: Condition | None) -> bool:
        """Tell whether a condition may hold with each region in any of its leaves."""
        held, leaves = self.held, self.leaves
        return (
            condition is None
            or holds_for_long(self.model, condition, held, leaves, turning=True) is not False
        )

    def follow(self, steps: Steps) -> "Course":
        """Take all transitions that may be taken, and what comes after them."""
        ahead = [(name, leaf) for name, leaves in self.leaves.items() for leaf in leaves]
        barred: list[tuple[str, Step]] = []
        while ahead:
            every = [*barred, *((name, step) for name, leaf in ahead for step in steps(name, leaf))]
            ahead, barred = [], []
            for name, step in every:
                if self.may_hold(step.when):
                    self.left.add((name, step.leaf))
                    if step.to not in self.leaves[name]:
                        self.leaves[name] |= {step.to}
                        ahead.append((name, step.to))
                elif any(isinstance(atom, InState) for atom in atoms(step.when)):
                    barred.append((name, step))
        return self


def is_barred(
    lookout: Lookout, starts: Iterable[Situation], may_come: Callable[[Course], bool]
) -> bool:
    """Tell whether others can keep something from ever coming about, from the first of `starts`.

    `may_come` tells whether it may come about on a course.
    """
    model = lookout.model
    several = _told_apart(model, [model.inputs[number].name for number in lookout.question.free])
    if not several or prod(map(len, several.values())) > MOST_HELD:
        return False

    @cache
    def steps(name: str, leaf: int) -> list[Step]:
        return steps_from(model.region[name], (leaf,))

    for at in starts:
        for values in product(*several.values()):
            held = dict(zip(several, values, strict=True))
            places = zip(model.region_index, at.places, strict=True)
            leaves = {name: frozenset((place.leaf,)) for name, place in places}
            if not may_come(Course(model, held, leaves).follow(steps)):
                return True
        break
    return False


def _told_apart(model: Model, names: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Give for inputs that regions ask for a value of each kind that these tell apart."""
    kinds: dict[str, list[tuple[str, ...]]] = {name: [] for name in names}
    ways = (way for region in model.regions for way in region.transitions())
    for atom in (atom for way in ways for atom in atoms(way.when)):
        match atom:
            case Is(name=name, values=values) if name in kinds:
                kinds[name].append(values)
            case HeldFor(name=name, value=value) if name in kinds:
                kinds[name].append((value,))
            case _:
                pass
    return {
        name: tuple(
            {
                tuple(value in kind for kind in several): value
                for value in model.input[name].values
            }.values()
        )
        for name, several in kinds.items()
        if several
    }
