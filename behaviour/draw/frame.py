"""One frame of a state diagram, painted where it was laid out."""

from collections.abc import Iterable, Iterator
from math import hypot

from behaviour.draw.laid_out import FRAME_TITLE, Area, LaidOut, Path, samples
from behaviour.draw.lettering import LINE, width
from behaviour.draw.look import RULE, TEXT, TITLE
from behaviour.draw.shapes import (
    Box,
    Curve,
    Dash,
    Group,
    Line,
    Look,
    Patch,
    Point,
    Shape,
    Side,
    Tone,
    Words,
)

BOX_TITLE = 11.0
PAD = 9.0
BASE = 0.36
"""How far the middle of letters stands above their line, in sizes."""

HEAD_LONG, HEAD_WIDE = 8.0, 3.4
FRAMES = {
    "region": Look(thick=1.8),
    "box": Look(thick=1.2),
    "mechanism": Look(thick=1.2, dash=Dash.DASHED),
}


def frame_shapes(laid: LaidOut) -> tuple[Shape, ...]:
    """Paint a frame: its boxes first, then lines, then what stands on them."""
    shapes: list[Shape] = []
    for area in laid.frames:
        if area.sort in FRAMES:
            rounding = 10.0 if area.sort == "box" else 0.0
            look = FRAMES[area.sort]
            shapes.append(Box(area.left, area.top, area.width, area.height, look, rounding))
            shapes.append(_frame_title(area, laid))
    for path in laid.paths:
        shapes += _arrow(path)
    for node in laid.nodes:
        shapes.append(Group(node.name, node.sort or "node", tuple(_node(node))))
    return tuple(shapes)


def frame_title_at(area: Area, laid: LaidOut) -> tuple[float, float, float]:
    """Give where the title of a frame stands, on top where no line passes, and its size."""
    size = BOX_TITLE if area.sort == "box" else FRAME_TITLE
    long = width(" ".join(area.lines), size, bold=True)
    y = area.top + 5 + size
    first, last = area.left + PAD, area.right - PAD - long
    places = [first, last, *(first + share * (last - first) / 8 for share in range(1, 8))]
    points = [point for path in laid.paths for point in samples(path.points)]
    for x in places:
        crossed = any(x - 3 < px < x + long + 3 and y - size < py < y + 4 for px, py in points)
        covered = any(
            node.left < x + long and x < node.right and node.top < y + 3 and y - size < node.bottom
            for node in laid.nodes
        )
        if x >= first and not crossed and not covered:
            return x, y, size
    return first, y, size


def _frame_title(area: Area, laid: LaidOut) -> Shape:
    x, y, size = frame_title_at(area, laid)
    return Words((x, y), " ".join(area.lines), size, bold=True)


# --- Nodes --------------------------------------------------------------------------------------


def _node(node: Area) -> Iterator[Shape]:
    match node.sort:
        case "state":
            yield _box(node, Look(thick=1.2, fill=Tone.PAPER), 7.0)
            yield from _titled(node)
        case "mechanism-state":
            yield _box(node, Look(thick=1.2, dash=Dash.DASHED, fill=Tone.PAPER), 7.0)
            yield from _titled(node)
        case "hazard":
            yield _box(node, Look(thick=2.2, fill=Tone.PAPER), 8.0)
            yield _box(node, Look(thick=1.6, fill=Tone.SHADE), 5.0, inside=4.0)
            yield from _warning(node.left + 9, node.top + 8)
            yield from _titled(node)
        case "interlock":
            yield _box(node, Look(thick=1.8), 0.0)
            yield from _corners(node)
            yield from _lines(node, node.lines, 17.0)
        case "begin":
            yield _box(node, Look(line=None, fill=Tone.INK), 0.0)
        case "flag":
            yield _box(node, Look(fill=Tone.INK), 0.0)
            yield from _centred(node, Tone.PAPER)
        case "mild-flag":
            yield _box(node, Look(thick=1.8, fill=Tone.PAPER), 0.0)
            yield from _centred(node, Tone.INK)
        case "note":
            yield from _lines(node, node.lines, 12.0)
        case _:
            yield from _centred(node, Tone.INK)


def _box(node: Area, look: Look, rounding: float, inside: float = 0.0) -> Box:
    return Box(
        node.left + inside,
        node.top + inside,
        node.width - 2 * inside,
        node.height - 2 * inside,
        look,
        rounding,
    )


