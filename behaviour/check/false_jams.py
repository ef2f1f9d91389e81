"""Timeouts that can be up while a healthy movement is still on its way, or its news is."""

from collections.abc import Iterator

from behaviour.explore.guards import atoms
from behaviour.explore.situations import Mark, Moment, Situation
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Movement,
    Not,
    Or,
    Region,
    Transition,
)


def brought_inputs(model: Model, region: Region, taken: Transition) -> frozenset[str]:
    """Name the inputs that movements bring where a timeout could cut one off; none if it cannot.

    Those are what states wait for that may be active together with the one that the time is of.
    """
    if taken.after is None or taken.target is None or taken.source is None:
        return frozenset()
    return frozenset(
        name
        for state in region.states
        if region.contains(taken.source, state.number)
        or region.contains(state.number, taken.source)
        for waiting in state.leave
        if waiting is not taken and waiting.when is not None
        for name, values in wanted_values(model, waiting.when)
        if any(_bringing(model, region.name, name, values))
    )


def false_jams(at: int, taken: Transition, moment: Moment, to: Situation) -> Iterator[Mark]:
    """Mark a timeout that cuts off a movement under way, or one whose news is not in yet."""
    if moment.before is None:
        return
    model = moment.model
    region = model.regions[at]
    for number in region.path(moment.before.places[at].leaf):
        for waiting in region.states[number].leave:
            if waiting is taken or waiting.when is None:
                continue
            for name, values in wanted_values(model, waiting.when):
                if _is_brought(model, region.name, name, values, moment, to):
                    yield Mark(("false-jam", region.name, taken.number))
                    return


def wanted_values(
    model: Model, condition: Condition, *, negated: bool = False
) -> Iterator[tuple[str, frozenset[str]]]:
    """List each input that a condition waits for, with the values that would do."""
    match condition:
        case And(parts=parts) | Or(parts=parts):
            for part in parts:
                yield from wanted_values(model, part, negated=negated)
        case Not(part=part):
            yield from wanted_values(model, part, negated=not negated)
        case Is(name=name, values=values) if name in model.input_index:
            chosen = frozenset(values)
            turned = condition.negated != negated
            yield name, frozenset(model.input[name].values) - chosen if turned else chosen
        case Becomes(name=name, value=value) | HeldFor(name=name, value=value):
            every = frozenset(model.input[name].values)
            yield name, every - {value} if negated else frozenset((value,))
        case _:
            pass


def _is_brought(
    model: Model, region: str, name: str, values: frozenset[str], moment: Moment, to: Situation
) -> bool:
    number = model.input_index[name]
    before = None if moment.before is None else moment.before.readings[number]
    if before is None or before.steady in values:
        return False
    for at, movement in _bringing(model, region, name, values):
        seen, standing = moment.told.look(number), to.standings[at]
        if seen is None:
            return False
        if standing.state == movement.source and _is_under_way(model, at, movement, moment):
            return True
        if standing.state == movement.target and (seen.value not in values or seen.became):
            return True
    return False


def _bringing(
    model: Model, region: str, name: str, values: frozenset[str]
) -> Iterator[tuple[int, Movement]]:
    """List the movements that a region makes and that bring an input to one of some values."""
    for at, mechanism in enumerate(model.mechanism):
        for movement in mechanism.movements():
            brings = dict(mechanism.states[movement.target].reads).get(name)
            if brings in values and _is_owned(model, region, movement):
                yield at, movement


def _is_owned(model: Model, region: str, movement: Movement) -> bool:
    return any(
        isinstance(atom, Is) and model.owner.get(atom.name) == region
        for atom in atoms(movement.during)
    )


def _is_under_way(model: Model, at: int, movement: Movement, moment: Moment) -> bool:
    if moment.before is None or moment.motions[at].ended:
        return False
    movements = model.mechanism[at].states[movement.source].movements
    return moment.before.standings[at].phases[movements.index(movement)].is_running
