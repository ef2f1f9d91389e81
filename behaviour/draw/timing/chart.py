"""The timing chart of a run, drawn. Pure: the same run gives the same picture.

Strategy: a thing with two values is a line that is low or high, one with more a band with the
value's name in it; a name that does not fit is a letter, told below. A hazard away from rest is
filled. A wait that was cut is a break through all lanes; a run too long for one strip goes on in
the next.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise

from behaviour.draw.lettering import LINE, UNDER, widest, width, wrapped
from behaviour.draw.shapes import (
    Box,
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
    moved,
)
from behaviour.draw.timing.axis import LAST, Piece, Strip, strips, ticks
from behaviour.draw.timing.lanes import Lane, Lanes, Mark, Sort, Stretch, Timer, lanes_of
from behaviour.findings import Run
from behaviour.fingerprint import fingerprint
from behaviour.model import Micros, Model
from behaviour.telling import clock_at

MARGIN = 16.0
TITLE, TEXT, SMALL = 15.0, 10.0, 9.0
GAP = 10.0
LANE = 22.0
BETWEEN = 10.0
TIMER = 22.0
PAD = 3.0
APART = 52.0
LETTERS = "abcdefghijklnopqrstuvxyz"
"""Without the wide ones, so that each fits where two changes lie closest together."""

HEAVY = Look(thick=1.8)
THIN = Look(thick=0.9, dash=Dash.DOTTED)
GRID = Look(line=Tone.FAINT, thick=0.4)
BAND = Look(thick=1.1, fill=Tone.PAPER)
HOT_BAND = Look(thick=1.8, fill=Tone.SHADE)
HOT = Look(line=None, fill=Tone.SHADE)
RAMP = Look(thick=1.2)
DUE = Look(line=Tone.FAINT, thick=0.8, dash=Dash.DOTTED)
BREACH = Look(thick=2.4)
MARKED = Look(thick=1.2, dash=Dash.DASHED)
TORN = Look(line=None, fill=Tone.PAPER)


@dataclass(frozen=True, slots=True)
class Scale:
    """How long a loop of the lanes is, when the first of them is, and how wide the last is."""

    tick: Micros
    begins: Micros = 0
    last: float = LAST

    def clock(self, loop: int) -> str:
        return clock_at(self.begins + loop * self.tick, self.tick)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What all strips of a chart share: its lanes, how wide names are, and how long a loop is.

    `letters` stand for values whose names do not fit.
    """

    lanes: Lanes
    scale: Scale
    names: float
    letters: dict[str, str]


def timing_chart(model: Model, run: Run, title: str, breach: str = "") -> Picture:
    """Draw a run; `breach` says what the loop shows that it is told for.

    Raises NotKnownError where the file leaves open what a loop needs.
    """
    return chart(model, lanes_of(model, run, breach), title, run.says, Scale(model.loop))


def chart(
    model: Model, lanes: Lanes, title: str, says: Iterable[tuple[int, str]], scale: Scale
) -> Picture:
    """Draw lanes of a prop, with what is said of their loops below."""
    rows = strips(lanes.changes(), scale.last)
    sheet = Sheet(lanes, scale, _names_width(lanes), _letters(lanes, rows))
    full = MARGIN + sheet.names + max(row.width for row in rows) + MARGIN
    full = max(full, 420.0)
    shapes: list[Shape] = []
    y = MARGIN
    for line in wrapped(title, full - 2 * MARGIN, TITLE, bold=True):
        y += TITLE * LINE
        shapes.append(Words((MARGIN, y), line, TITLE, bold=True))
    y += UNDER + TEXT * LINE
    shapes.append(Words((MARGIN, y), f"{model.prop}, {fingerprint(model)}", TEXT))
    y += GAP
    for row in rows:
        drawn, height = _strip(sheet, row)
        shapes += [moved(each, MARGIN + sheet.names, y) for each in drawn]
        y += height + GAP
    for line in _below(sheet, says, full - 2 * MARGIN):
        y += TEXT * LINE
        shapes.append(Words((MARGIN, y), line, TEXT))
    return Picture(title, full, y + MARGIN, tuple(shapes))


# --- One strip ----------------------------------------------------------------------------------


