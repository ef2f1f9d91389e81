"""The sentences of a behaviour as PDF: pages of A4 with a line for initials by each sentence."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import count, groupby

from behaviour.cautions import CAUTIONS
from behaviour.draw import paint
from behaviour.draw.lettering import width
from behaviour.draw.shapes import Line, Look, Picture, Shape, Side, Tone, Words
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.sentences_markdown import ASKED, BEFORE, READ, SIGNED
from behaviour.source import Source
from behaviour.tell.sentences import sheet_of
from behaviour.tell.sheet import Section

WIDE, HIGH = 595.3, 841.9
"""A4, in points."""

MARGIN, FOOT = 45.0, 40.0
SIZE, LEADING = 9.5, 13.0
HEADINGS = {1: 15.0, 2: 12.0, 3: 10.0}
NUMBER, INITIALS, GAP = 26.0, 52.0, 12.0
"""How wide the column of numbers is, how long a line for initials, and what lies before it."""

NO_BREAK = "\u00a0"
AS_WIDE_AS = str.maketrans({"“": "c", "”": "c", "–": "c", "¶": "o"})
"""Signs that no width is known of, and letters about as wide."""

Pieces = list[tuple[str, bool]]
"""Words of one line, each with whether it is a name and stands out."""


def sentences_pdf(source: Source, model: Model) -> bytes:
    """Write the sentences of a behaviour as PDF. Raises CannotDrawError where there is no Cairo."""
    return paint.pdf(sentence_pages(source, model))


def sentence_pages(source: Source, model: Model) -> tuple[Picture, ...]:
    """Lay the sentences of a behaviour out on pages."""
    sheet = sheet_of(model)
    pages, numbers = _Pages(), count(1)
    mark = f"{source.name}, fingerprint {fingerprint(model)}"
    pages.heading(sheet.prop, 1)
    pages.paragraph(mark)
    pages.paragraph(READ)
    for section in sheet.sections:
        _section(pages, section, numbers, 2)
    if sheet.questions:
        pages.heading(ASKED, 2)
    for each in sheet.questions:
        pages.question(next(numbers), each)
    pages.skip(LEADING)
    pages.paragraph(SIGNED)
    if any(output.hazard for output in model.outputs):
        pages.heading(BEFORE, 2, lines=len(CAUTIONS))
        for caution in CAUTIONS:
            pages.paragraph(f"– {caution}")
    return pages.finished(sheet.prop, mark)


def _section(pages: "_Pages", section: Section, numbers: "count[int]", level: int) -> None:
    if section.is_empty:
        return
    pages.heading(section.title, level)
    if section.remark:
        pages.paragraph(section.remark)
    for line in section.lines:
        pages.sentence(next(numbers), line)
    for part in section.parts:
        _section(pages, part, numbers, level + 1)


@dataclass
class _Pages:
    """Pages as they fill; `at` is how far down the last one is full."""

    done: list[list[Shape]] = field(default_factory=lambda: [[]])
    at: float = MARGIN

    def heading(self, title: str, level: int, lines: int = 3) -> None:
        """Put a heading, with room for some lines after it on the same page."""
        size = HEADINGS[level]
        self.skip(size * 0.8 if self.at > MARGIN else 0)
        self._need(size + (lines + 1) * 1.3 * LEADING)
        self.at += size
        words = title.replace("`", "")
        self.done[-1].append(Words((MARGIN, self.at), words, size, bold=True))
        self.at += 5

    def paragraph(self, text: str) -> None:
        self._lines(text, MARGIN, WIDE - 2 * MARGIN)
        self.skip(3)

    def sentence(self, number: int, text: str) -> None:
        """Put a numbered sentence, and a line for initials where it ends."""
        self._numbered(number, text, WIDE - 2 * MARGIN - NUMBER - GAP - INITIALS)
        self._rule(WIDE - MARGIN - INITIALS)
        self.skip(3)

    def question(self, number: int, text: str) -> None:
        """Put a numbered question, and a line to answer it on."""
        self._numbered(number, text, WIDE - 2 * MARGIN - NUMBER, more=2 * LEADING)
        self.skip(1.6 * LEADING)
        self._rule(MARGIN + NUMBER)
        self.skip(3)

    def skip(self, down: float) -> None:
        self.at += down

    def finished(self, title: str, mark: str) -> tuple[Picture, ...]:
        """Give the pages, each with what it is a copy of and its number at its foot."""
        pages = []
        for number, shapes in enumerate(self.done, 1):
            foot = HIGH - FOOT + LEADING
            says = f"{number} of {len(self.done)}"
            left = Words((MARGIN, foot), f"{title}: {mark}", 8.0, tone=Tone.FAINT)
            right = Words((WIDE - MARGIN, foot), says, 8.0, Side.RIGHT, tone=Tone.FAINT)
            pages.append(Picture(title, WIDE, HIGH, (*shapes, left, right)))
        return tuple(pages)

    def _numbered(self, number: int, text: str, wide: float, more: float = 0) -> None:
        lines = list(_wrapped(text, wide))
        self._need(len(lines) * LEADING + more)
        at = (MARGIN + NUMBER - 6, self.at + SIZE)
        self.done[-1].append(Words(at, f"{number}.", SIZE, Side.RIGHT))
        self._put(lines, MARGIN + NUMBER)

    def _lines(self, text: str, left: float, wide: float) -> None:
        lines = list(_wrapped(text, wide))
        self._need(len(lines) * LEADING)
        self._put(lines, left)

    def _put(self, lines: list[Pieces], left: float) -> None:
        for line in lines:
            if self.at + LEADING > HIGH - FOOT:
                self._turn()
            right = left
            for words, bold in line:
                self.done[-1].append(Words((right, self.at + SIZE), words, SIZE, bold=bold))
                right += _measured(words, bold=bold)
            self.at += LEADING

    def _rule(self, left: float) -> None:
        points = ((left, self.at - 1), (WIDE - MARGIN, self.at - 1))
        self.done[-1].append(Line(points, Look(thick=0.5)))

    def _need(self, down: float) -> None:
        """Begin a page where so much does not fit on this one, unless it fits on none."""
        if self.at + down > HIGH - FOOT and down < HIGH - FOOT - MARGIN:
            self._turn()

    def _turn(self) -> None:
        self.done.append([])
        self.at = MARGIN


def _wrapped(text: str, wide: float) -> Iterator[Pieces]:
    """Break a text into lines of pieces; names between back-ticks stand out."""
    line: Pieces = []
    filled = 0.0
    for word in _words(text):
        long = sum(_measured(words, bold=bold) for words, bold in word)
        blank = _measured(" ", bold=False) if line else 0.0
        if line and filled + blank + long > wide:
            yield _joined(line)
            line, filled, blank = [], 0.0, 0.0
        if blank:
            line.append((" ", False))
        line += word
        filled += blank + long
    if line:
        yield _joined(line)


def _words(text: str) -> Iterator[Pieces]:
    """Split a text at its blanks; a name and the sign that stands at it stay together."""
    whole = re.sub(r"`[^`]*`", lambda name: name[0].replace(" ", NO_BREAK), text)
    for word in whole.split(" "):
        parts = re.split(r"`([^`]*)`", word)
        pieces = [(part, bool(place % 2)) for place, part in enumerate(parts) if part]
        if pieces:
            yield pieces


def _joined(line: Pieces) -> Pieces:
    """Make one piece of those that follow one another and look alike."""
    alike = groupby(line, key=lambda piece: piece[1])
    return [("".join(words for words, _ in pieces), bold) for bold, pieces in alike]


def _measured(words: str, *, bold: bool) -> float:
    return width(words.translate(AS_WIDE_AS), SIZE, bold=bold)
