"""What a picture is made of: lines, boxes and words on a sheet, in points from its top left.

A picture says what stands where; `svg` and `paint` write it. It knows no prop. There are four
tones and no colours, so that it says as much printed in black and white.
"""

from dataclasses import dataclass, replace
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


def moved(shape: Shape, right: float, down: float, by: float = 1.0) -> Shape:
    """Make a shape so many times as large, and move it."""

    def to(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((x * by + right, y * by + down) for x, y in points)

    def thick(look: Look) -> Look:
        return replace(look, thick=look.thick * by)

    match shape:
        case Line(points=points, look=look):
            return Line(to(points), thick(look))
        case Curve(points=points, look=look):
            return Curve(to(points), thick(look))
        case Patch(points=points, look=look):
            return Patch(to(points), thick(look))
        case Box(left, top, width, height, look, rounding):
            ((x, y),) = to(((left, top),))
            return Box(x, y, width * by, height * by, thick(look), rounding * by)
        case Words(at=at, size=size):
            return replace(shape, at=to((at,))[0], size=size * by)
        case Group(shapes=shapes):
            return replace(shape, shapes=tuple(moved(each, right, down, by) for each in shapes))
