"""The frames of a state diagram put on sheets: one of its own shape, or pages of A4 and A3.

Strategy: frames stand in rows, a small one below another where the row has room; of all widths
that a sheet could have, the one is taken at which the letters come out largest on the paper. No
letter is smaller than 2.5 mm on paper: what does not fit so goes on over more pages, and a frame
that is larger than a page is cut into pages to be glued together.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from behaviour.draw.lettering import LINE, UNDER, widest, wrapped
from behaviour.draw.look import TEXT
from behaviour.draw.shapes import Picture, Shape, Words, moved

MARGIN, GAP = 14.0, 16.0
HEAD_TITLE, HEAD_TEXT = 17.0, 11.0
MILLIMETRE = 72 / 25.4
SMALLEST = 2.5 * MILLIMETRE
LARGEST = 1.25
EDGE = 10 * MILLIMETRE
OVERLAP = 10 * MILLIMETRE
PAPERS = {"a4": (297 * MILLIMETRE, 210 * MILLIMETRE), "a3": (420 * MILLIMETRE, 297 * MILLIMETRE)}
"""Width and height, lying."""


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame, ready to be put somewhere."""

    width: float
    height: float
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands above and below the frames."""

    title: str
    about: str
    mark: str
    legend: tuple[str, ...]


def one_sheet(heading: Heading, frames: Sequence[Frame]) -> Picture:
    """Put all frames on one sheet, in the shape that suits paper best."""
    sheets = [_sheet(heading, frames, most) for most in _widths(frames)]
    return max(sheets, key=lambda sheet: max(_scale(sheet, paper) for paper in _turned("a3")))


def fits(sheet: Picture) -> bool:
    """Tell whether a sheet fits on a page of A3 with no letter too small."""
    return any(_scale(sheet, size) * TEXT >= SMALLEST for size in _turned("a3"))


def pages(
    heading: Heading, frames: Sequence[Frame], paper: str | None = None
) -> tuple[Picture, ...]:
    """Put the frames on pages: one of A4, else one of A3, else more, unless a paper is named."""
    whole = [_sheet(heading, frames, most) for most in _widths(frames)]
    for name in (paper,) if paper else ("a4", "a3"):
        sheet, size = _best(whole, name)
        if _scale(sheet, size) * TEXT >= SMALLEST:
            return (_on_paper(sheet, size),)
    return _numbered(tuple(_several(heading, frames, paper or "a3")))


def on_pages(sheet: Picture, paper: str | None = None) -> tuple[Picture, ...]:
    """Put one sheet on a page of A4, else of A3, else cut it into pages."""
    for name in (paper,) if paper else ("a4", "a3"):
        _, size = _best((sheet,), name)
        if _scale(sheet, size) * TEXT >= SMALLEST:
            return (_on_paper(sheet, size),)
    return _numbered(tuple(_tiles(sheet, _turned(paper or "a4")[1])))


# --- One sheet ----------------------------------------------------------------------------------


def _sheet(heading: Heading, frames: Sequence[Frame], most: float) -> Picture:
    """Put frames in rows of at most that width, below the title and above the legend."""
    places, right, bottom = _placed(frames, most)
    inner = max(right, widest((heading.title,), HEAD_TITLE, bold=True), 260.0)
    shapes: list[Shape] = []
    y = MARGIN + HEAD_TITLE
    shapes.append(Words((MARGIN, y), heading.title, HEAD_TITLE, bold=True))
    y += UNDER
    for line in wrapped(heading.about, inner, HEAD_TEXT):
        y += HEAD_TEXT * LINE
        shapes.append(Words((MARGIN, y), line, HEAD_TEXT))
    y += GAP
    for frame, (left, top) in zip(frames, places, strict=True):
        shapes += [moved(shape, MARGIN + left, y + top) for shape in frame.shapes]
    y += bottom + GAP / 2
    legend = [line for each in heading.legend for line in wrapped(each, inner, TEXT)]
    legend.append(heading.mark)
    wide = widest(legend, TEXT) + 2 * GAP
    rows = -(-len(legend) // max(1, int((inner + 2 * GAP) // wide)))
    for number, line in enumerate(legend):
        column, row = divmod(number, rows)
        at = (MARGIN + column * wide, y + TEXT * LINE * (row + 1))
        shapes.append(Words(at, line, TEXT))
    y += TEXT * LINE * rows
    return Picture(heading.title, inner + 2 * MARGIN, y + MARGIN, tuple(shapes))


def _widths(frames: Sequence[Frame]) -> list[float]:
    """List the widths that rows may have: those at which something more fits side by side."""
    found = {frame.width for frame in frames}
    for first in range(len(frames)):
        total = -GAP
        for frame in frames[first:]:
            total += frame.width + GAP
            found.add(total)
    least = max(frame.width for frame in frames)
    return sorted(width + 0.1 for width in found if width >= least)


def _placed(frames: Sequence[Frame], most: float) -> tuple[list[tuple[float, float]], float, float]:
    """Give the place of each frame, and how far right and down they go.

    The tallest begins each row; a frame goes below another of its row where there is room.
    """
    order = sorted(range(len(frames)), key=lambda at: -frames[at].height)
    places: dict[int, tuple[float, float]] = {}
    top = right = 0.0
    while len(places) < len(frames):
        row = next(frames[at] for at in order if at not in places).height
        columns: list[list[float]] = []
        for at in order:
            if at in places:
                continue
            frame = frames[at]
            for column in columns:
                left, wide, down = column
                widens = column is columns[-1] and left + frame.width <= most
                if (frame.width <= wide or widens) and down + GAP + frame.height <= row:
                    places[at] = (left, top + down + GAP)
                    column[1:] = [max(wide, frame.width), down + GAP + frame.height]
                    break
            else:
                left = columns[-1][0] + columns[-1][1] + GAP if columns else 0.0
                if left + frame.width <= most:
                    places[at] = (left, top)
                    columns.append([left, frame.width, frame.height])
        right = max(right, *(left + wide for left, wide, _ in columns))
        top += row + GAP
    return [places[at] for at in range(len(frames))], right, top - GAP


# --- Paper --------------------------------------------------------------------------------------


def _turned(paper: str) -> tuple[tuple[float, float], tuple[float, float]]:
    wide, high = PAPERS[paper]
    return (wide, high), (high, wide)


def _scale(sheet: Picture, size: tuple[float, float]) -> float:
    """Give how large a sheet comes out on a paper, its edge left free."""
    across = (size[0] - 2 * EDGE) / sheet.width
    return min(LARGEST, across, (size[1] - 2 * EDGE) / sheet.height)


def _best(sheets: Sequence[Picture], paper: str) -> tuple[Picture, tuple[float, float]]:
    choices = [(sheet, size) for sheet in sheets for size in _turned(paper)]
    return max(choices, key=lambda choice: _scale(*choice))


def _on_paper(sheet: Picture, size: tuple[float, float]) -> Picture:
    by = _scale(sheet, size)
    left, top = ((whole - part * by) / 2 for whole, part in zip(size, _size(sheet), strict=True))
    return Picture(sheet.title, *size, tuple(moved(each, left, top, by) for each in sheet.shapes))


def _size(sheet: Picture) -> tuple[float, float]:
    return sheet.width, sheet.height


def _several(heading: Heading, frames: Sequence[Frame], paper: str) -> list[Picture]:
    """Fill pages with frames in their order; one that is larger than a page is cut."""
    found: list[Picture] = []
    here: list[Frame] = []
    for frame in frames:
        if here and not _fits(heading, [*here, frame], paper):
            found += _page(heading, here, paper)
            here = []
        here.append(frame)
    return found + _page(heading, here, paper)


def _fits(heading: Heading, frames: Sequence[Frame], paper: str) -> bool:
    sheets = [_sheet(heading, frames, most) for most in _widths(frames)]
    return _scale(*_best(sheets, paper)) * TEXT >= SMALLEST


def _page(heading: Heading, frames: Sequence[Frame], paper: str) -> list[Picture]:
    sheets = [_sheet(heading, frames, most) for most in _widths(frames)]
    sheet, size = _best(sheets, paper)
    if _scale(sheet, size) * TEXT >= SMALLEST:
        return [_on_paper(sheet, size)]
    return _tiles(sheet, size)


def _tiles(sheet: Picture, size: tuple[float, float]) -> list[Picture]:
    """Cut a sheet into pages that overlap by a centimetre, at the smallest letters allowed."""
    by = SMALLEST / TEXT
    room = tuple(whole - 2 * EDGE - OVERLAP for whole in size)
    counts = tuple(
        max(1, -int(-(part * by - OVERLAP) // each))
        for part, each in zip(_size(sheet), room, strict=True)
    )
    return [
        Picture(
            sheet.title,
            *size,
            tuple(
                moved(each, EDGE - column * room[0], EDGE - row * room[1], by)
                for each in sheet.shapes
            ),
        )
        for row in range(counts[1])
        for column in range(counts[0])
    ]


def _numbered(found: tuple[Picture, ...]) -> tuple[Picture, ...]:
    """Write the number of each page at its foot."""
    return tuple(
        Picture(
            page.title,
            page.width,
            page.height,
            (
                *page.shapes,
                Words((EDGE, page.height - EDGE / 2), f"page {n} of {len(found)}", TEXT),
            ),
        )
        for n, page in enumerate(found, start=1)
    )
