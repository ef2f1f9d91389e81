"""What a condition means over all values of the things that it names."""

from collections.abc import Iterator
from itertools import product

from behaviour.model import (
    And,
    Atom,
    Becomes,
    Compare,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
)
from behaviour.semantics import InputState, Look


def atoms_of(condition: Condition | None, negated: bool = False) -> Iterator[tuple[Atom, bool]]:
    """List the single conditions, each with whether it stands under an odd number of `not`s."""
    match condition:
        case None:
            return
        case And(parts=parts) | Or(parts=parts):
            for part in parts:
                yield from atoms_of(part, negated)
        case Not(part=part):
            yield from atoms_of(part, not negated)
        case _:
            yield condition, negated


def inputs_of(model: Model, condition: Condition | None) -> frozenset[str]:
    return frozenset(
        atom.name
        for atom, _ in atoms_of(condition)
        if isinstance(atom, Is | Becomes | HeldFor) and atom.name in model.input
    )


def outputs_of(model: Model, condition: Condition | None) -> frozenset[str]:
    return frozenset(
        atom.name
        for atom, _ in atoms_of(condition)
        if isinstance(atom, Is | Becomes) and atom.name in model.output
    )


def implies(model: Model, first: Condition | None, second: Condition | None) -> bool:
    """Tell whether the second holds wherever the first does. Both are a region's own conditions.

    An input's value became in this loop or has lasted for at least one, up to the longest `for`.
    """
    named = list(atoms_of(first)) + list(atoms_of(second))
    return all(look.holds(second) for look in _all_looks(model, named) if look.holds(first))


def _all_looks(model: Model, named: list[tuple[Atom, bool]]) -> Iterator[Look]:
    atoms = [atom for atom, _ in named]
    used = {atom.name for atom in atoms if not isinstance(atom, InState)}
    seen = {atom.region for atom in atoms if isinstance(atom, InState)}
    longest = max(
        (
            model.loops_up(atom.time)
            for atom in atoms
            if isinstance(atom, HeldFor) and isinstance(atom.time, int)
        ),
        default=0,
    )
    compares = any(isinstance(atom, Compare) for atom in atoms)
    inputs = [
        [
            InputState(value, value, 0, since, became=since == 0)
            for value in item.values
            for since in range(max(longest, 1) + 1)
        ]
        if item.name in used
        else [InputState(item.values[0], item.values[0], 0, 1, became=False)]
        for item in model.inputs
    ]
    counters = [
        range(each.low, each.high + 1) if compares and each.name in used else [each.begins]
        for each in model.counters
    ]
    leaves = [
        [state.number for state in each.states if not state.children]
        if each.name in seen
        else [each.leaf(each.begins)]
        for each in model.regions
    ]
    motors = sorted({atom.name for atom in atoms if isinstance(atom, Done)})
    ended = product(*(((), (name,)) for name in motors))
    done = [tuple(name for each in names for name in each) for names in ended]
    for chosen in product(product(*inputs), product(*counters), product(*leaves)):
        for each in done:
            yield Look(model, *chosen, done=each)