def _strip(sheet: Sheet, row: Strip) -> tuple[list[Shape], float]:
    """Draw all lanes over one strip, from the top of it, and give its height."""
    flags, top = _flags(sheet, row)
    drawn: list[Shape] = []
    y = top
    for sort, lanes in groupby(sheet.lanes.lanes, key=lambda lane: lane.sort):
        y += SMALL * LINE
        drawn.append(Words((-sheet.names, y), sort.value, SMALL, tone=Tone.FAINT, bold=True))
        y += 2 * PAD
        for lane in lanes:
            drawn.append(Group(lane.name, "lane", tuple(_lane(sheet, row, lane, y))))
            y += LANE
            if lane.timers:
                drawn += _timers(sheet, row, lane, y)
                y += TIMER
            y += BETWEEN
    grid = list(_grid(sheet, row, top, y))
    torn = [shape for middle in row.breaks() for shape in _break(middle, top, y)]
    lines = [_mark_line(row, mark, top, y) for mark in _marks_in(sheet, row)]
    return [*grid, *drawn, *torn, *lines, *flags], y + TEXT * LINE + GAP


def _grid(sheet: Sheet, row: Strip, top: float, bottom: float) -> Iterator[Shape]:
    """Draw the axis below, its times in seconds, and a thin line up from each."""
    taken = -APART
    for piece in row.pieces:
        yield Line(((piece.left, bottom), (piece.right, bottom)), Look(thick=1.0))
        for loop in ticks(piece, APART):
            x = piece.at(loop)
            words = f"{sheet.scale.clock(loop)} s"
            half = width(words, SMALL) / 2
            yield Line(((x, top), (x, bottom + 4)), GRID)
            if x - half > taken:
                yield Words((x, bottom + 5 + SMALL), words, SMALL, Side.MIDDLE)
                taken = x + half + PAD


def _break(middle: float, top: float, bottom: float) -> Iterator[Shape]:
    """Tear all lanes apart where a wait was cut."""
    yield Box(middle - 5, top, 10, bottom - top + 6, TORN)
    for x in (middle - 5, middle + 5):
        points: list[Point] = []
        y = top
        while y < bottom + 6:
            points.append((x + (2 if len(points) % 2 else -2), y))
            y += 7
        yield Line(tuple(points), Look(line=Tone.FAINT, thick=0.8))


# --- One lane -----------------------------------------------------------------------------------


def _lane(sheet: Sheet, row: Strip, lane: Lane, top: float) -> Iterator[Shape]:
    middle = top + LANE / 2 + 0.36 * TEXT
    yield Words((-sheet.names, middle), lane.name, TEXT, bold=lane.sort is Sort.STATE)
    if lane.levels is None:
        yield from _band(sheet, row, lane, top)
    else:
        low, high = lane.levels
        yield Words((-GAP, top + 0.72 * SMALL), high, SMALL, Side.RIGHT)
        yield Words((-GAP, top + LANE), low, SMALL, Side.RIGHT)
        yield from _levels(row, lane, lane.levels, top)


def _levels(row: Strip, lane: Lane, levels: tuple[str, str], top: float) -> Iterator[Shape]:
    """Draw a thing with two values as a line, and dotted what is really there."""
    low, high = top + LANE - 2, top + 2
    height = {levels[0]: low, levels[1]: high}
    for piece in row.pieces:
        shown = tuple(_within(lane.stretches, piece))
        for value, left, right in shown:
            if lane.rest is not None and value != lane.rest:
                yield Patch(((left, low), (left, high), (right, high), (right, low)), HOT)
        if lane.other != lane.stretches:
            yield Line(_stairs(_within(lane.other, piece), height), THIN)
        yield Line(_stairs(shown, height), HEAVY)


def _stairs(
    shown: Iterable[tuple[str, float, float]], height: dict[str, float]
) -> tuple[Point, ...]:
    return tuple((x, height[value]) for value, left, right in shown for x in (left, right))


