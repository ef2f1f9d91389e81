"""A value that stands for stretches of loops: kept by where it changes, however long that takes."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from typing import Generic, TypeVar

Value = TypeVar("Value")


class Stretches(Generic[Value]):
    """What something is in each loop, from loop 0 on."""

    def __init__(self, first: Value) -> None:
        self._begins = [0]
        self._values = [first]

    def at(self, loop: int) -> Value:
        """Give what it is in a loop."""
        return self._values[bisect_right(self._begins, loop) - 1]

    def lay(self, begin: int, end: int | None, value: Value) -> None:
        """Let it be `value` from one loop up to another, or from there on, whatever it was."""
        begin = max(begin, 0)
        first = bisect_left(self._begins, begin)
        if end is None:
            self._begins[first:], self._values[first:] = [begin], [value]
        elif begin < end:
            after = self.at(end)
            last = bisect_right(self._begins, end)
            self._begins[first:last], self._values[first:last] = [begin, end], [value, after]

    def changes(self) -> Iterator[int]:
        """Give the loops in which it may change, from loop 0 on."""
        return iter(self._begins)
