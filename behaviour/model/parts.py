"""Inputs, outputs and counters, with what they are wired to."""

from dataclasses import dataclass, field
from enum import Enum
from typing import Literal

from behaviour.model.quantities import Quantity, Time, Unknown
from behaviour.source import NOWHERE, Span


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
    noise: tuple[tuple[str, Quantity], ...] = ()
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
