"""What the benchmarks print: one figure a line, in columns."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One line of a table: what was measured, and the figure with its unit and a remark."""

    what: str
    figure: float
    unit: str
    remark: str = ""


def table(rows: Iterable[Row]) -> str:
    """Write rows one a line, in columns."""
    listed = list(rows)
    widest = max(len(row.what) for row in listed)
    lines = (
        f"{row.what:<{widest}}  {figure(row.figure):>10} {row.unit:<5}  {row.remark}".rstrip()
        for row in listed
    )
    return "\n".join(lines)


def figure(number: float) -> str:
    """Write a number with three digits that count, and none after the point from 100 on."""
    if number >= 100:
        return f"{number:.0f}"
    return f"{number:.2f}" if number >= 10 else f"{number:.3f}"