def _band(sheet: Sheet, row: Strip, lane: Lane, top: float) -> Iterator[Shape]:
    """Draw a thing with more values as a band that carries their names."""
    for first, end in _joined(row.pieces):
        for stretch in lane.stretches:
            left, right = row.at(max(first, stretch.first)), row.at(min(end, stretch.end))
            if left < right and stretch.first < end and first < stretch.end:
                is_hot = lane.rest is not None and stretch.value != lane.rest
                yield Box(left, top, right - left, LANE, HOT_BAND if is_hot else BAND)
    for stretch in lane.stretches:
        yield from _names(sheet, row, stretch, top)
    if lane.other and lane.other != lane.stretches:
        shown = {(stretch.first, stretch.value) for stretch in lane.stretches}
        for _, after in pairwise(lane.other):
            is_new = (after.first, after.value) not in shown
            if is_new and row.first <= after.first < row.end:
                x = row.at(after.first)
                yield Line(((x, top - 3), (x, top + LANE + 3)), THIN)


def _names(sheet: Sheet, row: Strip, stretch: Stretch, top: float) -> Iterator[Shape]:
    """Write the name of a value in each part of its stretch where it fits.

    Where it fits nowhere, the letter for it stands in the widest part.
    """
    parts = _parts(row, stretch, sheet.lanes.marks)
    y = top + LANE / 2 + 0.36 * TEXT
    wide = [part for part in parts if _fits(stretch.value, part)]
    for left, right in wide:
        yield Words(((left + right) / 2, y), stretch.value, TEXT, Side.MIDDLE)
    if parts and not wide and stretch.value in sheet.letters:
        left, right = max(parts, key=_room)
        letter = sheet.letters[stretch.value]
        if width(letter, SMALL) <= right - left:
            yield Words(((left + right) / 2, y), letter, SMALL, Side.MIDDLE)


def _fits(words: str, part: tuple[float, float]) -> bool:
    return width(words, TEXT) <= _room(part) - 2 * PAD


def _room(part: tuple[float, float]) -> float:
    return part[1] - part[0]


def _timers(sheet: Sheet, row: Strip, lane: Lane, top: float) -> Iterator[Shape]:
    """Draw the time in each state as a ramp up to when the last thing it waits for is due."""
    low, high = top + TIMER - 1, top + 5
    yield Words((-GAP, low), "time in it", SMALL, Side.RIGHT, tone=Tone.FAINT)
    taken = [row.at(mark.loop) for mark in _marks_in(sheet, row)]
    for timer in lane.timers:
        for piece in row.pieces:
            first, end = max(piece.first, timer.first), min(piece.end, timer.end)
            if first < end:
                points = tuple(
                    (piece.at(loop), low - (low - high) * _share(timer, loop))
                    for loop in (first, end)
                )
                yield Line(points, RAMP)
                yield Line(((points[0][0], high), (points[1][0], high)), DUE)
                if end == timer.end and timer.end - timer.first < timer.full:
                    yield Line((points[-1], (points[-1][0], low)), RAMP)
        left = row.at(timer.first) + PAD
        right = left + width(timer.words, SMALL)
        is_free = not any(left - PAD < x < right + PAD for x in (*taken, *row.breaks()))
        if is_free and row.first <= timer.first and right < row.at(timer.end):
            yield Words((left, high + SMALL), timer.words, SMALL)
            taken += [left, (left + right) / 2, right]


def _share(timer: Timer, loop: int) -> float:
    return min(1.0, (loop - timer.first) / timer.full)


def _within(stretches: Iterable[Stretch], piece: Piece) -> Iterator[tuple[str, float, float]]:
    for stretch in stretches:
        first, end = max(stretch.first, piece.first), min(stretch.end, piece.end)
        if first < end:
            yield stretch.value, piece.at(first), piece.at(end)


def _parts(row: Strip, stretch: Stretch, marks: Iterable[Mark]) -> tuple[tuple[float, float], ...]:
    """List the widest part of a stretch between each two breaks that no mark crosses."""
    marked = sorted(row.at(mark.loop) for mark in marks)
    found = []
    for first, end in _joined(row.pieces):
        left, right = (row.at(max(first, stretch.first)), row.at(min(end, stretch.end)))
        if stretch.first < end and first < stretch.end and left < right:
            edges = [left, *(x for x in marked if left < x < right), right]
            found.append(max(pairwise(edges), key=_room))
    return tuple(found)


