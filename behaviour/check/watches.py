"""The watches of each rule; any of them breaks it."""

from behaviour.check.sensing import ChangeResponse, SensedDuration, SensedResponse, left_side
from behaviour.check.watching import Duration, Simple
from behaviour.explore.guards import alternatives, atoms, count
from behaviour.model import AtMost, Becomes, Condition, Model, Never, Time, Whenever

Watching = Simple | Duration | SensedDuration | SensedResponse | ChangeResponse


def watches_of(model: Model, rule: Never | AtMost | Whenever) -> list[Watching] | None:
    """Give the watches of a rule, any of which breaks it; None if it cannot be watched yet."""
    match rule:
        case AtMost(condition=condition, limit=limit):
            return [Duration(condition, count(model, limit))]
        case Never(condition=condition, limit=None):
            return [Simple(condition, wrong=True)]
        case Never(condition=condition, limit=limit):
            return _never_for(model, condition, limit)
        case Whenever(trigger=trigger, response=response, limit=limit):
            return _whenever(model, trigger, response, count(model, limit))


def _whenever(
    model: Model, trigger: Condition, response: Condition, loops: int
) -> list[Watching] | None:
    """Watch a trigger whole; or each of its alternatives, where none of them is a sensed stretch.

    A stretch of one alternative may go on in another, so that they cannot be told apart.
    """
    if any(isinstance(a, Becomes) and a.name in model.output for a in atoms(trigger)):
        return None
    whole = left_side(model, trigger)
    if whole is not None and not whole.edges:
        return [SensedResponse(whole, response, loops)]
    ways = alternatives(trigger)
    found: list[Watching] = []
    for way in ways:
        left = left_side(model, way)
        if left is None or (len(ways) > 1 and left.sensed and not left.edges):
            return None
        found.append(
            ChangeResponse(left, response, loops)
            if left.edges
            else SensedResponse(left, response, loops)
        )
    return found


def _never_for(model: Model, condition: Condition, limit: Time | None) -> list[Watching] | None:
    if limit is None:
        return None
    loops = count(model, limit)
    left = left_side(model, condition)
    if left is None:
        return None
    if left.edges or not left.sensed:
        return [Duration(condition, loops)]
    return [SensedDuration(left, loops)]


def slowest_sensing(model: Model, rule: Never | Whenever) -> int:
    """Give the most loops of sensing that a rule's left side counts in."""
    condition = rule.trigger if isinstance(rule, Whenever) else rule.condition
    sides = [left_side(model, way) for way in alternatives(condition)]
    return max((side.slowest() for side in sides if side is not None), default=0)
