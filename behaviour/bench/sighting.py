"""What a recording has of one loop: what can have been read in it, and what must have come of it.

It knows one loop at a time, and when it may have begun; it does not know how the prop came there.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from behaviour.bench.capture import Capture, Signal, Sort
from behaviour.bench.lines import region_word
from behaviour.model import Micros, Model
from behaviour.semantics import PropState
from behaviour.wording import full_name

FOR_EVER: Micros = 1 << 60


class Mismatch(NamedTuple):
    """A part of the prop that was seen to be otherwise than the behaviour has it, from `at` on."""

    sort: Sort
    name: str
    expected: str
    seen: str
    at: Micros


class Met(NamedTuple):
    """What of each signal is accounted for once a loop agrees, and when it can have begun."""

    seen: tuple[int, ...]
    low: Micros
    high: Micros


@dataclass(frozen=True)
class Sighting:
    """A recording, as loops are held against it; its moments may be off by `slack`.

    `signals` are all that is no input. `edges` are the moments at which anything read changes, and
    `raws` what may be read before each of them and after the last; `is_whole` tells that every
    input was recorded.
    """

    model: Model
    slack: Micros
    signals: tuple[Signal, ...]
    edges: tuple[Micros, ...]
    raws: tuple[tuple[tuple[str, ...], ...], ...]
    with_cues: frozenset[str]
    is_whole: bool

    def readings(
        self, low: Micros, high: Micros
    ) -> Iterator[tuple[tuple[str, ...], Micros, Micros]]:
        """List what can be read from `low` to `high`, each with its moments."""
        slack, edges = self.slack, self.edges
        first = bisect_left(edges, low - slack)
        for number in range(first, bisect_right(edges, high + slack) + 1):
            begins = edges[number - 1] if number else -FOR_EVER
            ends = edges[number] if number < len(edges) else FOR_EVER
            earliest, latest = max(low, begins - slack), min(high, ends + slack - 1)
            if earliest <= latest:
                for raw in self.raws[number]:
                    yield raw, earliest, latest

    def raws_at(self, at: Micros) -> tuple[tuple[str, ...], ...]:
        """Give what may be read at a moment: anything, of what was not recorded."""
        return self.raws[bisect_right(self.edges, at)]

    def shown(self, prop: PropState) -> tuple[str, ...]:
        """Give what each signal would be once a loop has left the prop so."""
        return tuple(self._value(prop, signal) for signal in self.signals)

    def _value(self, prop: PropState, signal: Signal) -> str:
        model = self.model
        match signal.sort:
            case Sort.OUTPUT:
                return prop.outputs[model.output_index[signal.name]]
            case Sort.COUNTER:
                return str(prop.counters[model.counter_index[signal.name]])
            case _:
                place = model.region_index[signal.name]
                region, now = model.regions[place], prop.regions[place]
                if signal.name in self.with_cues:
                    return region_word(region, now.leaf, now.cue)
                return full_name(region, now.leaf)

    def met(
        self, seen: tuple[int, ...], shown: tuple[str, ...], low: Micros, high: Micros
    ) -> Met | tuple[Mismatch, ...]:
        """Hold what a loop shows against what was seen, and narrow when it can have begun."""
        slack, wrong, found = self.slack, [], []
        first, last = low, high
        for signal, value, at in zip(self.signals, shown, seen, strict=True):
            now = signal.stretches[at]
            after = signal.stretches[at + 1] if at + 1 < len(signal.stretches) else None
            if value == now.value:
                found.append(at)
                if after is not None:
                    last = min(last, after.at + slack - 1)
                    if after.at + slack - 1 < low:
                        wrong.append(
                            Mismatch(signal.sort, signal.name, value, after.value, after.at)
                        )
            elif after is not None and value == after.value and after.at - slack <= high:
                found.append(at + 1)
                first, last = max(first, after.at - slack), min(last, after.at + slack)
                if after.at + slack < low:
                    wrong.append(Mismatch(signal.sort, signal.name, now.value, value, after.at))
            else:
                there = signal.value(high)
                wrong.append(Mismatch(signal.sort, signal.name, value, there, high))
        if not wrong and first > last:
            wrong = [
                Mismatch(signal.sort, signal.name, value, signal.value(high), high)
                for signal, value, at, to in zip(self.signals, shown, seen, found, strict=True)
                if to != at
            ] or [
                Mismatch(signal.sort, signal.name, value, signal.stretches[at + 1].value, high)
                for signal, value, at in zip(self.signals, shown, seen, strict=True)
                if at + 1 < len(signal.stretches) and signal.stretches[at + 1].at + slack <= high
            ]
        return tuple(wrong) if wrong else Met(tuple(found), first, last)


def sighting_of(model: Model, capture: Capture, slack: Micros) -> Sighting:
    """Lay a recording out for looking into it. A trace names the cues of each state."""
    read = tuple(capture.signal(Sort.INPUT, item.name) for item in model.inputs)
    edges = sorted({each.at for signal in read if signal for each in signal.stretches[1:]})
    with_cues = frozenset(
        signal.name
        for signal in capture.of(Sort.REGION)
        if capture.counted or any("@" in each.value for each in signal.stretches)
    )
    signals = tuple(each for each in capture.signals if each.sort is not Sort.INPUT)
    raws = tuple(tuple(product(*_read_at(model, read, at))) for at in (-FOR_EVER, *edges))
    is_whole = None not in read
    return Sighting(model, slack, signals, tuple(edges), raws, with_cues, is_whole)


def _read_at(
    model: Model, read: tuple[Signal | None, ...], at: Micros
) -> Iterator[tuple[str, ...]]:
    for item, signal in zip(model.inputs, read, strict=True):
        yield item.values if signal is None else (signal.value(at),)
