"""Conditions as the search sees them: what is known now, and which clocks must have come how far.

A condition either fails, holds, or holds from some reading of some clocks on. That is kept as
alternatives, each a tuple of lower bounds that must all be met. `for DURATION` is the only part of
a condition that asks a clock, and it never stands under `not`, so nothing else is needed.
"""

from dataclasses import dataclass
from typing import assert_never

from behaviour.model import (
    And,
    Atom,
    Becomes,
    Compare,
    Condition,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
    Time,
    Unknown,
)
from behaviour.semantics import NotKnownError, compare

Clock = tuple[str, int, int]
"""A clock's family and place: ("region", region, depth), ("movement", mechanism, which),
("filter" | "since" | "truly", input, 0) and ("watch", monitor, which)."""

Lows = tuple[tuple[Clock, int], ...]
"""Clocks and the loops that each must have counted at the least."""

Guard = tuple[Lows, ...]
"""Alternatives; none at all is a condition that fails."""

HOLDS: Guard = ((),)
FAILS: Guard = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """One input as a condition sees it; `since` is the clock of its change, None at its change.

    With `settled` it has had its value for longer than anybody asks; with `is_loose` nobody has
    kept what it was before, so that it may have changed in this very loop.
    """

    value: str
    became: bool = False
    since: Clock | None = None
    settled: bool = False
    is_loose: bool = False


@dataclass(frozen=True, slots=True)
class Sight:
    """What conditions are judged on, in the order of the model's parts."""

    model: Model
    inputs: tuple[Seen | None, ...]
    counters: tuple[int, ...]
    leaves: tuple[int, ...]
    outputs: tuple[str, ...] = ()
    outputs_before: tuple[str, ...] = ()
    mechanism: tuple[int, ...] = ()

    def judge(self, condition: Condition | None) -> Guard:
        """Give the guard under which a condition holds; none at all always does."""
        match condition:
            case None:
                return HOLDS
            case And(parts=parts):
                return self._all(parts)
            case Or(parts=parts):
                return self._any(parts)
            case Not(part=part):
                return FAILS if self.judge(part) else HOLDS
            case Is(name=name, values=values, negated=negated):
                return _flat((self._value(name) in values) != negated)
            case Becomes():
                return _flat(self._becomes(condition))
            case HeldFor():
                return self._held(condition)
            case Compare(name=name, sign=sign, number=number):
                counter = self.counters[self.model.counter_index[name]]
                return _flat(compare(counter, sign, number))
            case InState(region=region, state=state, negated=negated):
                return _flat(self._is_in(region, state) != negated)
            case _:
                assert_never(condition)

    def _all(self, parts: tuple[Condition, ...]) -> Guard:
        found = HOLDS
        for part in parts:
            more = self.judge(part)
            if more == FAILS:
                return FAILS
            if more != HOLDS:
                found = tuple(strongest(a + b) for a in found for b in more)
        return found

    def _any(self, parts: tuple[Condition, ...]) -> Guard:
        found: Guard = ()
        for part in parts:
            found += self.judge(part)
            if () in found:
                return HOLDS
        return found

    def seen(self, name: str) -> Seen:
        now = self.inputs[self.model.input_index[name]]
        if now is None:
            raise AssertionError(f"`{name}` was thought to be read by nobody")
        return now

    def _value(self, name: str) -> str:
        if name in self.model.input_index:
            return self.seen(name).value
        return self.outputs[self.model.output_index[name]]

    def _becomes(self, condition: Becomes) -> bool:
        if condition.name in self.model.input_index:
            now = self.seen(condition.name)
            return now.became and now.value == condition.value
        at = self.model.output_index[condition.name]
        return self.outputs[at] == condition.value != self.outputs_before[at]

    def _held(self, condition: HeldFor) -> Guard:
        now = self.seen(condition.name)
        if now.value != condition.value:
            return FAILS
        loops = count(self.model, condition.time)
        if now.settled or loops == 0:
            return HOLDS
        if now.since is None:
            return FAILS
        return (((now.since, loops),),) if loops > 1 or now.is_loose else HOLDS

    def _is_in(self, name: str, state: int) -> bool:
        if name in self.model.region_index:
            at = self.model.region_index[name]
            return self.model.regions[at].contains(state, self.leaves[at])
        return self.mechanism[self.model.mechanism_index[name]] == state


def strongest(lows: Lows) -> Lows:
    """Keep the highest bound of each clock, in a fixed order."""
    best: dict[Clock, int] = {}
    for clock, least in lows:
        best[clock] = max(best.get(clock, 0), least)
    return tuple(sorted(best.items()))


def count(model: Model, time: Time) -> int:
    """Count a time in loops, rounded up. Raises NotKnownError for an `unknown`."""
    if isinstance(time, Unknown):
        raise NotKnownError(time)
    return model.loops_up(time)


def atoms(condition: Condition | None) -> tuple[Atom, ...]:
    """List the atoms of a condition in the order written."""
    match condition:
        case None:
            return ()
        case And(parts=parts) | Or(parts=parts):
            return tuple(atom for part in parts for atom in atoms(part))
        case Not(part=part):
            return atoms(part)
        case _:
            return (condition,)


def _flat(holds: bool) -> Guard:  # noqa: FBT001
    return HOLDS if holds else FAILS
