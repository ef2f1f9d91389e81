"""Draws with weights, and what a random prop is made of before its regions are written."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TypeVar

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from behaviour.model import (
    Counter,
    Input,
    Output,
)

LOOP = 10_000

Item = TypeVar("Item")

between = cache(st.integers)
"""Whole numbers between two; to make that anew for each draw takes as long as the draw."""


@dataclass(frozen=True)
class Dice:
    """Draws with weights, of whole numbers between two that `number` gives.

    The simplest choice is the least, and the one that shrinking goes to.
    """

    number: Callable[[int, int], int]

    @classmethod
    def drawn(cls, draw: DrawFn) -> "Dice":
        """Give dice that hypothesis throws, one by one."""
        return cls(lambda low, high: draw(between(low, high)))

    def one_in_hundred(self, percent: int) -> bool:
        return self.number(0, 99) >= 100 - percent

    def weighted(self, *choices: tuple[int, Item]) -> Item:
        at = self.number(0, sum(weight for weight, _ in choices) - 1)
        for weight, item in choices:
            at -= weight
            if at < 0:
                return item
        raise AssertionError

    def one_of(self, items: Sequence[Item]) -> Item:
        return items[self.number(0, len(items) - 1)]

    def loops(self, low: int, high: int) -> int:
        """A time of so many loops, in microseconds; now and then it does not fill the last."""
        count = self.number(low, high)
        return count * LOOP - (3_000 if count and self.one_in_hundred(25) else 0)


@dataclass(frozen=True)
class World:
    """What a prop is made of, before its regions are written."""

    dice: Dice
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    counters: tuple[Counter, ...]
    owner: dict[str, int]
    states: tuple[int, ...]
    """How many states each region has in all."""
    forced: tuple[str, ...]
    machine: bool
    """The first region works a motor, and waits for what the first mechanism brings."""
    moved_by: dict[str, str] = field(default_factory=dict)
    """For each forced input, the output that the mechanism which forces it watches."""

    def owned(self, region: int) -> list[Output]:
        return [each for each in self.outputs if self.owner[each.name] == region]

    def counted(self, region: int) -> list[Counter]:
        return [each for each in self.counters if self.owner[each.name] == region]
