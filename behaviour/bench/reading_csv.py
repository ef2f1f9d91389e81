"""Tables of values (CSV) as data loggers and logic analysers export them: time, then signals."""

import csv
import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from behaviour.bench.capture import FINGERPRINT, CaptureError, Channel, Recording, Told
from behaviour.model import Micros

UNITS = {"s": 10**6, "ms": 10**3, "us": 1, "": 10**6}
_HEAD = re.compile(r"time\s*[_ ]?\s*[\[(]?\s*(s|ms|us)?\s*[\])]?", re.IGNORECASE)
HEAD_FORM = "the first column is the time, such as `time [ms]` (or s, us); the others are signals"
SEPARATORS = (",", ";", "\t")


def read_csv(text: str) -> Recording:
    """Read a table. An empty cell is a signal that has not changed. Raises CaptureError."""
    lines = text.splitlines()
    head_at = next((at for at, line in enumerate(lines) if _is_told(line)), None)
    if head_at is None:
        raise CaptureError(f"this table is empty: {HEAD_FORM}")
    separator = max(SEPARATORS, key=lines[head_at].count)
    names, micros = _head(lines[head_at], separator, head_at + 1)
    told: list[list[Told]] = [[] for _ in names]
    first: Micros | None = None
    now: Micros = 0
    for line, cells in _rows(lines, separator, head_at + 1):
        if len(cells) != len(names) + 1:
            raise CaptureError(
                f"{len(cells)} cells stand here, and {len(names) + 1} in the head", line
            )
        at = _time(cells[0], micros, line)
        if first is not None and at < now:
            raise CaptureError("time goes back here", line)
        now = at
        first = at if first is None else first
        for cell, column in zip(cells[1:], told, strict=True):
            if cell and (not column or column[-1].word != cell):
                column.append(Told(now, cell, line))
    if first is None:
        raise CaptureError("nothing stands under the head of this table")
    channels = tuple(Channel(name, tuple(column)) for name, column in zip(names, told, strict=True))
    return Recording(channels, first, now, _fingerprint(lines[:head_at]))


def _head(line: str, separator: str, number: int) -> tuple[list[str], int]:
    names = [cell.strip() for cell in next(csv.reader([line], delimiter=separator))]
    head = _HEAD.fullmatch(names[0])
    if head is None or len(names) < 2:  # noqa: PLR2004 (the time and a signal)
        raise CaptureError(f"`{names[0]}` does not begin a table of signals: {HEAD_FORM}", number)
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise CaptureError(f"two columns are called `{twice}`", number)
    return names[1:], UNITS[(head[1] or "").lower()]


def _rows(lines: list[str], separator: str, begin: int) -> Iterator[tuple[int, list[str]]]:
    numbers = [at for at, line in enumerate(lines[begin:], start=begin + 1) if _is_told(line)]
    cells = csv.reader((lines[at - 1] for at in numbers), delimiter=separator)
    for number in numbers:
        try:
            yield number, [cell.strip() for cell in next(cells, [])]
        except csv.Error as problem:
            raise CaptureError(f"this is no row of a table: {problem}", number) from problem


def _is_told(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith(("#", ";"))


def _time(cell: str, micros: int, line: int) -> Micros:
    try:
        return int((Decimal(cell) * micros).to_integral_value())
    except (InvalidOperation, OverflowError, ValueError) as problem:
        raise CaptureError(f"`{cell}` is no time", line) from problem


def _fingerprint(comments: list[str]) -> str | None:
    found = (FINGERPRINT.search(line) for line in comments)
    return next((match[0] for match in found if match), None)