def _joined(pieces: Iterable[Piece]) -> tuple[tuple[int, int], ...]:
    """List the loops from break to break."""
    found: list[tuple[int, int]] = []
    for piece in pieces:
        if found and found[-1][1] == piece.first:
            found[-1] = (found[-1][0], piece.end)
        else:
            found.append((piece.first, piece.end))
    return tuple(found)


# --- Marks --------------------------------------------------------------------------------------


def _marks_in(sheet: Sheet, row: Strip) -> tuple[Mark, ...]:
    return tuple(mark for mark in sheet.lanes.marks if row.first <= mark.loop < row.end)


def _mark_line(row: Strip, mark: Mark, top: float, bottom: float) -> Shape:
    x = row.at(mark.loop)
    return Line(((x, top - PAD), (x, bottom + 4)), BREACH if mark.is_breach else MARKED)


def _flags(sheet: Sheet, row: Strip) -> tuple[list[Shape], float]:
    """Draw a flag with its words and time above each mark, and give where the lanes begin."""
    shapes: list[Shape] = []
    high = TEXT * LINE + 2 * PAD
    marks = _marks_in(sheet, row)
    for place, mark in enumerate(marks):
        words = f"{sheet.scale.clock(mark.loop)} s  {mark.words}"
        wide = width(words, TEXT, bold=mark.is_breach) + 2 * PAD
        x = row.at(mark.loop)
        left = max(-sheet.names, min(x, row.width - wide))
        top = place * (high + PAD)
        look = Look(thick=1.2, fill=Tone.INK if mark.is_breach else Tone.PAPER)
        tone = Tone.PAPER if mark.is_breach else Tone.INK
        pole = BREACH if mark.is_breach else MARKED
        shapes += [
            Line(((x, top + high), (x, len(marks) * (high + PAD))), pole),
            Box(left, top, wide, high, look),
            Words((left + PAD, top + PAD + TEXT), words, TEXT, bold=mark.is_breach, tone=tone),
        ]
    return shapes, len(marks) * (high + PAD) + PAD


# --- Words around -------------------------------------------------------------------------------


def _names_width(lanes: Lanes) -> float:
    names = [width(lane.name, TEXT, bold=lane.sort is Sort.STATE) for lane in lanes.lanes]
    levels = [widest(lane.levels or (), SMALL) for lane in lanes.lanes]
    levels += [width("time in it", SMALL) for lane in lanes.lanes if lane.timers]
    pairs = zip(names, [widest(lane.levels or (), SMALL) for lane in lanes.lanes], strict=True)
    both = max((name + GAP + level for name, level in pairs), default=0.0)
    return max(both, max(levels, default=0.0)) + GAP


def _letters(lanes: Lanes, rows: Iterable[Strip]) -> dict[str, str]:
    """Give a letter to each value whose name does not fit into its stretch somewhere."""
    found: dict[str, str] = {}
    rows = tuple(rows)
    for lane in lanes.lanes:
        for stretch in lane.stretches if lane.levels is None else ():
            parts = [part for row in rows for part in _parts(row, stretch, lanes.marks)]
            if not any(_fits(stretch.value, part) for part in parts):
                found.setdefault(stretch.value, _letter(len(found)))
    return found


def _letter(number: int) -> str:
    rest, place = divmod(number, len(LETTERS))
    return LETTERS[place] * (rest + 1)


def _below(sheet: Sheet, says: Iterable[tuple[int, str]], most: float) -> Iterator[str]:
    lines = []
    if sheet.letters:
        told = ", ".join(f"{letter} = {value}" for value, letter in sheet.letters.items())
        lines.append(told)
    lines += [f"{sheet.scale.clock(loop)} s  {words}" for loop, words in says]
    if sheet.lanes.still:
        still = ", ".join(f"{lane.name} {lane.stretches[0].value}" for lane in sheet.lanes.still)
        lines.append(f"All the time: {still}")
    lines += [*sheet.lanes.remarks, *_legend(sheet)]
    for line in lines:
        yield from wrapped(line, most, TEXT)


def _legend(sheet: Sheet) -> Iterator[str]:
    if any(lane.other and lane.other != lane.stretches for lane in sheet.lanes.lanes):
        yield f"Dotted: {sheet.lanes.dotted}."
    if any(lane.rest is not None for lane in sheet.lanes.lanes):
        yield "Filled: something dangerous is away from rest."
