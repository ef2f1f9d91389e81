"""What is known of people and their inputs, and what the controller is told of them how late."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from behaviour.explore.guards import count
from behaviour.explore.places import Way
from behaviour.model import (
    And,
    Becomes,
    Condition,
    Done,
    HeldFor,
    Is,
    Model,
    Not,
    Or,
)
from behaviour.semantics import filter_loops

Names = frozenset[str]


@dataclass(frozen=True, slots=True)
class Stop:
    """What the inputs that an interlock names are told as it stops a hazard.

    Those in `changed` changed in that very loop.
    """

    told: Mapping[str, str]
    changed: Names


@dataclass(frozen=True, slots=True)
class Since:
    """What tells how long ago an interlock stopped a hazard.

    `stops` are the ways in which it may have; from `fresh` on downwards the states of region number
    `region` were entered then or later.
    """

    model: Model
    stops: tuple[Stop, ...]
    region: int
    fresh: int

    def lasts(self, number: int, way: Way) -> int:
        """Give a number of loops before which region number `number` cannot take a way."""
        parts = way.when.parts if isinstance(way.when, And) else (way.when,)
        told = min(
            (max(self._lasts(part, stop) for part in parts) for stop in self.stops), default=0
        )
        match way.clock:
            case ("region", _, depth) if number == self.region and depth >= self.fresh:
                return max(told, way.early)
            case _:
                return told

    def _lasts(self, part: Condition | None, stop: Stop) -> int:
        """Give a number of loops before which a condition cannot hold after the stop."""
        match part:
            case HeldFor(name=name, value=value, time=time) if stop.told.get(name, value) != value:
                return count(self.model, time)
            case Is(name=name) if name in stop.changed:
                item = self.model.input[name]
                fits = [v for v in item.values if (v in part.values) != part.negated]
                if stop.told[name] not in fits:
                    return min((filter_loops(self.model, item, v) for v in fits), default=0) + 1
            case _:
                pass
        return 0


@dataclass(frozen=True, slots=True)
class Hands:
    """What is known of people: what inputs `read`, and which of them do not change (`quiet`)."""

    read: Mapping[str, str]
    quiet: Names = frozenset()
    let_go: Mapping[str, str] = field(default_factory=dict)
    """Inputs that change to no other value than this."""
    done: Mapping[str, bool] = field(default_factory=dict)
    """Of motors that are known to have ended their move, or not to have."""
    since: Since | None = None
    became: Names = frozenset()
    """Inputs that have come to what they read in this very loop."""

    def judge(self, condition: Condition | None) -> bool | None:
        """Tell whether a condition surely holds, surely fails, or (None) may do either."""
        match condition:
            case None:
                return True
            case And(parts=parts):
                return every([self.judge(part) for part in parts])
            case Or(parts=parts):
                return inverse(every([inverse(self.judge(part)) for part in parts]))
            case Not(part=part):
                return inverse(self.judge(part))
            case Is(name=name, values=values, negated=negated) if name in self.read:
                return (self.read[name] in values) != negated
            case Done(name=name, negated=negated):
                known = self.done.get(name)
                return known if known is None else known != negated
            case Becomes(name=name, value=value):
                return self._comes(name, value)
            case HeldFor(name=name, value=value):
                return False if self.read.get(name, value) != value else None
            case _:
                return None

    def _comes(self, name: str, value: str) -> bool | None:
        """Tell whether an input becomes a value."""
        if name in self.quiet or self.let_go.get(name, value) != value:
            return False
        if self.read.get(name, value) != value:
            return False
        return True if name in self.became else None


def every(found: Iterable[bool | None]) -> bool | None:
    several = list(found)
    if False in several:
        return False
    return None if None in several else True


def longest_filter(model: Model, name: str) -> int:
    """Count the loops within which whatever people do with an input is told the controller."""
    item = model.input[name]
    return max(filter_loops(model, item, value) for value in item.values)


def inverse(found: bool | None) -> bool | None:  # noqa: FBT001
    return None if found is None else not found
