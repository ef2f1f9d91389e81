"""Lines of a file with a place in them marked. It knows nothing of why they are shown."""

from unicodedata import combining, east_asian_width

from behaviour.findings import Label
from behaviour.source import NOWHERE, Source

LONGEST_LINE = 140
BEFORE_MARK = 50
CUT = "..."


def marked_lines(source: Source, labels: tuple[Label, ...]) -> tuple[str, ...]:
    """Show each label's line with its number, and below it the mark and the label's words.

    A label that stands nowhere in the file gives no lines.
    """
    shown = [label for label in labels if label.span != NOWHERE]
    width = max((len(str(label.span.line)) for label in shown), default=0)
    lines: list[str] = []
    for label in shown:
        lines += _marked(source, label, width)
    return tuple(lines)


def place_of(source: Source, label: Label) -> str:
    """Write where a label stands in the form that editors jump to: `file:line:column`."""
    if label.span == NOWHERE:
        return source.name
    return f"{source.name}:{label.span.line}:{label.span.column}"


def _marked(source: Source, label: Label, width: int) -> list[str]:
    span = label.span
    line, begin, end = _window(
        source.line(span.line),
        span.column - 1,
        span.end_column - 1 if span.end_line == span.line else None,
    )
    pad = "".join("\t" if sign == "\t" else " " * _cells(sign) for sign in line[:begin])
    mark = "^" * max(1, sum(map(_cells, line[begin:end])))
    words = f" {label.text}" if label.text else ""
    return [f"{span.line:>{width}} | {_printable(line)}", f"{'':>{width}} | {pad}{mark}{words}"]


def _window(line: str, begin: int, end: int | None) -> tuple[str, int, int]:
    """Cut a very long line down to what stands round the mark; give the mark's place in it."""
    last = len(line) if end is None else min(end, len(line))
    last = max(begin, last)
    if len(line) <= LONGEST_LINE:
        return line, begin, last
    first = max(0, begin - BEFORE_MARK)
    part = line[first : first + LONGEST_LINE]
    head = CUT if first else ""
    tail = CUT if first + LONGEST_LINE < len(line) else ""
    shift = len(head) - first
    return f"{head}{part}{tail}", begin + shift, min(last, first + len(part)) + shift


def _printable(line: str) -> str:
    return "".join(sign if sign == "\t" or sign.isprintable() else "\ufffd" for sign in line)


def _cells(sign: str) -> int:
    """Count the cells of a terminal that a character takes."""
    if combining(sign):
        return 0
    return 2 if east_asian_width(sign) in ("W", "F") else 1
