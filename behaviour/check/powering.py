"""moves-at-power-up: hazards that leave rest before anybody has done anything.

Where the file itself says that nobody comes so to a state that moves a hazard, that is all. Else
each way in which people may hold the inputs is a question of its own. A sketch looks at few of the
inputs, so it is asked in few ways; what it never does in any of them the prop never does. What an
input is held at that nobody looks at on all the ways that a search has gone makes no difference to
it: its answer is the answer for all ways of holding that are alike in what was looked at.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Generic, TypeVar

from behaviour.check.asking import Asking, may, where
from behaviour.check.driving import Driver, driving, setter
from behaviour.check.standstill import come_to
from behaviour.check.verdicts import finding
from behaviour.explore.looks import may_reach
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.search import Goal
from behaviour.explore.situations import Question, Situation, Still
from behaviour.explore.still import Vector, vectors, ways_to_hold
from behaviour.findings import Finding
from behaviour.model import Model, Output

Found = TypeVar("Found")


def moves_at_power_up(asking: Asking, output: Output, findings: list[Finding]) -> bool:
    """Look for a hazard that leaves rest with everybody standing still since power-up."""
    there = come_to(asking.model)[asking.model.owner[output.name]]
    if there.isdisjoint(driving(asking.model, output)):
        return False

    def is_away(model: Model) -> Goal:
        drive = Driver(model, output)
        return lambda at: drive(at) != output.rest

    drawn: list[_Drawn] = []
    for rough in asking.sketches(Question(), outputs=(output.name,), at_rest=True):
        drawn.append(_Drawn(rough, is_away(rough.model)))
        if not drawn[-1].may_ever():
            return False
    lookout = asking.lookout(Question(), outputs=(output.name,))
    exact = _Answers(lookout, is_away(lookout.model), reach)
    for values in vectors(lookout.model, let_go=False):
        if not all(rough.may(values) for rough in drawn):
            continue
        witness = exact.of(values)
        if witness is not None:
            run = asking.whole(lookout.model, witness.run)
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
class _Answers(Generic[Found]):
    """What a search finds on the way to a goal while people hold the inputs, by how they do."""

    lookout: Lookout
    goal: Goal
    ask: Callable[[Lookout, Goal], Found]
    _known: list[tuple[dict[int, str | None], Found]] = field(default_factory=list)
    """Answers, each with what the inputs were held at that were looked at for it."""

    def of(self, values: Vector) -> Found:
        """Give the answer for a way to hold the inputs."""
        for held, answer in self._known:
            if all(values[number] == value for number, value in held.items()):
                return answer
        question = replace(self.lookout.question, still=Still(values, settled=False))
        here = replace(self.lookout, question=question)
        space = here.space(frozenset())
        looked_at = set(space.parts.asked_first | space.parts.while_inputs)

        def is_met(at: Situation) -> bool:
            looked_at.update(space.looked_at(at))
            return self.goal(at)

        answer = self.ask(here, is_met)
        is_plain = not question.faults and not question.shadowed
        counting = looked_at if is_plain else range(len(values))
        self._known.append(({number: values[number] for number in counting}, answer))
        return answer


def _may_be_met(rough: Lookout, goal: Goal) -> bool:
    return may(lambda: may_reach(rough, goal) is not None)


@dataclass(slots=True, eq=False)
class _Drawn:
    """A sketch, and whether an output may leave rest in it while people hold the inputs.

    What stands for others is at will, and so is what a mechanism moves that is left out.
    """

    rough: Lookout
    is_away: Goal
    _ways: list[Sequence[str | None]] = field(init=False)
    _answers: _Answers[bool] = field(init=False)

    def __post_init__(self) -> None:
        free = self.rough.question.free
        self._ways = ways_to_hold(self.rough.model, let_go=False, free=free)
        self._answers = _Answers(self.rough, self.is_away, _may_be_met)

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
        return self._answers.of(held)
