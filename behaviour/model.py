"""The model of a prop: frozen, every name resolved, shared by every room.

It holds what a behaviour file says and nothing about who asks. Times are whole microseconds until
`Model.loops_up` or `Model.loops_down` counts them in loops. A region's states stand flat, parents
before their children, and are spoken of by their number in that tuple.
"""

from dataclasses import dataclass, field, fields
from enum import Enum
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True)
class Unknown:
    """A value that the file leaves open with `unknown`; `what` names it, such as `turn.after`."""

    what: str
    span: Span = field(default=NOWHERE, compare=False)


Micros = int
"""A duration in whole microseconds."""

Time = Micros | Unknown


# --- Conditions ---------------------------------------------------------------------------------


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


# --- Regions ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AddTo:
    """`add 1 to NAME`, or with a negative amount `take 1 from NAME`."""

    counter: str
    amount: int
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class SetTo:
    """`set NAME to 3`."""

    counter: str
    value: int
    span: Span = field(default=NOWHERE, compare=False)


Action = AddTo | SetTo


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """How far a state turns a motor: `amount` as written, and the window in which it ends.

    `number` goes on from the region's transitions. `steps` are the steps to be counted, `guesses`
    the figures behind the window that the file calls guesses.
    """

    number: int
    amount: "Quantity"
    low: Time
    high: Time
    steps: int = 0
    guesses: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Setting:
    """What a state or cue gives an output; with a `move` it ends by itself and leaves it at rest.

    A move begins on entering its state, and stands in the `set` of a state alone.
    """

    output: str
    value: str
    span: Span = field(default=NOWHERE, compare=False)
    move: Move | None = None


@dataclass(frozen=True, slots=True)
class After:
    """A time in the state; `low` and `high` differ where it is drawn at random."""

    low: Time
    high: Time
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Chance:
    """What is drawn on entering `source`: the time of a random `after`, or the end of a move."""

    number: int
    source: int
    low: Time
    high: Time
    is_move: bool = False


