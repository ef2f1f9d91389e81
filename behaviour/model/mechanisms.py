"""What moves by itself in the world, and brings inputs about."""

from dataclasses import dataclass, field

from behaviour.model.conditions import Condition
from behaviour.model.quantities import Time
from behaviour.source import NOWHERE, Span


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
    may_last: bool = False
    """Whether it may take longer than `high` too, or for ever: only so in a drawing."""
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
