"""The file as it was written: every part with its place, and names that nobody has looked up yet.

Parts in which there is nothing to look up (inputs, outputs, counters) are whole here already, in
the model's own types. A part that could not be read is None, and was reported.
"""

from dataclasses import dataclass, field
from typing import Generic, TypeVar

from behaviour import model
from behaviour.source import NOWHERE, Span

Whole = TypeVar("Whole")


@dataclass(frozen=True, slots=True)
class Word:
    """A name, number or time as written."""

    text: str
    span: Span = field(default=NOWHERE, compare=False)


# --- Conditions ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Is:
    name: Word
    values: tuple[Word, ...]
    negated: bool
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Becomes:
    name: Word
    value: Word
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldFor:
    name: Word
    value: Word
    time: Word
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Compare:
    name: Word
    sign: model.Comparison
    number: Word
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class InState:
    """`state` may be a path, such as `shot.open`."""

    region: Word
    state: Word
    negated: bool
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Not:
    part: "Condition"
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class And:
    parts: tuple["Condition", ...]
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Or:
    parts: tuple["Condition", ...]
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """`MOTOR is done`, or with `moves` instead `MOTOR is moving`."""

    name: Word
    moves: bool
    negated: bool
    span: Span = field(default=NOWHERE, compare=False)


Condition = Is | Becomes | HeldFor | Compare | InState | Done | Not | And | Or


# --- Parts that are whole already ---------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared(Generic[Whole]):
    """An input, output or counter. Where it could not be read whole, its name still stands.

    `values` is None where they are not known.
    """

    name: Word
    values: tuple[str, ...] | None
    whole: Whole | None


# --- Regions ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class AddTo:
    """`sign` is 1 for `add`, -1 for `take`."""

    counter: Word
    amount: Word
    sign: int
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetTo:
    counter: Word
    value: Word
    span: Span = field(default=NOWHERE, compare=False)


Action = AddTo | SetTo


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """With an `amount` it is a move by distance."""

    output: Word
    value: Word
    amount: model.Quantity | model.Unknown | None = None
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Transition:
    """`go` is None where it could not be read; it may be `stay` or `unknown`."""

    part: model.Part
    when: Condition | None
    after: model.After | None
    does: tuple[Action, ...]
    go: Word | None
    about: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    at: model.Time | None
    sets: tuple[Setting, ...]
    about: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A state with its inner `states`; `begins` is None where there are none."""

    name: Word
    sets: tuple[Setting, ...]
    leave: tuple[Transition, ...]
    interlocks: tuple[Transition, ...]
    cues: tuple[Cue, ...]
    end: Transition | None
    states: tuple["State", ...]
    begins: Word | None
    ignores: tuple[Word, ...]
    lockout: bool
    about: str
    operator: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """`whole` is False where a state was refused, so that a name may be missing."""

    name: Word
    begins: Word | None
    interlocks: tuple[Transition, ...]
    states: tuple[State, ...]
    whole: bool
    about: str


# --- Mechanism ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """`{turn: 60 deg, of: drum}`: how far a drive turns in a movement."""

    amount: model.Quantity | model.Unknown | None
    of: Word


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    during: Condition | None
    takes: tuple[model.Time, model.Time] | Turn | None
    go: Word | None
    about: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class MechanismState:
    name: Word
    reads: tuple[tuple[Word, Word], ...]
    movements: tuple[Movement, ...]
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """`begins` may be `any`; `whole` as of a region."""

    name: Word
    begins: Word | None
    states: tuple[MechanismState, ...]
    whole: bool
    about: str


# --- Rules and the rest -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Its conditions and time by the key at which they stand; `kind` is the key that leads.

    `kind` is None where the rule is of no kind that this release judges, which was reported.
    """

    name: Word
    kind: str | None
    conditions: tuple[tuple[str, Condition | None], ...]
    limit: model.Time | None
    most: int | None
    at_least: bool
    because: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Excuse:
    check: str
    because: str
    place: Word | None
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """`press B`, or `release B` where `value` is `released`."""

    button: Word
    value: str
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    input: Word
    value: Word
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    time: Word
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class See:
    condition: Condition
    within: Word | None
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Restart:
    span: Span = field(default=NOWHERE, compare=False)


Step = Press | Change | Pause | See | Restart


@dataclass(frozen=True, slots=True, kw_only=True)
class Walkthrough:
    name: Word
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole file. `incomplete` names the parts of which something could not be read by name."""

    prop: str
    about: str
    loop: model.Micros
    reaction: model.Time | None
    watchdog: model.Time | None
    boot: model.Time | None
    controller: str | None
    firmware_name: str | None
    show: tuple[tuple[str, str], ...]
    inputs: tuple[Declared[model.Input], ...]
    outputs: tuple[Declared[model.Output], ...]
    counters: tuple[Declared[model.Counter], ...]
    regions: tuple[Region, ...]
    mechanism: tuple[Mechanism, ...]
    rules: tuple[Rule, ...]
    excused: tuple[Excuse, ...]
    walkthroughs: tuple[Walkthrough, ...]
    drives: tuple[model.Drive, ...]
    power: model.Power | None
    incomplete: frozenset[str]
