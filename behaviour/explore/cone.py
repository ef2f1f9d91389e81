"""The part of a prop that a question can depend on; the rest is left out of its search.

A region counts if it can be asked for, or moves what is asked for: outputs, counters, mechanisms
through the outputs they watch, inputs through the mechanisms that force them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
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
    return _cut(model, frozenset(wanted.parts))


def _cut(model: Model, parts: frozenset[str]) -> Cone:
    """Keep some regions and mechanisms of a model; what is kept of it is one model for all."""
    key = ("cone", parts)
    known: Cone | None = model.worked_out.get(key)
    if known is None:
        kept = tuple(region for region in model.regions if region.name in parts)
        left_out = tuple(region.name for region in model.regions if region.name not in parts)
        mechanism = tuple(item for item in model.mechanism if item.name in parts)
        is_whole = not left_out and len(mechanism) == len(model.mechanism)
        part = model if is_whole else replace(model, regions=kept, mechanism=mechanism)
        known = model.worked_out[key] = Cone(part, left_out)
    return known


class _Wanted:
    """Collects the regions and mechanisms that are asked for, and what they ask for in turn."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.parts: set[str] = set()
        self._open: list[str] = []
        self._writers = _writers(model)

    def add(self, part: str) -> None:
        if part not in self.parts:
            self.parts.add(part)
            self._open.append(part)

    def name(self, name: str) -> None:
        for writer in self._writers.get(name, ()):
            self.add(writer)

    def condition(self, condition: Condition | None) -> None:
        for part in _asked(self._writers, condition):
            self.add(part)

    def close(self) -> None:
        looks = _looks(self.model)
        while self._open:
            for part in looks[self._open.pop()]:
                self.add(part)


def _looks(model: Model) -> dict[str, frozenset[str]]:
    """Name for each region and mechanism those that it asks for, listed once a model."""
    key = ("cone", "looks")
    known: dict[str, frozenset[str]] | None = model.worked_out.get(key)
    if known is None:
        writers = _writers(model)
        conditions = {r.name: [way.when for way in r.transitions()] for r in model.regions}
        conditions |= {m.name: [each.during for each in m.movements()] for m in model.mechanism}
        known = model.worked_out[key] = {
            name: frozenset(part for each in asked for part in _asked(writers, each))
            for name, asked in conditions.items()
        }
    return known


def _writers(model: Model) -> dict[str, list[str]]:
    """Name for each counter, input and output the regions and mechanisms that move it."""
    key = ("cone", "writers")
    known: dict[str, list[str]] | None = model.worked_out.get(key)
    if known is None:
        known = model.worked_out[key] = {}
        for region in model.regions:
            for transition in region.transitions():
                for action in transition.does:
                    known.setdefault(action.counter, []).append(region.name)
        for mechanism in model.mechanism:
            for state in mechanism.states:
                for name, _ in state.reads:
                    known.setdefault(name, []).append(mechanism.name)
        for output, owner in model.owner.items():
            known.setdefault(output, []).append(owner)
    return known


def _asked(writers: Mapping[str, Sequence[str]], condition: Condition | None) -> Iterator[str]:
    """Name the regions and mechanisms that a condition can depend on."""
    for atom in atoms(condition):
        match atom:
            case InState(region=region):
                yield region
            case (
                Is(name=name)
                | Becomes(name=name)
                | HeldFor(name=name)
                | Compare(name=name)
                | Done(name=name)
            ):
                yield from writers.get(name, ())
