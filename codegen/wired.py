"""What a board file does with each wire, every name of C chosen; nothing is written yet.

Names in capitals are macros of the settings, and `value` is what an output is given.
"""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A macro by which a file of the coder's says what it does, such as `drive lamp.blue`.

    The emitted file does not say so where that `is_yours`.
    """

    file: Literal["board", "loop"]
    macro: str
    does: str
    is_yours: bool = False


@dataclass(frozen=True, slots=True)
class Yours:
    """What the file does not say enough of: the coder writes it, and `why` tells him."""

    why: str


# --- Inputs -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """One pin that tells two values apart. `news` is a word on a line that may fall silent."""

    pin: str
    pull: str | None
    low: str
    values: tuple[str, str]
    news: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Positions:
    """A pin for each value. `otherwise` is the value without one; where every value has a pin,
    nothing is chosen between two of them: then the last one counts on, `begins` at first.
    """

    pins: tuple[tuple[str, str], ...]
    pull: str
    reads_low: bool
    otherwise: str | None
    begins: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """An analogue pin: a value below a count and one above another; between them the last holds."""

    pin: str
    pull: str | None
    below: tuple[str, str]
    above: tuple[str, str]
    begins: str


Reading = Contact | Positions | Counts | Yours


# --- Outputs ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire that is on while `test` holds; `at_rest` tells whether that is so at rest.

    `duty` is how much of the time it is on then, of 255, where it is dimmed.
    """

    pin: str
    test: str
    at_rest: bool
    duty: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """Two ways of a motor that a setting exchanges."""

    macro: str
    ways: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Switched:
    """Wires that are on or off. With `off_first` no two are ever on together."""

    wires: tuple[Wire, ...]
    on_when: str
    off_first: bool = False
    exchange: Exchange | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimmed:
    """Wires that are on for a part of the time.

    `shares` gives each value its duty where one wire stands for all. `fade` is the time of a
    change; with `rests_at_once` a hazard goes to rest without it. With `off_first` no two are ever
    on together.
    """

    wires: tuple[Wire, ...]
    shares: tuple[tuple[str, str], ...]
    on_when: str
    fade: str | None
    rests_at_once: bool
    off_first: bool = False
    exchange: Exchange | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulsed:
    """Wires of which one is on for a while each time that the output is given another value.

    With `rests_at_once` a pulse ends where a hazard comes to rest.
    """

    wires: tuple[Wire, ...]
    on_when: str
    pulse: str
    gap: str | None
    rests_at_once: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Servo:
    """A servo: its number in the round of pulses, and its pulse in microseconds for each value."""

    pin: str
    number: str
    pulses: tuple[tuple[str, str], ...]
    at_rest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepped:
    """A stepper on its driver. `first` is the way in which the direction is on, `shortest_us` the
    time between two steps at full speed.
    """

    step: str
    direction: str | None
    enable: str | None
    hold: str | None
    on_when: str
    turns: str
    first: str
    generator: str
    ramps_down: bool
    shortest_us: int


Driving = Switched | Dimmed | Pulsed | Servo | Stepped | Yours


# --- The board ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadCall:
    word: str
    call: str
    type: str
    values: tuple[str, ...]
    presumed: str
    how: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveCall:
    """An output: `move` and `done` are calls of a motor that is moved by distance."""

    word: str
    call: str
    type: str
    values: tuple[str, ...]
    rest: str
    how: Driving
    move: str | None = None
    done: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Watchdog:
    """The time that the file asks for, and the one that the controller's watchdog has for it."""

    asked_ms: int
    set_ms: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A whole board; `about` is what the controller is."""

    controller: str
    about: str
    core: str
    reads: tuple[ReadCall, ...]
    drives: tuple[DriveCall, ...]
    watchdog: Watchdog | None

    @property
    def steppers(self) -> tuple[tuple[DriveCall, Stepped], ...]:
        return tuple((each, each.how) for each in self.drives if isinstance(each.how, Stepped))

    @property
    def servos(self) -> tuple[tuple[DriveCall, Servo], ...]:
        return tuple((each, each.how) for each in self.drives if isinstance(each.how, Servo))

    @property
    def yours(self) -> tuple[tuple[str, str], ...]:
        """List what is left to the coder: the input or output, and why."""
        calls: tuple[ReadCall | DriveCall, ...] = (*self.reads, *self.drives)
        return tuple((each.word, each.how.why) for each in calls if isinstance(each.how, Yours))
