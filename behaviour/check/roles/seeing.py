"""What a role check sees of one loop: what is pressed, what is safe, and which hazard moves.

All of it is what the controller was told, but where a function says that it is what truly is.
"""

from behaviour.explore.guards import Seen
from behaviour.explore.situations import Moment
from behaviour.model import Becomes, Condition, Input, Is, Model, Or, Output, Part, Role


def with_role(model: Model, *roles: Role) -> tuple[tuple[int, Input], ...]:
    """List the inputs of some roles with their numbers."""
    return tuple((n, item) for n, item in enumerate(model.inputs) if item.role in roles)


def hazards(model: Model) -> tuple[tuple[int, Output], ...]:
    """List the hazards that some region drives, with their numbers."""
    return tuple((n, output) for n, output in every_hazard(model) if output.name in model.owner)


def every_hazard(model: Model) -> tuple[tuple[int, Output], ...]:
    """List all hazards, with their numbers: one that nothing drives may still be welded."""
    return tuple((n, output) for n, output in enumerate(model.outputs) if output.hazard)


def asking_for(*items: Input) -> tuple[Is, ...]:
    """Give conditions that ask for inputs, so that a search keeps what they read."""
    return tuple(Is(item.name, item.values) for item in items)


def look(moment: Moment, number: int) -> Seen:
    """Give what the controller was told of an input that is asked for. Raises Undecided."""
    return _asked_for(moment.told.look(number))


def truly(moment: Moment, number: int) -> Seen:
    """Give what an input that is asked for truly is. Raises Undecided."""
    return _asked_for(moment.left.look(number))


def _asked_for(seen: Seen | None) -> Seen:
    if seen is None:
        raise AssertionError("a role check looks at an input that it did not ask for")
    return seen


def is_active(item: Input, value: str) -> bool:
    """Tell whether a stop is hit, a guard not safe, or anything else pressed or turned."""
    return value != _idle(item)


def _idle(item: Input) -> str:
    return item.values[0] if item.safe is None else item.safe


def active(item: Input) -> Is:
    """Say of an input what `is_active` tells of a value."""
    return Is(item.name, (_idle(item),), negated=True)


def pressed(item: Input) -> Or:
    """Say that an input becomes active in this very loop."""
    return Or(tuple(Becomes(item.name, v) for v in item.values if is_active(item, v)))


def counts(moment: Moment, condition: Condition) -> bool:
    """Tell whether something counts as active: as the controller was told, or as it truly is.

    With nothing wrong all that is truly so is told. With a line at fault it need not be, and no
    answer may rest on what the controller was told then. Raises Undecided.
    """
    return bool(moment.told.judge(condition)) or bool(moment.left.judge(condition))


def is_away(moment: Moment, at: int, output: Output) -> bool:
    """Tell whether a hazard is away from rest as the loop leaves it."""
    return moment.now.outputs[at] != output.rest


def was_away(moment: Moment, at: int, output: Output) -> bool:
    """Tell whether a hazard was away from rest as the loop found it; at power-up it was not."""
    return moment.before is not None and moment.now.outputs_before[at] != output.rest


def leaves_rest(moment: Moment, at: int, output: Output) -> bool:
    return is_away(moment, at, output) and not was_away(moment, at, output)


def is_stopped_by_interlock(moment: Moment, at: int, output: Output, owner: str) -> bool:
    """Tell whether an interlock of its region brings a hazard to rest in this loop."""
    region = moment.model.region_index.get(owner)
    way = None if region is None else moment.ways[region]
    return (
        was_away(moment, at, output)
        and not is_away(moment, at, output)
        and way is not None
        and way.transition is not None
        and way.transition.part is Part.INTERLOCK
    )
