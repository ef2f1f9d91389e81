"""Pictures painted as PNG and PDF, by the library Cairo.

Cairo comes with Graphviz. Words that its font makes wider than they were measured are drawn
narrower, so that they stay in their boxes.
"""

from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any, assert_never

from behaviour.draw import lettering
from behaviour.draw.render import CannotDrawError
from behaviour.draw.shapes import (
    Box,
    Curve,
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

if TYPE_CHECKING:
    from types import ModuleType

    Context = Any

FONT = "DejaVu Sans"
DOTS_PER_POINT = 2.0
MOST_DOTS = 12_000
"""No side of a PNG has more; a larger picture is painted coarser."""
GREY = {Tone.INK: 0.1, Tone.FAINT: 0.36, Tone.SHADE: 0.9, Tone.PAPER: 1.0}
NO_DATE = "2000-01-01T00:00:00"
"""The same picture gives the same bytes, whenever it is painted."""


def png(picture: Picture) -> bytes:
    """Paint a picture as PNG. Raises CannotDrawError where there is no Cairo."""
    cairo = _cairo()
    dots = min(DOTS_PER_POINT, MOST_DOTS / max(picture.width, picture.height))
    size = (round(picture.width * dots), round(picture.height * dots))
    surface = cairo.ImageSurface(cairo.FORMAT_RGB24, *size)
    context = cairo.Context(surface)
    context.scale(dots)
    _paint(cairo, context, picture)
    data = BytesIO()
    surface.write_to_png(data)
    return data.getvalue()


def pdf(pages: Sequence[Picture]) -> bytes:
    """Paint pictures as the pages of one PDF. Raises CannotDrawError where there is no Cairo."""
    cairo = _cairo()
    data = BytesIO()
    surface = cairo.PDFSurface(data, pages[0].width, pages[0].height)
    surface.set_metadata(cairo.PDF_METADATA_TITLE, pages[0].title)
    surface.set_metadata(cairo.PDF_METADATA_CREATE_DATE, NO_DATE)
    context = cairo.Context(surface)
    for page in pages:
        surface.set_size(page.width, page.height)
        _paint(cairo, context, page)
        surface.show_page()
    surface.finish()
    return data.getvalue()


def _cairo() -> "ModuleType":
    try:
        import cairocffi
    except OSError as missing:
        raise CannotDrawError(
            "a PNG or a PDF needs the library Cairo, which comes with Graphviz: install it with"
            " `apt-get install graphviz`, or draw `--as svg`, which needs nothing more"
        ) from missing
    module: ModuleType = cairocffi
    return module


def _paint(cairo: "ModuleType", context: "Context", picture: Picture) -> None:
    options = cairo.FontOptions()
    options.set_hint_metrics(cairo.HINT_METRICS_OFF)
    options.set_antialias(cairo.ANTIALIAS_GRAY)
    context.set_font_options(options)
    context.set_line_join(cairo.LINE_JOIN_ROUND)
    context.set_source_rgb(*[GREY[Tone.PAPER]] * 3)
    context.paint()
    _shapes(context, picture.shapes)


def _shapes(context: "Context", shapes: Iterable[Shape]) -> None:
    for shape in shapes:
        match shape:
            case Group(shapes=inner):
                _shapes(context, inner)
            case Words():
                _words(context, shape)
            case Line(points=points, look=look):
                _trace(context, points)
                _finish(context, look)
            case Patch(points=points, look=look):
                _trace(context, points)
                context.close_path()
                _finish(context, look)
            case Curve(points=points, look=look):
                context.move_to(*points[0])
                for at in range(1, len(points) - 2, 3):
                    context.curve_to(*points[at], *points[at + 1], *points[at + 2])
                _finish(context, look)
            case Box():
                _box(context, shape)
            case _:
                assert_never(shape)


def _trace(context: "Context", points: Sequence[Point]) -> None:
    context.move_to(*points[0])
    for point in points[1:]:
        context.line_to(*point)


def _box(context: "Context", box: Box) -> None:
    left, top, right, bottom = box.left, box.top, box.left + box.width, box.top + box.height
    round_by, quarter = box.rounding, 1.5707963267948966
    if not round_by:
        context.rectangle(left, top, box.width, box.height)
    else:
        context.new_sub_path()
        context.arc(right - round_by, top + round_by, round_by, -quarter, 0)
        context.arc(right - round_by, bottom - round_by, round_by, 0, quarter)
        context.arc(left + round_by, bottom - round_by, round_by, quarter, 2 * quarter)
        context.arc(left + round_by, top + round_by, round_by, 2 * quarter, 3 * quarter)
        context.close_path()
    _finish(context, box.look)


def _finish(context: "Context", look: Look) -> None:
    if look.fill is not None:
        context.set_source_rgb(*[GREY[look.fill]] * 3)
        context.fill_preserve()
    if look.line is not None:
        context.set_source_rgb(*[GREY[look.line]] * 3)
        context.set_line_width(look.thick)
        context.set_dash(list(look.dash.value))
        context.stroke_preserve()
    context.new_path()


def _words(context: "Context", words: Words) -> None:
    context.select_font_face(FONT, weight=int(words.bold))
    context.set_font_size(words.size)
    measured = lettering.width(words.text, words.size, bold=words.bold)
    drawn = context.text_extents(words.text)[4]
    narrower = min(1.0, measured / drawn) if drawn else 1.0
    shift = {Side.LEFT: 0.0, Side.MIDDLE: 0.5, Side.RIGHT: 1.0}[words.side]
    context.save()
    context.translate(words.at[0] - shift * drawn * narrower, words.at[1])
    context.scale(narrower, 1.0)
    context.set_source_rgb(*[GREY[words.tone]] * 3)
    context.move_to(0, 0)
    context.show_text(words.text)
    context.restore()
