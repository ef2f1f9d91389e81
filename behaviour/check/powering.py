"""moves-at-power-up: hazards that leave rest before anybody has done anything.

Each way in which people may hold the inputs is a question of its own. A sketch looks at few of the
inputs, so it is asked in few ways; what it never does in any of them the prop never does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from behaviour.check.asking import Asking, may, where
from behaviour.check.driving import Driver, setter
from behaviour.check.verdicts import finding
from behaviour.explore.reach import Lookout, may_reach, reach
from behaviour.explore.search import Goal
from behaviour.explore.situations import Question, Still
from behaviour.explore.still import Vector, vectors, ways_to_hold
from behaviour.findings import Finding
from behaviour.model import Model, Output


def moves_at_power_up(asking: Asking, output: Output, findings: list[Finding]) -> bool:
    """Look for a hazard that leaves rest with everybody standing still since power-up."""

    def is_away(model: Model) -> Goal:
        drive = Driver(model, output)
        return lambda at: drive(at) != output.rest

    drawn: list[_Drawn] = []
    for rough in asking.sketches(Question(), outputs=(output.name,), at_rest=True):
        drawn.append(_Drawn(rough, is_away(rough.model)))
        if not drawn[-1].may_ever():
            return False
    lookout = asking.lookout(Question(), outputs=(output.name,))
    for values in vectors(lookout.model, let_go=False):
        if not all(rough.may(values) for rough in drawn):
            continue
        here = replace(lookout, question=Question(still=Still(values, settled=False)))
        witness = reach(here, is_away(here.model))
        if witness is not None:
            run = asking.whole(here.model, witness.run)
            findings.append(
                finding(
                    "moves-at-power-up",
                    f"`{output.name}` leaves `{output.rest}` after power-up before anyone has "
                    "done anything",
                    setter(asking.model, output.name),
                    "reached without a hand",
                    run=run,
                    place=where(asking.model, asking.model.owner[output.name], run),
                    hint="a state at the beginning that waits for a person",
                )
            )
            return True
    return False


@dataclass(slots=True, eq=False)
class _Drawn:
    """A sketch, and whether an output may leave rest in it while people hold the inputs.

    What stands for others is at will, and so is what a mechanism moves that is left out.
    """

    rough: Lookout
    is_away: Goal
    _ways: list[Sequence[str | None]] = field(init=False)
    _known: dict[Vector, bool] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        free = self.rough.question.free
        self._ways = ways_to_hold(self.rough.model, let_go=False, free=free)

    def may_ever(self) -> bool:
        """Tell whether it may in any way of holding the inputs."""
        return any(map(self.may, product(*self._ways)))

    def may(self, values: Vector) -> bool:
        """Tell whether it may where the prop's inputs are held so: nobody else asks for more."""
        others = (None,) * (len(self._ways) - len(values))
        held = tuple(
            value if len(ways) > 1 else ways[0]
            for value, ways in zip((*values, *others), self._ways, strict=True)
        )
        if held not in self._known:
            still = Still(held, settled=False)
            part = replace(self.rough, question=replace(self.rough.question, still=still))
            self._known[held] = may(lambda: may_reach(part, self.is_away) is not None)
        return self._known[held]