def _titled(node: Area) -> Iterator[Shape]:
    """Write the name of a state, a line below it, and what it does."""
    title, *rest = node.lines
    lines = tuple(line for line in rest if not line.startswith(RULE))
    middle = node.left + node.width / 2
    if not lines:
        y = node.top + node.height / 2 + BASE * TITLE
        yield Words((middle, y), title, TITLE, Side.MIDDLE, bold=True)
        return
    high = LINE * (TEXT * len(lines) + 1.6 * TITLE)
    top = node.top + (node.height - high) / 2
    yield Words((middle, top + TITLE), title, TITLE, Side.MIDDLE, bold=True)
    rule = top + TITLE * 1.45
    yield Line(((node.left + 9, rule), (node.right - 9, rule)), Look(thick=0.8))
    for number, line in enumerate(lines):
        y = top + 1.6 * TITLE * LINE + TEXT * LINE * number + TEXT * 0.9
        yield Words((node.left + 12, y), line, TEXT)


def _lines(node: Area, lines: Iterable[str], inset: float) -> Iterator[Shape]:
    rows = tuple(lines)
    top = node.top + (node.height - LINE * TEXT * len(rows)) / 2
    for number, line in enumerate(rows):
        yield Words((node.left + inset, top + TEXT * LINE * number + TEXT), line, TEXT)


def _centred(node: Area, tone: Tone) -> Iterator[Shape]:
    top = node.top + (node.height - LINE * TEXT * len(node.lines)) / 2
    middle = node.left + node.width / 2
    for number, line in enumerate(node.lines):
        y = top + TEXT * LINE * number + TEXT
        yield Words((middle, y), line, TEXT, Side.MIDDLE, tone=tone)


def _corners(node: Area) -> Iterator[Shape]:
    cut = 9.0
    for x, inward in ((node.left, cut), (node.right, -cut)):
        for y, down in ((node.top, cut), (node.bottom, -cut)):
            yield Line(((x + inward, y), (x, y + down)), Look(thick=1.4))


def _warning(left: float, top: float) -> Iterator[Shape]:
    """Draw the triangle of a warning, with its stroke."""
    outline = ((left, top + 10), (left + 5.8, top), (left + 11.6, top + 10))
    yield Patch(outline, Look(thick=1.2, fill=Tone.PAPER))
    yield Line(((left + 5.8, top + 3.6), (left + 5.8, top + 6.6)), Look(thick=1.4))
    yield Line(((left + 5.8, top + 7.8), (left + 5.8, top + 8.9)), Look(thick=1.4))


# --- Arrows -------------------------------------------------------------------------------------


def _arrow(path: Path) -> Iterator[Shape]:
    dash = {"dashed": Dash.DASHED, "dotted": Dash.DOTTED}.get(path.style, Dash.WHOLE)
    yield Curve(path.points, Look(thick=path.thick, dash=dash))
    if path.tip is not None and path.heads:
        start = path.points[0] if path.tip_at_start else path.points[-1]
        yield from _heads(start, path.tip, path.heads, path.thick)
    if path.label and path.label_at is not None:
        x, y = path.label_at
        top = y - LINE * TEXT * len(path.label) / 2
        for number, line in enumerate(path.label):
            at = (x, top + TEXT * LINE * number + TEXT)
            yield Words(at, line.strip(), TEXT, Side.MIDDLE)


def _heads(start: Point, tip: Point, count: int, thick: float) -> Iterator[Shape]:
    long = hypot(tip[0] - start[0], tip[1] - start[1]) or 1.0
    ax, ay = (tip[0] - start[0]) / long, (tip[1] - start[1]) / long
    head = max(HEAD_LONG, 3.2 * thick) if count == 1 else long / count
    wide = max(HEAD_WIDE, 1.5 * thick)
    if count == 1 and long > head:
        yield Line((start, (tip[0] - ax * head / 2, tip[1] - ay * head / 2)), Look(thick=thick))
    for number in range(count):
        x, y = tip[0] - ax * head * number, tip[1] - ay * head * number
        back = (x - ax * head, y - ay * head)
        corners = tuple(
            (back[0] - side * ay * wide, back[1] + side * ax * wide) for side in (1, -1)
        )
        yield Patch(((x, y), *corners), Look(line=None, fill=Tone.INK))
