"""What was recorded on the bench: the words of each part of a prop over time.

It knows what a recording says and not whether that is right.
"""

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from behaviour.model import Micros

FINGERPRINT = re.compile(r"\b[0-9a-f]{4}-[0-9a-f]{4}\b")


class CaptureError(Exception):
    """A recording that cannot be read; the message says the line and what is wrong with it."""

    def __init__(self, why: str, line: int | None = None) -> None:
        super().__init__(why if line is None else f"line {line}: {why}")


class Told(NamedTuple):
    """What one line of a recording says of a channel: when, what, and where that stands."""

    at: Micros
    word: str
    line: int


@dataclass(frozen=True, slots=True)
class Channel:
    """One column, wire or name of a recording, by the name that it has there."""

    name: str
    told: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording as it was written, from a power-up on where that is known.

    `counted` tells that it is the firmware's own trace: of inputs it has what counts and not what
    was read, and its moments are those of loops.
    """

    channels: tuple[Channel, ...]
    begins: Micros
    ends: Micros
    fingerprint: str | None = None
    counted: bool = False
    from_power_up: bool = False
    line: int = 1


class Sort(Enum):
    """What of a prop a signal is."""

    INPUT = "inputs"
    REGION = "states"
    COUNTER = "counters"
    OUTPUT = "outputs"


class Stretch(NamedTuple):
    """A value from a moment on."""

    at: Micros
    value: str


@dataclass(frozen=True, slots=True)
class Signal:
    """One part of the prop over time; neighbouring stretches differ in their value."""

    sort: Sort
    name: str
    stretches: tuple[Stretch, ...]

    def number(self, at: Micros) -> int:
        """Give which stretch a moment lies in; the first one reaches back for ever."""
        return max(bisect_right(self.stretches, at, key=lambda each: each.at) - 1, 0)

    def value(self, at: Micros) -> str:
        return self.stretches[self.number(at)].value


@dataclass(frozen=True, slots=True)
class Capture:
    """A recording whose channels were found in the prop; `unused` names those that were not."""

    signals: tuple[Signal, ...]
    begins: Micros
    ends: Micros
    fingerprint: str | None = None
    counted: bool = False
    from_power_up: bool = False
    line: int = 1
    unused: tuple[str, ...] = ()

    def signal(self, sort: Sort, name: str) -> Signal | None:
        return next((each for each in self.signals if (each.sort, each.name) == (sort, name)), None)

    def of(self, sort: Sort) -> tuple[Signal, ...]:
        return tuple(each for each in self.signals if each.sort is sort)


def joined(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Join neighbours with one value, and of several at one moment keep the last."""
    found: list[Stretch] = []
    for each in stretches:
        if found and found[-1].at == each.at:
            found.pop()
        if not found or found[-1].value != each.value:
            found.append(each)
    return tuple(found)


def without_blinks(stretches: Iterable[Stretch], shortest: Micros) -> tuple[Stretch, ...]:
    """Drop what lasts less than `shortest`; what comes after it is there from its beginning on.

    Several wires of one part never change at once, and so show what was never meant.
    """
    return joined(_long_enough(tuple(stretches), shortest))


def _long_enough(stretches: tuple[Stretch, ...], shortest: Micros) -> Iterator[Stretch]:
    began: Micros | None = None
    for place, each in enumerate(stretches):
        at = each.at if began is None else began
        after = stretches[place + 1].at if place + 1 < len(stretches) else None
        if after is not None and place and after - each.at < shortest:
            began = at
            continue
        yield Stretch(at, each.value)
        began = None
