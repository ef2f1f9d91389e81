"""Colour for a terminal, or none. It knows no finding; who prints decides whether to paint."""

from dataclasses import dataclass

END = "\x1b[0m"


@dataclass(frozen=True, slots=True)
class Paint:
    """Paints words if `on`. What a colour says is always said in words too."""

    on: bool

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
