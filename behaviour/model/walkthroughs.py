"""Steps that people take, and what they should see."""

from dataclasses import dataclass, field

from behaviour.model.conditions import Condition
from behaviour.model.quantities import Micros
from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """`press B`, `release B` and `INPUT becomes V`."""

    input: str
    value: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    time: Micros
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class See:
    """`see C` now, or `see C within D`."""

    condition: Condition
    within: Micros | None = None
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Restart:
    span: Span = field(default=NOWHERE, compare=False)


WalkStep = Change | Pause | See | Restart


@dataclass(frozen=True, slots=True, kw_only=True)
class Walkthrough:
    name: str
    steps: tuple[WalkStep, ...]
    span: Span = field(default=NOWHERE, compare=False)
