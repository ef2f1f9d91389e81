"""Lines of a file with a place in them marked. It knows nothing of why they are shown."""

from textwrap import wrap
from unicodedata import combining, east_asian_width

from behaviour.findings import Label
from behaviour.source import NOWHERE, Source

LONGEST_LINE = 140
BEFORE_MARK = 50
CUT = "..."


def marked_lines(
    source: Source, labels: tuple[Label, ...], room: int | None = None
) -> tuple[str, ...]:
    """Show each label's line with its number, and below it the mark and the label's words.

    A label that stands nowhere in the file gives no lines. With `room` no line is wider.
    """
    shown = [label for label in labels if label.span != NOWHERE]
    width = max((len(str(label.span.line)) for label in shown), default=0)
    lines: list[str] = []
    for label in shown:
        lines += _marked(source, label, width, None if room is None else room - width - len(" | "))
    return tuple(lines)


def place_of(source: Source, label: Label) -> str:
    """Write where a label stands in the form that editors jump to: `file:line:column`."""
    if label.span == NOWHERE:
        return source.name
    return f"{source.name}:{label.span.line}:{label.span.column}"


def _marked(source: Source, label: Label, width: int, room: int | None) -> list[str]:
    span = label.span
    line, begin, end = _window(
        source.line(span.line),
        span.column - 1,
        span.end_column - 1 if span.end_line == span.line else None,
        LONGEST_LINE if room is None else room - 2 * len(CUT),
    )
    pad = "".join("\t" if sign == "\t" else " " * _cells(sign) for sign in line[:begin])
    mark = "^" * max(1, sum(map(_cells, line[begin:end])))
    words = f" {label.text}" if label.text else ""
    below = [f"{pad}{mark}{words}"]
    if room is not None and len(below[0]) > room:
        indent = " " * min(len(pad), room // 3)
        told = wrap(label.text, room, initial_indent=indent, subsequent_indent=indent)
        below = [f"{pad}{mark}"[:room], *told]
    shown = f"{span.line:>{width}} | {_printable(line)}"
    return [shown, *(f"{'':>{width}} | {each}" for each in below)]


def _window(line: str, begin: int, end: int | None, longest: int) -> tuple[str, int, int]:
    """Cut a very long line down to what stands round the mark; give the mark's place in it."""
    last = len(line) if end is None else min(end, len(line))
    last = max(begin, last)
    if len(line) <= longest:
        return line, begin, last
    first = max(0, min(begin - min(BEFORE_MARK, longest // 3), len(line) - longest))
    part = line[first : first + longest]
    head = CUT if first else ""
    tail = CUT if first + longest < len(line) else ""
    shift = len(head) - first
    return f"{head}{part}{tail}", begin + shift, min(last, first + len(part)) + shift


def _printable(line: str) -> str:
    return "".join(sign if sign == "\t" or sign.isprintable() else "\ufffd" for sign in line)


def _cells(sign: str) -> int:
    """Count the cells of a terminal that a character takes."""
    if combining(sign):
        return 0
    return 2 if east_asian_width(sign) in ("W", "F") else 1
