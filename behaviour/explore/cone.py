"""The part of a prop that a question can depend on; the rest is left out of its search.

A region counts if it can be asked for, or moves what is asked for: outputs, counters, mechanisms
through the outputs they watch, inputs through the mechanisms that force them.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from behaviour.explore.guards import atoms
from behaviour.model import Becomes, Compare, Condition, Done, HeldFor, InState, Is, Model


@dataclass(frozen=True, slots=True)
class Cone:
    """A model cut down to what matters, and the names of the regions that were left out."""

    model: Model
    left_out: tuple[str, ...]


def cone(
    model: Model,
    conditions: Iterable[Condition | None] = (),
    regions: Iterable[str] = (),
    outputs: Iterable[str] = (),
    mechanisms: Iterable[str] = (),
) -> Cone:
    """Cut a model down to what conditions, regions, outputs or mechanisms can depend on."""
    wanted = _Wanted(model)
    for condition in conditions:
        wanted.condition(condition)
    for name in (*regions, *mechanisms):
        wanted.add(name)
    for name in outputs:
        wanted.name(name)
    wanted.close()
    kept = tuple(region for region in model.regions if region.name in wanted.parts)
    left_out = tuple(region.name for region in model.regions if region.name not in wanted.parts)
    mechanism = tuple(item for item in model.mechanism if item.name in wanted.parts)
    if not left_out and len(mechanism) == len(model.mechanism):
        return Cone(model, ())
    return Cone(replace(model, regions=kept, mechanism=mechanism), left_out)


class _Wanted:
    """Collects the regions and mechanisms that are asked for, and what they ask for in turn."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.parts: set[str] = set()
        self._open: list[str] = []
        self._writers: dict[str, list[str]] = {}
        for region in model.regions:
            for transition in region.transitions():
                for action in transition.does:
                    self._writers.setdefault(action.counter, []).append(region.name)
        for mechanism in model.mechanism:
            for state in mechanism.states:
                for name, _ in state.reads:
                    self._writers.setdefault(name, []).append(mechanism.name)
        for output, owner in model.owner.items():
            self._writers.setdefault(output, []).append(owner)

    def add(self, part: str) -> None:
        if part not in self.parts:
            self.parts.add(part)
            self._open.append(part)

    def name(self, name: str) -> None:
        for writer in self._writers.get(name, ()):
            self.add(writer)

    def condition(self, condition: Condition | None) -> None:
        for atom in atoms(condition):
            match atom:
                case InState(region=region):
                    self.add(region)
                case (
                    Is(name=name)
                    | Becomes(name=name)
                    | HeldFor(name=name)
                    | Compare(name=name)
                    | Done(name=name)
                ):
                    self.name(name)

    def close(self) -> None:
        while self._open:
            part = self._open.pop()
            if part in self.model.region_index:
                for transition in self.model.region[part].transitions():
                    self.condition(transition.when)
            else:
                for movement in self.model.mechanisms[part].movements():
                    self.condition(movement.during)
