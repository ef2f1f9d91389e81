"""The figures of a drive or a pack by name, and what is missing where something needs it.

It knows no formula.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar, overload

from behaviour.model import Drive, Power, Quantity
from behaviour.numbers.measures import exact, measured

A = TypeVar("A")
B = TypeVar("B")
C = TypeVar("C")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Missing:
    """What a result needs and the file does not give, by names such as `drum.speed`."""

    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of one part of the file, asked for by path, such as `winding.current`."""

    name: str
    given: tuple[tuple[str, Quantity], ...]

    def quantity(self, path: str) -> Quantity | None:
        return next((quantity for name, quantity in self.given if name == path), None)

    def needed(self, path: str) -> Quantity | Missing:
        return self.quantity(path) or Missing((f"{self.name}.{path}",))

    def measured(self, path: str, unit: str) -> float | Missing:
        """Give a figure in a unit."""
        return combined(lambda quantity: measured(quantity, unit), self.needed(path))

    def exact(self, path: str) -> Fraction | Missing:
        """Give a count or a ratio as it was written."""
        return combined(exact, self.needed(path))


def figures_of(part: Drive | Power) -> Figures:
    """Give the figures of a drive by the name of its output, or those of `power`."""
    return Figures(part.output if isinstance(part, Drive) else "power", part.figures)


@overload
def combined(work: Callable[[A], R], a: A | Missing, /) -> R | Missing: ...
@overload
def combined(work: Callable[[A, B], R], a: A | Missing, b: B | Missing, /) -> R | Missing: ...
@overload
def combined(
    work: Callable[[A, B, C], R], a: A | Missing, b: B | Missing, c: C | Missing, /
) -> R | Missing: ...
def combined(work: Callable[..., R], *parts: object) -> R | Missing:
    """Work something out from its parts, or name all that is missing for any of them."""
    lacking = [name for part in parts if isinstance(part, Missing) for name in part.figures]
    return Missing(tuple(dict.fromkeys(lacking))) if lacking else work(*parts)


def known(part: A | Missing, otherwise: A) -> A:
    """Give a part, or what stands for it where the file need not say."""
    return otherwise if isinstance(part, Missing) else part
