"""What may stand where in a file: the tables that the reader goes by, and editors are given.

It knows no part of the language by name. Each table stands in the module that reads its part; what
it cannot say, such as which names there are, the reader alone knows.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from behaviour.language.names import NAME_FORM
from behaviour.language.values import PIN_PATTERN, UNKNOWN
from behaviour.units import MICROS, NUMBER_PATTERN, UNITS, Dimension


@dataclass(frozen=True, slots=True)
class Text:
    """One text. `pattern` is what the whole of it must match; `is_number` where YAML may take it
    for a number, and `is_name` where it is a new name, which the language's own words cannot be.
    """

    wants: str = ""
    pattern: str = ""
    is_number: bool = False
    is_name: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """One of some words."""

    options: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ListOf:
    item: "Shape"
    least: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Named:
    """Keys that the file chooses, and what stands at each."""

    item: "Shape"
    keys: "Text | Choice"
    least: int = 0


@dataclass(frozen=True, slots=True)
class Group:
    """Keys that the language knows, and what stands at each. No two groups have one `thing`."""

    thing: str
    keys: Mapping[str, "Shape"]
    needed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Again:
    """The group of that name once more, inside itself."""

    thing: str


@dataclass(frozen=True, slots=True)
class Either:
    shapes: tuple["Shape", ...]


Shape = Text | Choice | ListOf | Named | Group | Again | Either

TEXT = Text("free text", is_number=True)
CONDITION = Text("a condition, such as `lid is open`")
YES_NO = Choice(("yes", "no"))

NAME = Text("a name", NAME_FORM, is_name=True)
VALUE = Text("the name of a value", NAME_FORM)
STATE_NAME = Text("the name of a state", rf"{NAME_FORM}(?:\.{NAME_FORM})*")

_TIME = rf"(?:{NUMBER_PATTERN}\s+(?:{'|'.join(MICROS)})|{NAME_FORM})"
TIME = Text("a time such as `20 ms`, a setting, or `unknown`", _TIME)
WINDOW = Text("a time, or a range such as `200 ms to 900 ms`", rf"{_TIME}(?:\s+to\s+{_TIME})?")
WHOLE = Text("a whole number, or a setting", rf"(?:[0-9]{{1,9}}|{NAME_FORM})", is_number=True)
PIN = Text(
    "a pin as named on the board, a setting, or `unknown`",
    rf"(?:{PIN_PATTERN}|{NAME_FORM})",
    is_number=True,
)


def things(item: Shape) -> Named:
    """Give parts of the file by their new names, of which there is one at least."""
    return Named(item, NAME, least=1)


def by_value(item: Shape) -> Named:
    """Give something for each of some values, or other names that the file has already."""
    return Named(item, VALUE)


def figure(*dimensions: Dimension) -> Text:
    """Give a figure that measures one of some dimensions; an `unknown` one, or a setting."""
    units = [unit for unit, dimension in UNITS.items() if dimension in dimensions]
    spelt = (r"\s*%" if unit == "%" else r"\s+" + r"\s+".join(unit.split()) for unit in units)
    is_bare = Dimension.NUMBER in dimensions
    end = "" if is_bare else f"(?:{'|'.join(spelt)})"
    return Text(
        " or ".join(dimension.value for dimension in dimensions) + f", a setting, or `{UNKNOWN}`",
        rf"(?:-?{NUMBER_PATTERN}{end}|{NAME_FORM})",
        is_number=is_bare,
    )
