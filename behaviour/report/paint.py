"""What text is printed on: with colour or without, and how wide. It knows no finding."""

from dataclasses import dataclass

END = "\x1b[0m"
WIDEST, NARROWEST = 100, 40
"""Columns that text is wrapped to where nothing is narrower, and below which it is not squeezed."""


@dataclass(frozen=True, slots=True)
class Paint:
    """Paints words if `on`. What a colour says is always said in words too."""

    on: bool
    width: int = WIDEST

    @property
    def is_narrow(self) -> bool:
        return self.width < WIDEST

    def bad(self, words: str) -> str:
        return self._in("\x1b[1;31m", words)

    def doubtful(self, words: str) -> str:
        return self._in("\x1b[1;33m", words)

    def good(self, words: str) -> str:
        return self._in("\x1b[32m", words)

    def strong(self, words: str) -> str:
        return self._in("\x1b[1m", words)

    def faint(self, words: str) -> str:
        return self._in("\x1b[2m", words)

    def _in(self, colour: str, words: str) -> str:
        return f"{colour}{words}{END}" if self.on and words else words


PLAIN = Paint(on=False)
