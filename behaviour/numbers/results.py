"""What a result is: its value, its formula, what was put in, and where that is from.

It knows no formula: each block works its own out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from behaviour.model import Quantity
from behaviour.numbers.figures import Figures, Missing

Weight = Literal["plain", "doubtful"]


@dataclass(frozen=True, slots=True)
class Given:
    """A value that a formula takes under `symbol`; `known` says where it is from.

    `guesses` are the figures of the file behind it that are guesses.
    """

    symbol: str
    value: float
    unit: str
    says: str
    known: str
    guesses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Result:
    """A result with its formula, written in the symbols of `given`, and the formula's source.

    `advice` is what to think of it; a `doubtful` one is probably not meant.
    """

    says: str
    value: float
    unit: str
    formula: str
    given: tuple[Given, ...]
    source: str
    advice: str = ""
    weight: Weight = "plain"

    @property
    def guesses(self) -> tuple[str, ...]:
        """Name the guesses that the result rests on."""
        return tuple(dict.fromkeys(name for each in self.given for name in each.guesses))


@dataclass(frozen=True, slots=True)
class Lacking:
    """A result that cannot be worked out before the file gives `figures`."""

    says: str
    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of words under a head, such as the first intervals of a ramp."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    source: str = ""


@dataclass(frozen=True, slots=True)
class Curve:
    """Points to be drawn; `says` stands beside the line."""

    says: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """Curves over one axis, with a mark at `marks` where something happens."""

    name: str
    title: str
    across: str
    up: str
    curves: tuple[Curve, ...]
    marks: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Bar:
    """What an allowed time is used up by, in milliseconds, one part after the other."""

    says: str
    parts: tuple[tuple[str, float], ...]
    allowed: float

    @property
    def left(self) -> float:
        return self.allowed - sum(length for _, length in self.parts)


@dataclass(frozen=True, slots=True)
class Bars:
    """Allowed times side by side, each with what uses it up."""

    name: str
    title: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """One part of the numbers, such as the motion of a drive."""

    name: str
    about: str
    results: tuple[Result | Lacking, ...]
    tables: tuple[Table, ...] = ()
    charts: tuple[Chart | Bars, ...] = ()
    remarks: tuple[str, ...] = ()


FILE = "the file"
WORKED_OUT = "worked out"
STEPPED = ("steps", "microsteps", "gearing")
MOVED = (*STEPPED, "speed", "ramp")
HEAVY = ("load", "rotor", "gearing")
"""Beginnings of the paths of figures that a number of steps, a move, and an inertia rest on."""
KINEMATICS = "kinematics"
COMMON = "common practice, no source"


def result(  # noqa: PLR0913 - a result has so many parts, and each call names them
    says: str,
    value: float | Missing,
    unit: str,
    formula: str,
    given: Sequence[Given | Missing],
    source: str,
    *,
    advice: str = "",
    weight: Weight = "plain",
) -> Result | Lacking:
    """Give a result, or what the file lacks for it."""
    parts = (value, *given)
    missing = [name for part in parts if isinstance(part, Missing) for name in part.figures]
    if missing or isinstance(value, Missing):
        return Lacking(says, tuple(dict.fromkeys(missing)))
    there = tuple(part for part in given if isinstance(part, Given))
    return Result(says, value, unit, formula, there, source, advice, weight)


def from_file(figures: Figures, path: str, unit: str, symbol: str, says: str) -> Given | Missing:
    """Take a figure of the file in a unit."""
    quantity, value = figures.quantity(path), figures.measured(path, unit)
    if isinstance(value, Missing) or quantity is None:
        return Missing((f"{figures.name}.{path}",))
    return Given(symbol, value, unit, says, origin(quantity), guessed(figures, path))


def assumed(symbol: str, value: float, unit: str, says: str, known: str) -> Given:
    """Take a value that is no figure of the file; `known` says where it is from."""
    return Given(symbol, value, unit, says, known)


def worked_out(
    symbol: str, value: float, unit: str, says: str, figures: Figures, *beginnings: str
) -> Given:
    """Take a value that was worked out from the figures whose paths begin so."""
    return Given(symbol, value, unit, says, WORKED_OUT, guesses_behind(figures, *beginnings))


def taken(part: Result | Lacking, symbol: str) -> Given | Missing:
    """Take a result into another formula."""
    if isinstance(part, Lacking):
        return Missing(part.figures)
    return Given(symbol, part.value, part.unit, part.says, WORKED_OUT, part.guesses)


def origin(quantity: Quantity) -> str:
    """Say where a figure of the file is from."""
    known = quantity.known or FILE
    return f"{known} on {quantity.on}" if quantity.on else known


def guessed(figures: Figures, *paths: str) -> tuple[str, ...]:
    """Name those of some figures that the file calls a guess."""
    found = ((path, figures.quantity(path)) for path in paths)
    return tuple(f"{figures.name}.{path}" for path, each in found if each and each.known == "guess")


def guesses_behind(figures: Figures, *beginnings: str) -> tuple[str, ...]:
    """Name the guesses among the figures whose paths begin so."""
    return guessed(figures, *(path for path, _ in figures.given if path.startswith(beginnings)))
