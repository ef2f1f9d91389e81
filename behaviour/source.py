"""Places in a behaviour file. Knows nothing of what stands there."""

from dataclasses import dataclass
from typing import NamedTuple


class Span(NamedTuple):
    """A stretch of text. Lines and columns count from 1, columns in code points; ends exclusive."""

    line: int
    column: int
    end_line: int
    end_column: int


@dataclass(frozen=True, slots=True)
class Source:
    """A behaviour file as it was read: the name it was asked for by, and its text."""

    name: str
    text: str

    def line(self, number: int) -> str:
        """Give line `number` (from 1) without its line end; empty when there is none."""
        lines = self.text.splitlines()
        return lines[number - 1] if 0 < number <= len(lines) else ""


NOWHERE = Span(0, 0, 0, 0)
"""The place of what was not written by anybody, such as a model built by a test."""
