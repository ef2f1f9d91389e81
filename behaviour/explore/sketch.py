"""A prop drawn roughly: some regions as they are, the others anywhere at any time.

A region that is only looked at becomes an input that people turn at will, with a value for each of
its leaves. So the sketch can do all that the prop can, and more: what it never does, the prop never
does. What it does is no proof of anything.
"""

from collections.abc import Iterable
from dataclasses import replace

from behaviour.explore.guards import atoms
from behaviour.model import (
    And,
    Becomes,
    Compare,
    Condition,
    HeldFor,
    Input,
    InState,
    Is,
    Mechanism,
    MechanismState,
    Model,
    Not,
    Or,
    Region,
    State,
    Transition,
)


def sketch(model: Model, regions: Iterable[str], mechanisms: Iterable[str] = ()) -> Model | None:
    """Draw a model with only `regions` as they are, and what cannot be told without others.

    Mechanisms that are named are kept, with the regions that move them. None where that leaves
    nothing rough.
    """
    named = {name for each in mechanisms for name in _owners(model, model.mechanisms[each])}
    kept = _closed(model, {*regions, *named})
    rough = [region for region in model.regions if region.name not in kept]
    if not rough:
        return None
    mechanism = tuple(m for m in model.mechanism if _owners(model, m) <= kept)
    inputs = (*model.inputs, *(_as_input(region) for region in rough))
    turned = {region.name: region for region in rough}
    return replace(
        model,
        inputs=inputs,
        regions=tuple(_redrawn(region, turned) for region in model.regions if region.name in kept),
        mechanism=tuple(_moved(item, turned) for item in mechanism),
    )


def left_to_others(model: Model, rough: Model) -> frozenset[int]:
    """List by number the inputs of a sketch that neither people move nor anything in it.

    They stand for regions, or a mechanism that was left out moves them.
    """
    kept = {mechanism.name for mechanism in rough.mechanism}
    moved = {
        name
        for mechanism in model.mechanism
        if mechanism.name not in kept
        for state in mechanism.states
        for name, _ in state.reads
    }
    return frozenset(
        number
        for number, item in enumerate(rough.inputs)
        if item.name in moved or item.name not in model.input_index
    )


def _closed(model: Model, kept: set[str]) -> set[str]:
    """Add the regions whose counters are read, and those that move a mechanism together with them.

    A mechanism that only others move is left to people.
    """
    size = -1
    while size != len(kept):
        size = len(kept)
        counters = {
            atom.name
            for region in model.regions
            if region.name in kept
            for transition in region.transitions()
            for atom in atoms(transition.when)
            if isinstance(atom, Compare)
        }
        kept |= {
            region.name
            for region in model.regions
            for transition in region.transitions()
            if any(action.counter in counters for action in transition.does)
        }
        for mechanism in model.mechanism:
            owners = _owners(model, mechanism)
            if owners & kept:
                kept |= owners
    return kept


def _owners(model: Model, mechanism: Mechanism) -> set[str]:
    """Name the regions that a mechanism watches, by their outputs, counters or states."""
    found: set[str] = set()
    for movement in mechanism.movements():
        for atom in atoms(movement.during):
            match atom:
                case InState(region=name):
                    found |= {name} & model.region_index.keys()
                case Compare(name=name):
                    found |= {
                        region.name
                        for region in model.regions
                        for transition in region.transitions()
                        if any(action.counter == name for action in transition.does)
                    }
                case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
                    found |= {model.owner[name]} if name in model.owner else set()
    return found


def _as_input(region: Region) -> Input:
    leaves = [str(state.number) for state in region.states if not state.children]
    values = tuple(leaves) if len(leaves) > 1 else (*leaves, "elsewhere")
    return Input(name=_name(region), kind="switch", values=values, steady=(0,) * len(values))


def _name(region: Region) -> str:
    return f"in {region.name}"


def _redrawn(region: Region, rough: dict[str, Region]) -> Region:
    def ways(old: tuple[Transition, ...]) -> tuple[Transition, ...]:
        return tuple(replace(way, when=_condition(way.when, rough)) for way in old)

    def state(old: State) -> State:
        return replace(old, interlocks=ways(old.interlocks), leave=ways(old.leave))

    return replace(
        region,
        interlocks=ways(region.interlocks),
        states=tuple(state(each) for each in region.states),
    )


def _moved(mechanism: Mechanism, rough: dict[str, Region]) -> Mechanism:
    def state(old: MechanismState) -> MechanismState:
        movements = (replace(m, during=_condition(m.during, rough)) for m in old.movements)
        return replace(old, movements=tuple(movements))

    return replace(mechanism, states=tuple(state(each) for each in mechanism.states))


def _condition(condition: Condition | None, rough: dict[str, Region]) -> Condition | None:
    match condition:
        case And(parts=parts):
            return And(_conditions(parts, rough))
        case Or(parts=parts):
            return Or(_conditions(parts, rough))
        case Not(part=part):
            return Not(_conditions((part,), rough)[0])
        case InState(region=name, state=state, negated=negated) if name in rough:
            region = rough[name]
            inside = tuple(
                str(leaf.number)
                for leaf in region.states
                if not leaf.children and region.contains(state, leaf.number)
            )
            return Is(_name(region), inside, negated)
        case _:
            return condition


def _conditions(parts: tuple[Condition, ...], rough: dict[str, Region]) -> tuple[Condition, ...]:
    return tuple(part for old in parts if (part := _condition(old, rough)) is not None)
