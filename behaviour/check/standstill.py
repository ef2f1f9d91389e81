"""What goes on while all inputs are held, as far as the file itself says; it searches nothing.

Whoever goes round for ever takes ways whose conditions can all hold with the inputs, and the
regions that have come to rest, as they are.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from behaviour.explore.graphs import strongly_connected
from behaviour.explore.guards import atoms
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
    Region,
    Role,
)
from behaviour.semantics import is_open

Resting = Mapping[str, frozenset[int]]
"""The leaves in which regions may be, by name."""

MOST_SPLITS = 200
"""In no more cases are the inputs and regions told apart that a round asks for."""


def holds_for_long(
    model: Model,
    condition: Condition,
    held: Mapping[str, str],
    resting: Resting,
    *,
    turning: bool = False,
) -> bool | None:
    """Tell whether a condition holds where inputs have long been held.

    Each region that is `resting` is in one of some leaves. With `turning` people may turn the
    inputs that are not `held` at something known. None where it may hold or not.
    """
    match condition:
        case And(parts=parts) | Or(parts=parts):
            every = [holds_for_long(model, part, held, resting, turning=turning) for part in parts]
            settles = isinstance(condition, Or)
            return settles if settles in every else None if None in every else not settles
        case Not(part=part):
            holds = holds_for_long(model, part, held, resting, turning=turning)
            return None if holds is None else not holds
        case Becomes(name=name) if name in model.input and name not in model.moved:
            return None if turning and name not in held else False
        case Is(name=name, values=values, negated=negated) if _is_held(model, name, held):
            return (held[name] in values) != negated
        case HeldFor(name=name, value=value) if _is_held(model, name, held):
            return held[name] == value
        case InState(region=name, state=state, negated=negated) if name in resting:
            inside = {model.region[name].contains(state, leaf) for leaf in resting[name]}
            return inside.pop() != negated if len(inside) == 1 else None
        case _:
            return None


def _is_held(model: Model, name: str, held: Mapping[str, str]) -> bool:
    return name in held and name in model.input and name not in model.moved


class Step(NamedTuple):
    """A transition from one leaf to another."""

    leaf: int
    to: int
    when: Condition | None


def steps_from(region: Region, leaves: Iterable[int]) -> list[Step]:
    """List the transitions of a region out of some leaves that lead to a state."""
    return [
        Step(leaf, region.leaf(way.target), way.when)
        for leaf in leaves
        for way in region.transitions()
        if isinstance(way.target, int)
        and (way.source is None or way.source in region.path(leaf))
        and is_open(region, leaf, way)
    ]


def come_to(model: Model) -> Resting:
    """Give the leaves that each region may come to with nobody doing a thing since power-up.

    Only a guard or stop may become something then: what it was presumed not to be.
    """
    found = {region.name: frozenset({region.leaf(region.begins)}) for region in model.regions}
    before: Resting = {}
    while found != before:
        before = found
        found = {
            name: leaves.union(
                step.to
                for step in steps_from(model.region[name], leaves)
                if _may_come(model, step.when, before)
            )
            for name, leaves in before.items()
        }
    return found


def _may_come(model: Model, condition: Condition | None, before: Resting) -> bool:
    if condition is None or holds_for_long(model, condition, {}, before) is not False:
        return True
    return any(
        isinstance(atom, Becomes) and atom.name in model.input and model.input[atom.name].presumed
        for atom in atoms(condition)
    )


# --- Rounds -------------------------------------------------------------------------------------


def going_round(
    model: Model, region: Region, leaves: Iterable[int] | None = None, resting: Collection[str] = ()
) -> frozenset[int]:
    """Give the leaves, of these or all, among which a region may go round by itself.

    The regions that are `resting` stay where they are by then, wherever that is.
    """
    every = [state.number for state in region.states if not state.children]
    rounds = _Rounds(model, frozenset(resting) - {region.name})
    steps = steps_from(region, every if leaves is None else leaves)
    return frozenset().union(*rounds.among(steps, {}, {}))


@dataclass(eq=False)
class _Rounds:
    model: Model
    resting: frozenset[str]
    _left: int = field(default=MOST_SPLITS, init=False)

    def among(
        self, steps: list[Step], held: dict[str, str], resting: Resting
    ) -> Iterator[set[int]]:
        """List groups of leaves that lead round, whatever stays as it is told apart."""
        could = [
            step
            for step in steps
            if step.when is None
            or holds_for_long(self.model, step.when, held, resting) is not False
        ]
        onward: dict[int, list[int]] = {step.leaf: [] for step in could}
        for step in could:
            onward[step.leaf].append(step.to)
        for group in strongly_connected(onward):
            inside = [step for step in could if step.leaf in group and step.to in group]
            if inside:
                yield from self._apart(group, inside, held, resting)

    def _apart(
        self, group: set[int], steps: list[Step], held: dict[str, str], resting: Resting
    ) -> Iterator[set[int]]:
        conditions = [atom for step in steps for atom in atoms(step.when)]
        for atom in conditions if self._left > 0 else ():
            match atom:
                case Is(name=name) | HeldFor(name=name) if self._stays(name) and name not in held:
                    for value in self._values(name):
                        yield from self.among(steps, {**held, name: value}, resting)
                    return
                case InState(region=name) if name in self.resting and name not in resting:
                    for state in self.model.region[name].states:
                        if not state.children:
                            yield from self.among(
                                steps, held, {**resting, name: frozenset({state.number})}
                            )
                    return
                case _:
                    pass
        yield group

    def _stays(self, name: str) -> bool:
        return name in self.model.input and name not in self.model.moved

    def _values(self, name: str) -> Iterator[str]:
        item = self.model.input[name]
        for value in item.values[:1] if item.role is Role.HOLD_TO_RUN else item.values:
            self._left -= 1
            yield value
