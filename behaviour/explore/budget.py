"""How much a search may use of states, time and memory, and what stops it."""

import sys
import time
from dataclasses import dataclass, field, replace


class LimitError(Exception):
    """A search was stopped by its limit before it had seen everything; `reached` says how far."""

    def __init__(self, limit: str, reached: str) -> None:
        super().__init__(f"{limit}: {reached}")
        self.limit = limit
        self.reached = reached


def most_memory() -> int:
    """Give the most bytes that the process has used so far; 0 where the system does not tell."""
    if sys.platform == "win32":
        return 0
    from resource import RUSAGE_SELF, getrusage

    used = getrusage(RUSAGE_SELF).ru_maxrss
    return used if sys.platform == "darwin" else used * 1024


NEARLY_A_GIBIBYTE = 15 << 26
"""With what the process uses before it searches it stays below a gibibyte."""

LOOKS_APART = 64
"""So many states are counted between two looks at the clock, from the first on, and at memory."""


@dataclass(slots=True)
class Budget:
    """What a search may use: states in all, seconds from its making, and bytes of the process.

    Memory counts from what the process had used when the whole budget was made.
    """

    states: int = 1_000_000
    seconds: float = 3600.0
    memory: int = NEARLY_A_GIBIBYTE
    used: int = 0
    began: float = field(default_factory=time.monotonic)
    whole: "Budget | None" = None
    filled: int = field(default_factory=most_memory)

    def share(self) -> "Budget":
        """Give one question its part: a quarter of the time, and never more than is left."""
        left = self.seconds - (time.monotonic() - self.began)
        seconds = max(min(self.seconds / 4, left), 0.0)
        return Budget(self.states, seconds, self.memory, whole=self, filled=self.filled)

    def part(self, questions: int) -> "Budget":
        """Give the next of so many questions twice its part of what is left: most need less."""
        left = self.seconds - (time.monotonic() - self.began)
        seconds = max(min(2 * left / questions, left), 0.0)
        return Budget(self.states, seconds, self.memory, whole=self, filled=self.filled)

    def few(self, states: int) -> "Budget":
        """Give a question its share, and no more than so many states."""
        return replace(self.share(), states=min(states, self.states))

    def spend(self) -> None:
        """Count one state. Raises LimitError once the budget is used up."""
        self.used += 1
        if self.whole is not None:
            self.whole.used += 1
        if self.used > self.states:
            raise LimitError(f"{self.states} states", self._reached())
        if self.used % LOOKS_APART == 1 and time.monotonic() - self.began > self.seconds:
            raise LimitError(f"{self.seconds:g} s", self._reached())
        if (self.whole or self).used % LOOKS_APART == 0 and self._is_filled():
            raise LimitError(f"{self.memory >> 20} MiB of memory", self._reached())

    def _is_filled(self) -> bool:
        return most_memory() > self.filled + self.memory

    def _reached(self) -> str:
        return f"{self.used} states in {time.monotonic() - self.began:.1f} s"
