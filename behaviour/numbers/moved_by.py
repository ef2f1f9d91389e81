"""Which inputs an output moves, by way of the mechanism. It knows no number."""

from collections.abc import Iterator

from behaviour.model import And, Becomes, Condition, HeldFor, Input, Is, Model, Not, Or


def inputs_moved_by(model: Model, output: str) -> tuple[Input, ...]:
    """List the inputs that a mechanism forces which moves while the output does something."""
    forced = {
        name
        for mechanism in model.mechanism
        if any(output in set(named(each.during)) for each in mechanism.movements())
        for state in mechanism.states
        for name, _ in state.reads
    }
    return tuple(item for item in model.inputs if item.name in forced)


def named(condition: Condition | None) -> Iterator[str]:
    """List the inputs and outputs that a condition names."""
    match condition:
        case Is() | Becomes() | HeldFor():
            yield condition.name
        case Not(part=part):
            yield from named(part)
        case And(parts=parts) | Or(parts=parts):
            for each in parts:
                yield from named(each)
        case _:
            pass
