"""What can be asked of a prop in a loop."""

from dataclasses import dataclass, field
from typing import Literal

from behaviour.model.quantities import Time
from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True)
class Is:
    """An input or output has one of `values`; `negated` for `is not` and `neither`."""

    name: str
    values: tuple[str, ...]
    negated: bool = False
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Becomes:
    """An input (in rules also an output) changed to `value` in this very loop."""

    name: str
    value: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class HeldFor:
    """`NAME is VALUE for DURATION`: a steady input has had `value` for `time` since its change."""

    name: str
    value: str
    time: Time
    span: Span = field(default=NOWHERE, compare=False)


Comparison = Literal["=", "!=", "<", "<=", ">", ">="]


@dataclass(frozen=True, slots=True)
class Compare:
    """A counter against a whole number."""

    name: str
    sign: Comparison
    number: int
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class InState:
    """A region or mechanism region is in `state` or in a state inside it."""

    region: str
    state: int
    negated: bool = False
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Done:
    """`MOTOR is done`: a move by distance of the motor has ended, and its state was not left."""

    name: str
    negated: bool = False
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Not:
    part: "Condition"
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class And:
    """All of `parts`; `says` is how the language has it where it has a word of its own."""

    parts: tuple["Condition", ...]
    span: Span = field(default=NOWHERE, compare=False)
    says: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Or:
    """One or more of `parts`; `says` is how the language has it where it has a word of its own."""

    parts: tuple["Condition", ...]
    span: Span = field(default=NOWHERE, compare=False)
    says: str = field(default="", compare=False)


Condition = Is | Becomes | HeldFor | Compare | InState | Done | Not | And | Or
Atom = Is | Becomes | HeldFor | Compare | InState | Done
