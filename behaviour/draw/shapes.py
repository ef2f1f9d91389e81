"""What a picture is made of: lines, boxes and words on a sheet, in points from its top left.

A picture says what stands where; `svg` and `paint` write it. It knows no prop. There are four
tones and no colours, so that it says as much printed in black and white.
"""

from dataclasses import dataclass
from enum import Enum

Point = tuple[float, float]


class Tone(Enum):
    """What something is painted with; each writer has its own shade for each."""

    INK = "ink"
    FAINT = "faint"
    SHADE = "shade"
    PAPER = "paper"


class Dash(Enum):
    """How a line is broken; the values are lengths of strokes and gaps, in points."""

    WHOLE = ()
    DASHED = (5.0, 3.5)
    DOTTED = (1.2, 2.6)


@dataclass(frozen=True, slots=True)
class Look:
    """How a shape is painted: its line, and what fills it."""

    line: Tone | None = Tone.INK
    thick: float = 1.0
    dash: Dash = Dash.WHOLE
    fill: Tone | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """Straight strokes from point to point."""

    points: tuple[Point, ...]
    look: Look = Look()


@dataclass(frozen=True, slots=True)
class Curve:
    """Bezier curves: the first point, then three for each, two to steer by and its end."""

    points: tuple[Point, ...]
    look: Look = Look()


@dataclass(frozen=True, slots=True)
class Patch:
    """A closed outline."""

    points: tuple[Point, ...]
    look: Look = Look()


@dataclass(frozen=True, slots=True)
class Box:
    left: float
    top: float
    width: float
    height: float
    look: Look = Look()
    rounding: float = 0.0


class Side(Enum):
    """Which part of a line of words stands at its point."""

    LEFT = "start"
    MIDDLE = "middle"
    RIGHT = "end"


@dataclass(frozen=True, slots=True)
class Words:
    """One line of words; `at` is on the line that its letters stand on."""

    at: Point
    text: str
    size: float
    side: Side = Side.LEFT
    bold: bool = False
    tone: Tone = Tone.INK


@dataclass(frozen=True, slots=True)
class Group:
    """Shapes that belong together, with a name by which a page can find them, and a sort."""

    name: str
    sort: str
    shapes: "tuple[Shape, ...]"


Shape = Line | Curve | Patch | Box | Words | Group


@dataclass(frozen=True, slots=True)
class Picture:
    """A sheet of so many points, and what is on it; `title` says what it shows."""

    title: str
    width: float
    height: float
    shapes: tuple[Shape, ...]


def moved(shape: Shape, right: float, down: float) -> Shape:
    """Move a shape."""

    def by(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((x + right, y + down) for x, y in points)

    match shape:
        case Line(points=points, look=look):
            return Line(by(points), look)
        case Curve(points=points, look=look):
            return Curve(by(points), look)
        case Patch(points=points, look=look):
            return Patch(by(points), look)
        case Box(left, top, width, height, look, rounding):
            return Box(left + right, top + down, width, height, look, rounding)
        case Words(at=at, text=text, size=size, side=side, bold=bold, tone=tone):
            return Words(by((at,))[0], text, size, side, bold, tone)
        case Group(name=name, sort=sort, shapes=shapes):
            return Group(name, sort, tuple(moved(each, right, down) for each in shapes))
