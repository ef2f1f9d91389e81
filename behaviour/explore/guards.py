"""Conditions as the search sees them: what is known now, and which clocks must have come how far.

A condition either fails, holds, or holds from some reading of some clocks on. That is kept as
alternatives, each a tuple of lower bounds that must all be met. `for DURATION` is the only part of
a condition that asks a clock, and it never stands under `not`, so nothing else is needed.
"""

from collections.abc import Iterable
from itertools import chain, product
from typing import NamedTuple

from behaviour.model import (
    And,
    Atom,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Not,
    Or,
    Time,
    Unknown,
)
from behaviour.semantics import NotKnownError

Clock = tuple[str, int, int]
"""A clock's family and place: ("region", region, depth), ("movement", mechanism, which),
("filter" | "since" | "truly", input, 0) and ("watch", monitor, which)."""

Lows = tuple[tuple[Clock, int], ...]
"""Clocks and the loops that each must have counted at the least."""


def looked_at_with(clock: Clock) -> Clock:
    """Name the clock by which it is known whether a search tracks a clock: its own, or another's.

    The movements of a mechanism, and the clocks of a watch, take turns: where one of them must be
    looked at the others mostly must be soon after, and few of them count at a time.
    """
    family, number, _ = clock
    return (family, number, 0) if family in ("movement", "watch") else clock


def is_read(clock: Clock) -> bool:
    """Tell whether a clock is one of an input."""
    return clock[0] not in ("region", "movement", "watch")


class Limit(NamedTuple):
    """The most that a clock is asked to have counted at the least, and at the most.

    Nobody asks below 0. Beyond both, all values of the clock are alike.
    """

    low: int = -1
    high: int = -1

    def joined(self, other: "Limit") -> "Limit":
        """Give what two that ask come to together."""
        return Limit(max(self.low, other.low), max(self.high, other.high))

    @property
    def most(self) -> int:
        return max(self.low, self.high)

    @property
    def counts(self) -> bool:
        """Tell whether anything depends on the clock: each has counted at least 1 in any loop."""
        return self.low > 1 or self.high > 0


Guard = tuple[Lows, ...]
"""Alternatives; none at all is a condition that fails."""

HOLDS: Guard = ((),)
FAILS: Guard = ()


class Seen(NamedTuple):
    """One input as a condition sees it; `since` is the clock of its change, None at its change.

    With `settled` it has had its value for longer than anybody asks; with `is_loose` nobody has
    kept what it was before, so that it may have changed in this very loop.
    """

    value: str
    became: bool = False
    since: Clock | None = None
    settled: bool = False
    is_loose: bool = False


def input_guard(model: Model, atom: Is | Becomes | HeldFor, now: Seen) -> Guard:
    """Give the guard of a part of a condition that asks one input, as it sees that input."""
    match atom:
        case Is(values=values, negated=negated):
            return flat((now.value in values) != negated)
        case Becomes(value=value):
            return flat(now.became and now.value == value)
        case HeldFor(value=value, time=time):
            return _held(now, value, count(model, time))


def _held(now: Seen, value: str, loops: int) -> Guard:
    if now.value != value:
        return FAILS
    if now.settled or loops == 0:
        return HOLDS
    if now.since is None:
        return FAILS
    return (((now.since, loops),),) if loops > 1 or now.is_loose else HOLDS


def gathered(limits: Iterable[tuple[Clock, Limit]]) -> dict[Clock, Limit]:
    """Put together what is asked of each clock, in a fixed order."""
    found: dict[Clock, Limit] = {}
    for clock, limit in limits:
        known = found.get(clock)
        found[clock] = limit if known is None else known.joined(limit)
    return dict(sorted(found.items())) if len(found) > 1 else found


def strongest(lows: Lows) -> Lows:
    """Keep the highest bound of each clock, in a fixed order: the last of them, sorted, stays."""
    return tuple(dict(sorted(lows)).items())


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
            return tuple(chain.from_iterable(map(atoms, parts)))
        case Not(part=part):
            return atoms(part)
        case _:
            return (condition,)


def alternatives(condition: Condition) -> list[Condition]:
    """Write a condition as alternatives without `or` at the top, distributing `and` over it."""
    match condition:
        case Or(parts=parts):
            return [way for part in parts for way in alternatives(part)]
        case And(parts=parts):
            return [And(way) for way in product(*(alternatives(part) for part in parts))]
        case _:
            return [condition]


def flat(holds: bool) -> Guard:  # noqa: FBT001
    return HOLDS if holds else FAILS
