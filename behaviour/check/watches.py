"""The watches of each rule; any of them breaks it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.check.left_side import Left, left_side
from behaviour.check.ordering import HAS_COME, Frequency, Order, Shortest, Tally
from behaviour.check.recalling import recalling
from behaviour.check.scoping import OUTSIDE, Scoped
from behaviour.check.sensing import ChangeResponse, SensedDuration, SensedResponse
from behaviour.check.watching import Duration, Simple
from behaviour.explore.guards import Limit, alternatives, atoms, count
from behaviour.explore.situations import Moment, Next, Watch
from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Becomes,
    Condition,
    Count,
    First,
    HeldFor,
    Is,
    Model,
    Never,
    Rate,
    Rule,
    Scope,
    ScopeKind,
    Time,
    WayBack,
    Whenever,
)
from behaviour.semantics import filter_loops


def watches_of(model: Model, rule: Rule) -> list[Watch] | None:
    """Give the watches of a rule, any of which breaks it; None if it cannot be watched."""
    inner = _unscoped(model, rule)
    if inner is None:
        return None
    watches = [in_scope(watch, rule.scope) for watch in inner]
    match rule.requirement:
        case Whenever(trigger=trigger):
            return [recalling(model, watch, trigger) for watch in watches]
        case _:
            return watches


def unsensed(model: Model, rule: Rule, shorter: int) -> list[Watch]:
    """Give the watches of a rule that counts no sensing in, and whose time is so much shorter.

    Sensing only makes a stretch longer, and by no more than `longest_sensing`: what breaks the rule
    as it is breaks it with its sensing, and what keeps it so much shorter keeps it.
    """
    match rule.requirement:
        case Never(condition=condition, limit=limit) if limit is not None:
            return [in_scope(Duration(condition, count(model, limit) - shorter), rule.scope)]
        case Whenever(trigger=trigger, response=response, limit=limit) if limit is not None:
            whole = Left(rest=trigger, sensed=(), edges=())
            watch = SensedResponse(whole, response, count(model, limit) - shorter)
            return [recalling(model, in_scope(watch, rule.scope), trigger)]
        case _:
            return []


def longest_sensing(model: Model, condition: Condition) -> int:
    """Give the most loops of sensing that any input of a condition can count in."""
    named = {atom.name for atom in atoms(condition) if isinstance(atom, Is | Becomes | HeldFor)}
    return max(
        (
            filter_loops(model, item, value) + 1
            for item in model.inputs
            if item.name in named
            for value in item.values
        ),
        default=0,
    )


def in_scope(watch: Watch, scope: Scope | None) -> Watch:
    """Let a watch look on within a scope only, if there is one."""
    return watch if scope is None else Scoped(watch, scope)


@dataclass(frozen=True, slots=True)
class Unsettled:
    """Lets `inner` look on for as long as it can be broken, and until it is `over`.

    No loop leads there, so a search for a breach goes no further. It is not for a controller that
    starts again: then a rule may begin anew, and is never over.
    """

    inner: Watch
    over: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self._open(self.inner.begin(number, moment))

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        return self._open(self.inner.go_on(number, place, moment))

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return self.inner.limits(place)

    def _open(self, nexts: Iterable[Next]) -> Iterator[Next]:
        return (each for each in nexts if each.place != self.over)


def unsettled(watch: Watch) -> Watch:
    """Leave out of a watch what comes once nothing can break it any more, if that comes at all."""
    match watch:
        case Scoped(scope=Scope(kind=ScopeKind.UP_TO)):
            return Unsettled(watch, OUTSIDE)
        case Order(since=None):
            return Unsettled(watch, HAS_COME)
        case _:
            return watch


def _unscoped(model: Model, rule: Rule) -> list[Watch] | None:
    match rule.requirement:
        case Always(condition=condition):
            return [Simple(condition, wrong=False)]
        case AtMost(condition=condition, limit=limit):
            return [Duration(condition, count(model, limit))]
        case AtLeast(condition=condition, limit=limit):
            return [Shortest(condition, count(model, limit))]
        case Never(condition=condition, limit=None):
            return [Simple(condition, wrong=True)]
        case Never(condition=condition, limit=limit):
            return _never_for(model, condition, limit)
        case Whenever(trigger=trigger, response=response, limit=limit) if limit is not None:
            return _whenever(model, trigger, response, count(model, limit))
        case First(condition=condition, before=before, since=since):
            return [Order(condition, before, since)]
        case Count(condition=condition, most=most, since=since):
            return [Tally(condition, most, since)]
        case Rate(condition=condition, most=most, limit=limit):
            return [Frequency(condition, most, count(model, limit))]
        case Whenever() | WayBack():
            return None


def _whenever(
    model: Model, trigger: Condition, response: Condition, loops: int
) -> list[Watch] | None:
    """Watch a trigger whole; or each of its alternatives, where none of them is a sensed stretch.

    A stretch of one alternative may go on in another, so that they cannot be told apart.
    """
    whole = left_side(model, trigger)
    if whole is not None and not whole.edges:
        return [SensedResponse(whole, response, loops)]
    ways = alternatives(trigger)
    found: list[Watch] = []
    for way in ways:
        left = left_side(model, way)
        if left is None or (len(ways) > 1 and left.sensed and not left.edges):
            return None
        found.append(
            ChangeResponse(left, response, loops - left.slowest_edge())
            if left.edges
            else SensedResponse(left, response, loops)
        )
    return found


def _never_for(model: Model, condition: Condition, limit: Time | None) -> list[Watch] | None:
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
