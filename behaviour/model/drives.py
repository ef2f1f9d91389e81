"""Motors and batteries: the givens of the numbers."""

from dataclasses import dataclass, field

from behaviour.model.quantities import Quantity
from behaviour.source import NOWHERE, Span


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
