"""What is worked out once for all that is asked of one model.

It knows spaces' parts and loops, and not who asks.
"""

from dataclasses import dataclass, field

from behaviour.explore.choosing import Choosing
from behaviour.explore.loops import Loop, Loops
from behaviour.explore.parts import Parts
from behaviour.explore.power_up import PowerUp
from behaviour.explore.situations import Question, Situation
from behaviour.faults import Fault
from behaviour.model import Model
from behaviour.world.circuit import Circuit


@dataclass(eq=False)
class Shared:
    """What is worked out once for all spaces of one model: its parts, its power-up, its loops."""

    _parts: Parts | None = None
    _choosing: Choosing | None = None
    _loops: dict[object, Loops] = field(default_factory=dict)
    _begun: dict[tuple[Loops, frozenset[int]], tuple[Loop, ...]] = field(default_factory=dict)
    _looked_on: dict[object, dict[Situation | None, tuple[Loop, ...]]] = field(default_factory=dict)

    def parts(self, model: Model, faults: tuple[Fault, ...]) -> Parts:
        """Give the parts of the model; all that is asked of it has the same faults."""
        if self._parts is None:
            self._parts = Parts(Circuit(model, faults))
        return self._parts

    def loops(self, model: Model, question: Question, followed: frozenset[int]) -> Loops:
        """Give the loops of the model with the people of a question."""
        key = (question.people(), followed)
        known = self._loops.get(key)
        if known is None:
            parts = self.parts(model, question.faults)
            if self._choosing is None:
                self._choosing = Choosing(parts)
            known = self._loops[key] = Loops(parts, question, followed, self._choosing)
        return known

    def begun(self, loops: Loops, asks: frozenset[int]) -> tuple[Loop, ...]:
        """Give what power-up may bring before some loops, where somebody looks at these inputs."""
        known = self._begun.get((loops, asks))
        if known is None:
            known = self._begun[loops, asks] = tuple(PowerUp(loops, asks).all())
        return known

    def looked_on(
        self, question: Question, followed: frozenset[int], *, recalls: bool
    ) -> dict[Situation | None, tuple[Loop, ...]]:
        """Give the loops of situations as those who look on have told them apart, so far."""
        return self._looked_on.setdefault((question.key(), followed, recalls), {})
