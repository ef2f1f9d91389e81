"""A picture written as SVG: one file that loads nothing, the same bytes for the same picture.

Strategy: every shape carries its light shade as an attribute, which all viewers and printers
show; a screen that is dark is served by a few rules of style that turn the tones over. Fonts are
named, narrow ones first; words were measured in the widest.
"""

from collections.abc import Iterable, Iterator
from html import escape
from typing import assert_never

from behaviour.draw.shapes import (
    Box,
    Curve,
    Dash,
    Group,
    Line,
    Look,
    Patch,
    Picture,
    Point,
    Shape,
    Side,
    Tone,
    Words,
)

LIGHT = {Tone.INK: "#1a1a1a", Tone.FAINT: "#5c5c5c", Tone.SHADE: "#e6e6e6", Tone.PAPER: "#ffffff"}
DARK = {Tone.INK: "#ececec", Tone.FAINT: "#adadad", Tone.SHADE: "#3d3d3d", Tone.PAPER: "#161616"}
SVG = "http://www.w3.org/2000/svg"
FONTS = "Helvetica,Arial,Liberation Sans,DejaVu Sans,sans-serif"


def svg(picture: Picture) -> bytes:
    """Write a picture as SVG."""
    width, height = _number(picture.width), _number(picture.height)
    box = f'viewBox="0 0 {width} {height}" role="img"'
    about = f'aria-label="{escape(picture.title)}" font-family="{FONTS}"'
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="{SVG}" width="{width}pt" height="{height}pt" {box} {about}>',
        f"<style>@media screen and (prefers-color-scheme:dark){{{_dark()}}}</style>",
        f'<rect width="{width}" height="{height}" {_painted("fill", Tone.PAPER)}/>',
        *_written(picture.shapes),
        "</svg>",
    ]
    return "\n".join(parts).encode() + b"\n"


def _dark() -> str:
    """Write the rules that turn the tones over; a rule of style wins over an attribute."""
    return "".join(
        f".tw-{part}-{tone.value}{{{part}:{shade}}}"
        for tone, shade in DARK.items()
        for part in ("fill", "stroke")
    )


def _written(shapes: Iterable[Shape]) -> Iterator[str]:
    for shape in shapes:
        match shape:
            case Line(points=points, look=look):
                yield f'<polyline points="{_points(points)}" {_looks(look)}/>'
            case Patch(points=points, look=look):
                yield f'<polygon points="{_points(points)}" {_looks(look)}/>'
            case Curve(points=points, look=look):
                yield f'<path d="M{_pair(points[0])}C{_points(points[1:])}" {_looks(look)}/>'
            case Box(left, top, width, height, look, rounding):
                place = f'x="{_number(left)}" y="{_number(top)}"'
                size = f'width="{_number(width)}" height="{_number(height)}"'
                corner = f' rx="{_number(rounding)}"' if rounding else ""
                yield f"<rect {place} {size}{corner} {_looks(look)}/>"
            case Words():
                yield _words(shape)
            case Group(name=name, sort=sort, shapes=inner):
                yield f'<g class="tw-{sort}" data-name="{escape(name)}">'
                yield from _written(inner)
                yield "</g>"
            case _:
                assert_never(shape)


def _words(words: Words) -> str:
    x, y = words.at
    attributes = f'x="{_number(x)}" y="{_number(y)}" font-size="{_number(words.size)}"'
    if words.side is not Side.LEFT:
        attributes += f' text-anchor="{words.side.value}"'
    if words.bold:
        attributes += ' font-weight="bold"'
    text = escape(words.text, quote=False)
    return f'<text {attributes} {_painted("fill", words.tone)} xml:space="preserve">{text}</text>'


def _looks(look: Look) -> str:
    if look.line is None:
        return _painted("fill", look.fill)
    width = f'stroke-width="{_number(look.thick)}"'
    if look.dash is not Dash.WHOLE:
        width += f' stroke-dasharray="{" ".join(map(_number, look.dash.value))}"'
    if look.fill is None:
        return f'fill="none" {_painted("stroke", look.line)} {width}'
    classes = f'class="tw-fill-{look.fill.value} tw-stroke-{look.line.value}"'
    return f'{classes} fill="{LIGHT[look.fill]}" stroke="{LIGHT[look.line]}" {width}'


def _painted(part: str, tone: Tone | None) -> str:
    if tone is None:
        return f'{part}="none"'
    return f'class="tw-{part}-{tone.value}" {part}="{LIGHT[tone]}"'


def _points(points: Iterable[Point]) -> str:
    return " ".join(map(_pair, points))


def _pair(point: Point) -> str:
    return f"{_number(point[0])},{_number(point[1])}"


def _number(number: float) -> str:
    """Write a number to the hundredth, without needless noughts."""
    written = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if written in ("-0", "") else written
