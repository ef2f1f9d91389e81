"""How wide words are: in the widest of the fonts that a viewer may show them in.

A line that fits as it is measured here fits in every font that pictures name.
"""

from collections.abc import Iterable

_PLAIN = (
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
)  # fmt: skip
_BOLD = (
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683,
    683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771,
    724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665,
    343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
)  # fmt: skip
"""Widths of the characters from the blank to `~` in DejaVu Sans, in thousandths of its size."""

_FIRST = 32
_OTHER = 1000
_NO_BREAK = "\u00a0"

LINE = 1.2
UNDER = 4.0
"""What stays free below a title, besides the height of what stands there."""
"""The height of a line, in sizes of its letters."""


def width(words: str, size: float, *, bold: bool = False) -> float:
    """Measure a line of words, in points."""
    widths = _BOLD if bold else _PLAIN
    numbers = (ord(letter) - _FIRST for letter in words.replace(_NO_BREAK, " "))
    total = sum(widths[n] if 0 <= n < len(widths) else _OTHER for n in numbers)
    return total * size / 1000


def widest(lines: Iterable[str], size: float, *, bold: bool = False) -> float:
    """Measure the widest of some lines, in points; nothing where there are none."""
    return max((width(line, size, bold=bold) for line in lines), default=0.0)


def wrapped(words: str, most: float, size: float, *, bold: bool = False) -> tuple[str, ...]:
    """Break words into lines that are at most so many points wide, as far as blanks let it."""
    lines: list[str] = []
    for word in words.split(" "):
        if lines and width(f"{lines[-1]} {word}", size, bold=bold) <= most:
            lines[-1] += f" {word}"
        elif word:
            lines.append(word)
    return tuple(lines)


def shortened(words: str, most: float, size: float, *, bold: bool = False) -> str:
    """Cut words that are wider than so many points, and show that they were cut."""
    if width(words, size, bold=bold) <= most:
        return words
    kept = words
    while kept and width(f"{kept}…", size, bold=bold) > most:
        kept = kept[:-1]
    return f"{kept}…"