class Part(Enum):
    """Where in a state (or region) a transition is written."""

    INTERLOCK = "interlocks"
    LEAVE = "leave"
    END = "at the end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Transition:
    """One way on. Numbered through its region in the order written (`number`).

    `source` is the state it belongs to, None for an interlock of the region itself. `target` is
    None for `stay`. A transition at the end of cues has neither `when` nor `after`: the last cue's
    time stands for it.
    """

    number: int
    part: Part
    source: int | None
    when: Condition | None = None
    after: After | None = None
    does: tuple[Action, ...] = ()
    target: int | Unknown | None = None
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """A moment in a state, counted from entering it, and what it sets from then on."""

    at: Time
    sets: tuple[Setting, ...] = ()
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A state. `parent`, `children` and `begins` are numbers in the region's flat `states`.

    `begins` is the child entered with it, None for a leaf. Only a leaf has `cues`; `end` is the
    transition `at the end` of them.
    """

    number: int
    name: str
    parent: int | None = None
    children: tuple[int, ...] = ()
    begins: int | None = None
    sets: tuple[Setting, ...] = ()
    leave: tuple[Transition, ...] = ()
    interlocks: tuple[Transition, ...] = ()
    cues: tuple[Cue, ...] = ()
    end: Transition | None = None
    ignores: tuple[str, ...] = ()
    lockout: bool = False
    about: str = ""
    operator: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    name: str
    begins: int
    states: tuple[State, ...]
    interlocks: tuple[Transition, ...] = ()
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)

    def path(self, state: int) -> tuple[int, ...]:
        """List the states around and including `state`, outermost first."""
        found: list[int] = []
        at: int | None = state
        while at is not None:
            found.append(at)
            at = self.states[at].parent
        return tuple(reversed(found))

    def leaf(self, state: int) -> int:
        """Follow `begins` from `state` down to the leaf that entering it enters."""
        at = state
        while (inner := self.states[at].begins) is not None:
            at = inner
        return at

    def contains(self, outer: int, inner: int) -> bool:
        """Tell whether `inner` is `outer` or lies inside it."""
        return outer in self.path(inner)

    def transitions(self) -> tuple[Transition, ...]:
        """List every transition of the region by its number."""
        found = list(self.interlocks)
        for state in self.states:
            found += state.interlocks + state.leave
            if state.end is not None:
                found.append(state.end)
        return tuple(sorted(found, key=lambda transition: transition.number))

    def transition(self, number: int) -> Transition:
        """Give the transition with a number; moves are numbered with them, so some are left out."""
        return next(each for each in self.transitions() if each.number == number)

    def chances(self, state: int) -> tuple[Chance, ...]:
        """List what is drawn on entering `state` itself, by number: random times, then moves."""
        here = self.states[state]
        drawn = [
            Chance(way.number, state, way.after.low, way.after.high)
            for way in here.leave
            if way.after is not None and way.after.low != way.after.high
        ]
        moved = [
            Chance(each.move.number, state, each.move.low, each.move.high, is_move=True)
            for each in here.sets
            if each.move is not None
        ]
        return (*drawn, *moved)


# --- The world ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """What a mechanism does by itself: while `during` holds, it takes `low` to `high`."""

    number: int
    source: int
    during: Condition | None
    low: Time
    high: Time
    target: int
    about: str = ""
    guesses: tuple[str, ...] = field(default=(), compare=False)
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class MechanismState:
    number: int
    name: str
    reads: tuple[tuple[str, str], ...] = ()
    movements: tuple[Movement, ...] = ()
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """A mechanism region; `begins` is None for `any`.

    With `motion_of` it is no part of the file, but says whether a motor of that name still turns.
    """

    name: str
    begins: int | None
    states: tuple[MechanismState, ...]
    motion_of: str = ""
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)

    def movements(self) -> tuple[Movement, ...]:
        return tuple(movement for state in self.states for movement in state.movements)


# --- Inputs, outputs, counters ------------------------------------------------------------------


class Role(Enum):
    GUARD = "guard"
    STOP = "stop"
    START = "start"
    RESET = "reset"
    HOLD_TO_RUN = "hold_to_run"
    MODE = "mode"


InputKind = Literal["switch", "button", "sensor", "selector"]
OutputKind = Literal[
    "motor", "valve", "relay", "heater", "servo", "light", "lamp", "sound", "signal"
]
HAZARD_KINDS = frozenset({"motor", "valve", "relay", "heater", "servo"})

PinName = str
"""A pin as the controller's maker names it, such as `3`, `A0` or `GP15`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One value of an analogue input: read below or above a converter count."""

    value: str
    side: Literal["below", "above"]
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InputWiring:
    """How an input is wired; empty fields were not written and do not follow from what was."""

    pin: PinName | Unknown | None = None
    pins: tuple[tuple[str, PinName | Unknown], ...] = ()
    pull: Literal["up", "down", "none"] | None = None
    low: str | None = None
    contact: Literal["normally closed", "normally open"] | None = None
    pushed: str | None = None
    levels: tuple[Level, ...] = ()
    silent: Time | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """`steady` holds one time for each value, in the order of `values`; `safe` guards and stops.

    `noise` holds how long its contact bounces (`bounce`) and the longest stretch for which
    something disturbs it (`interference`), where the file says so. One that is `drawn` stands for
    a region or counter that a sketch leaves out, and has no wire.
    """

    name: str
    kind: InputKind
    values: tuple[str, ...]
    steady: tuple[Time, ...]
    role: Role | None = None
    safe: str | None = None
    unplugged: str | None = None
    wiring: InputWiring = InputWiring()
    noise: tuple[tuple[str, "Quantity"], ...] = ()
    about: str = ""
    drawn: bool = False
    span: Span = field(default=NOWHERE, compare=False)

    @property
    def is_protective(self) -> bool:
        """Tell whether the input protects people: a guard or a stop."""
        return self.role in (Role.GUARD, Role.STOP)

    @property
    def presumed(self) -> str | None:
        """Give the value a guard or stop counts as at power-up until it has been steadily safe."""
        if not self.is_protective:
            return None
        if self.unplugged is not None and self.unplugged != self.safe:
            return self.unplugged
        return next(value for value in self.values if value != self.safe)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A figure with its unit as written, and where it comes from if the file says so.

    `known` is `guess`, `maker` or `measured`; `on` is the day of that, as it was written.
    """

    number: float
    unit: str
    known: str | None = None
    on: str = field(default="", compare=False)
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputWiring:
    """How an output is wired. `pins` maps a value (lamp) or a signal (`step`, `dir`) to a pin.

    `draws` is the current that each of its pins gives while it is on.
    """

    pin: PinName | Unknown | None = None
    pins: tuple[tuple[str, PinName | Unknown], ...] = ()
    on_when: Literal["high", "low"] = "high"
    turns: Literal["as wired", "other way"] = "as wired"
    gives: tuple[tuple[str, Quantity], ...] = ()
    fade: Time | None = None
    pulse: Time | None = None
    gap: Time | None = None
    draws: Quantity | Unknown | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    name: str
    kind: OutputKind
    values: tuple[str, ...]
    rest: str
    keeps: bool = False
    hazard: bool = False
    pause: Time | None = None
    least: Time | None = None
    wiring: OutputWiring = OutputWiring()
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter:
    name: str
    low: int
    high: int
    begins: int
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


# --- Rules and walkthroughs ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Never:
    """`never: C`, with `for: d` only for longer than `limit` without a break."""

    condition: Condition
    limit: Time | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Always:
    """`at all times: C`."""

    condition: Condition


@dataclass(frozen=True, slots=True, kw_only=True)
class AtMost:
    """`while: C`, `at most: d`."""

    condition: Condition
    limit: Time


@dataclass(frozen=True, slots=True, kw_only=True)
class AtLeast:
    """`while: C`, `at least: d`."""

    condition: Condition
    limit: Time


@dataclass(frozen=True, slots=True, kw_only=True)
class Whenever:
    """`whenever: A`, `then: B`, with `within: d` or whenever it comes (`limit` None)."""

    trigger: Condition
    response: Condition
    limit: Time | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class First:
    """`first: A`, `before: B`, with `since: C` anew each time that C begins."""

    condition: Condition
    before: Condition
    since: Condition | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """`count: A`, `at most: n`, with `since: C` anew each time that C begins."""

    condition: Condition
    most: int
    since: Condition | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """`count: A`, `at most: n`, `per: d`: no more beginnings than `most` in less than `limit`."""

    condition: Condition
    most: int
    limit: Time


@dataclass(frozen=True, slots=True, kw_only=True)
class WayBack:
    """`way back: C`."""

    condition: Condition


Requirement = Never | Always | AtMost | AtLeast | Whenever | First | Count | Rate | WayBack


def conditions(requirement: Requirement) -> tuple[Condition, ...]:
    """List the conditions that a requirement is about, what it waits for first."""
    match requirement:
        case Whenever(trigger=trigger, response=response):
            return (trigger, response)
        case First(condition=condition, before=before, since=since):
            return (condition, before) if since is None else (condition, before, since)
        case Count(condition=condition, since=since) if since is not None:
            return (condition, since)
        case _:
            return (requirement.condition,)


class ScopeKind(Enum):
    """When a rule is in force; the values are the keys of the language."""

    ONLY_WHILE = "only while"
    ONCE_BEGUN = "once begun"
    UP_TO = "up to"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """The part of a run in which a rule is in force: each stretch of it is a run of its own.

    What begins in such a stretch begins no earlier than it does, and ends with it unjudged.
    """

    kind: ScopeKind
    condition: Condition


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    name: str
    requirement: Requirement
    scope: Scope | None = None
    because: str = ""
    span: Span = field(default=NOWHERE, compare=False)

    def conditions(self) -> tuple[Condition, ...]:
        """List the conditions that the rule is about, that of its scope last."""
        scope = () if self.scope is None else (self.scope.condition,)
        return (*conditions(self.requirement), *scope)


@dataclass(frozen=True, slots=True, kw_only=True)
class Excuse:
    """A finding of the name `check` is a note that carries `because`; `region`/`state` scope it."""

    check: str
    because: str
    region: str | None = None
    state: int | None = None
    span: Span = field(default=NOWHERE, compare=False)


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


# --- Numbers ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """A motor's numbers as written; `figures` maps a path such as `winding.current` to one.

    With `ramp_down` it slows down when its output goes to rest, and else stops within a step.
    """

    output: str
    kind: str
    figures: tuple[tuple[str, Quantity], ...] = ()
    torque: tuple[tuple[Quantity, Quantity], ...] = ()
    ramp_down: bool = False
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Power:
    chemistry: str
    cells: int
    figures: tuple[tuple[str, Quantity], ...] = ()
    span: Span = field(default=NOWHERE, compare=False)


# --- The whole ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedSetting:
    """A value of `settings`; `uses` counts the places that name it, `at` is where its text is."""

    name: str
    text: str
    uses: int
    span: Span = field(default=NOWHERE, compare=False)
    at: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, kw_only=True)
class Model:
    """One prop, whole. Tuples keep the order of the file."""

    prop: str
    loop: Micros
    regions: tuple[Region, ...]
    inputs: tuple[Input, ...] = ()
    outputs: tuple[Output, ...] = ()
    counters: tuple[Counter, ...] = ()
    mechanism: tuple[Mechanism, ...] = ()
    rules: tuple[Rule, ...] = ()
    walkthroughs: tuple[Walkthrough, ...] = ()
    excused: tuple[Excuse, ...] = ()
    settings: tuple[NamedSetting, ...] = ()
    drives: tuple[Drive, ...] = ()
    power: Power | None = None
    reaction: Time | None = None
    controller: str | None = None
    firmware_name: str = ""
    watchdog: Time | None = None
    boot: Time | None = None
    about: str = ""
    show: tuple[tuple[str, str], ...] = ()
    unknowns: tuple[Unknown, ...] = ()
    """Every `unknown` of the file, in its order."""

    def __getstate__(self) -> dict[str, object]:
        """Give what a model is, without what was worked out from it, to be sent or kept."""
        return {each.name: getattr(self, each.name) for each in fields(self)}

    @cached_property
    def input(self) -> MappingProxyType[str, Input]:
        return MappingProxyType({item.name: item for item in self.inputs})

    @cached_property
    def output(self) -> MappingProxyType[str, Output]:
        return MappingProxyType({item.name: item for item in self.outputs})

    @cached_property
    def counter(self) -> MappingProxyType[str, Counter]:
        return MappingProxyType({item.name: item for item in self.counters})

    @cached_property
    def region(self) -> MappingProxyType[str, Region]:
        return MappingProxyType({item.name: item for item in self.regions})

    @cached_property
    def mechanisms(self) -> MappingProxyType[str, Mechanism]:
        return MappingProxyType({item.name: item for item in self.mechanism})

    @cached_property
    def input_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.inputs)})

    @cached_property
    def output_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.outputs)})

    @cached_property
    def counter_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.counters)})

    @cached_property
    def region_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.regions)})

    @cached_property
    def mechanism_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.mechanism)})

    @cached_property
    def written_mechanism(self) -> tuple[Mechanism, ...]:
        """The mechanism regions that stand in the file: those that can fail, and are drawn."""
        return tuple(item for item in self.mechanism if not item.motion_of)

    @cached_property
    def moved(self) -> frozenset[str]:
        """Name the inputs that a mechanism moves: those that one of its states reads."""
        return frozenset(
            name for each in self.mechanism for state in each.states for name, _ in state.reads
        )

    @cached_property
    def owner(self) -> MappingProxyType[str, str]:
        """Map each output that a region sets to the name of that region."""
        owners: dict[str, str] = {}
        for region in self.regions:
            for state in region.states:
                for setting in state.sets:
                    owners[setting.output] = region.name
                for cue in state.cues:
                    owners.update({setting.output: region.name for setting in cue.sets})
        return MappingProxyType(owners)

    @cached_property
    def worked_out(self) -> dict[tuple[object, ...], tuple[object, ...]]:
        """What was worked out from the model alone, kept so that it is done once."""
        return {}

    def loops_up(self, time: Micros) -> int:
        """Count a duration in loops, rounded up (`semantics.md`, Time)."""
        return -(-time // self.loop)

    def loops_down(self, time: Micros) -> int:
        """Count a duration in loops, rounded down: the early end of a window."""
        return time // self.loop
