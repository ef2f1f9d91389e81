"""A frame as it was laid out: where its boxes, nodes and arrows stand. It paints nothing.

What Graphviz gives counts from the bottom left, in points; here all counts from the top left.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from html import unescape
from math import hypot
from typing import Any

from behaviour.draw.lettering import width
from behaviour.draw.shapes import Point

_POINTS = 72.0
FRAME_TITLE = 13.0
ROOM = 10.0
"""Points between an arrow, or a title, and the frame around all."""


@dataclass(frozen=True, slots=True)
class Area:
    """A node or a frame: what it is, where it stands, and the lines written in it."""

    name: str
    sort: str
    left: float
    top: float
    width: float
    height: float
    lines: tuple[str, ...]

    @property
    def right(self) -> float:
        return self.left + self.width

    @property
    def bottom(self) -> float:
        return self.top + self.height


@dataclass(frozen=True, slots=True)
class Path:
    """An arrow or a line between two nodes: Bezier curves, and its heads, if it has any."""

    ends: tuple[str, str]
    points: tuple[Point, ...]
    style: str
    thick: float
    heads: int
    tip: Point | None
    tip_at_start: bool
    label: tuple[str, ...]
    label_at: Point | None


@dataclass(frozen=True, slots=True)
class LaidOut:
    frames: tuple[Area, ...]
    nodes: tuple[Area, ...]
    paths: tuple[Path, ...]


def laid_out(graph: Mapping[str, Any]) -> LaidOut:
    """Read what Graphviz gave for one graph."""
    left, _, _, top = _numbers(graph["bb"])
    objects = graph.get("objects", [])
    frames = [_frame(each, left, top) for each in objects if "bb" in each]
    nodes = [_node(each, left, top) for each in objects if "pos" in each]
    names = [each["name"] for each in objects]
    paths = [
        _path(each, names, left, top)
        for each in graph.get("edges", [])
        if "pos" in each and each.get("style") != "invis"
    ]
    return LaidOut(tuple(_around_all(frames, paths)), tuple(nodes), tuple(paths))


def _around_all(frames: list[Area], paths: list[Path]) -> list[Area]:
    """Widen the outermost frame so that its title fits and no arrow bulges out of it."""
    outer = max(frames, key=lambda area: area.width * area.height)
    points = [point for path in paths for point in samples(path.points)]
    left = min([outer.left, *(x - ROOM for x, _ in points)])
    title = outer.left + width(" ".join(outer.lines), FRAME_TITLE, bold=True) + 2 * ROOM
    right = max([outer.right, title, *(x + ROOM for x, _ in points)])
    wide = replace(outer, left=left, width=right - left)
    return [wide if area is outer else area for area in frames]


def samples(points: tuple[Point, ...]) -> Iterator[Point]:
    """Give points along Bezier curves, close together."""
    for at in range(0, len(points) - 3, 3):
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points[at : at + 4]
        count = max(4, int(hypot(dx - ax, dy - ay) / 4))
        for step in range(count + 1):
            t = step / count
            u = 1 - t
            yield (
                u**3 * ax + 3 * u * u * t * bx + 3 * u * t * t * cx + t**3 * dx,
                u**3 * ay + 3 * u * u * t * by + 3 * u * t * t * cy + t**3 * dy,
            )


def _frame(each: Mapping[str, Any], left: float, top: float) -> Area:
    x, low, right, high = _numbers(each["bb"])
    lines = label_lines(each.get("label", ""))
    return Area(
        each["name"], each.get("class", ""), x - left, top - high, right - x, high - low, lines
    )


def _node(each: Mapping[str, Any], left: float, top: float) -> Area:
    x, y = _numbers(each["pos"])
    wide, high = float(each["width"]) * _POINTS, float(each["height"]) * _POINTS
    lines = label_lines(each.get("label", ""))
    return Area(
        each["name"],
        each.get("class", ""),
        x - left - wide / 2,
        top - y - high / 2,
        wide,
        high,
        lines,
    )


def _path(each: Mapping[str, Any], names: list[str], left: float, top: float) -> Path:
    points: list[Point] = []
    tip, tip_at_start = None, False
    for part in each["pos"].split(" "):
        x, y = _numbers(part.removeprefix("e,").removeprefix("s,"))
        point = (x - left, top - y)
        if part[0] in "es":
            tip, tip_at_start = point, part[0] == "s"
        else:
            points.append(point)
    heads = {"none": 0, "normalnormal": 2}.get(each.get("arrowhead", ""), 1)
    label_at = None
    if "lp" in each:
        x, y = _numbers(each["lp"])
        label_at = (x - left, top - y)
    return Path(
        ends=(names[each["tail"]], names[each["head"]]),
        points=tuple(points),
        style=each.get("style", ""),
        thick=float(each.get("penwidth", 1)),
        heads=heads if tip is not None else 0,
        tip=tip,
        tip_at_start=tip_at_start,
        label=label_lines(each.get("label", "")),
        label_at=label_at,
    )


def label_lines(label: str) -> tuple[str, ...]:
    """Take a label apart into its lines, as they were before they were written for Graphviz."""
    lines, line, at = [], "", 0
    while at < len(label):
        if label[at] == "\\" and at + 1 < len(label):
            if label[at + 1] in "nl":
                lines.append(line)
                line = ""
            else:
                line += label[at + 1]
            at += 2
        else:
            line += label[at]
            at += 1
    if line:
        lines.append(line)
    return tuple(unescape(each).replace("\u00a0", " ") for each in lines)


def _numbers(text: str) -> list[float]:
    return [float(part) for part in text.replace(",", " ").split()]
