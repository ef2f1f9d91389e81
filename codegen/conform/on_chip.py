"""Holds the firmware on a simulated Uno against the definition: its pins and its serial trace.

Strategy: the program is stopped where a loop begins. There the pins get what this loop is to
read, and the time is taken from the call, so that late loops are the definition's too. Where the
loop has ended its pins are compared. What was traced is compared in the end, line by line.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from behaviour.model import Model
from behaviour.semantics import PropState
from codegen.conform.arduino import addresses
from codegen.conform.build import CannotBuildError, ProgramError
from codegen.conform.lockstep import Mismatch
from codegen.conform.simulator import HERTZ, Chip, powered
from codegen.conform.terminals import levels, reading, refuse_what_cannot_be_led
from codegen.conform.timeline import (
    Call,
    Dice,
    DrawKey,
    Timeline,
    enumerators,
    first_call,
    next_call,
)
from codegen.module import Module
from codegen.refusals import MILLISECOND

NOW_ARGUMENT, LOW_ARGUMENT, HIGH_ARGUMENT, RESULT = 20, 22, 18, 22
"""In which registers avr-gcc passes them, the lowest byte first."""
LONGEST_LOOP = HERTZ
"""A loop that takes longer than a second is none."""
SENDING_MS = 100
"""So long after the last loop the trace has been sent."""


@dataclass(frozen=True, slots=True)
class Played:
    """How a run went on the chip: its loops, the longest in cycles, and the first difference.

    A loop is timed as the call that makes it, with the interrupts that come meanwhile, and without
    the trace.
    """

    loops: int
    simulated_ms: int
    longest_step: int
    mismatch: Mismatch | None


def play(model: Model, module: Module, program: Path, timeline: Timeline) -> Played:
    """Run a program that was built call by call from power-up to the end of a run."""
    refuse_what_cannot_be_led(model)
    with powered(program) as chip:
        return _Bench(model, module, chip, addresses(program), timeline).play()


class _Bench:
    def __init__(
        self,
        model: Model,
        module: Module,
        chip: Chip,
        at: dict[str, int],
        timeline: Timeline,
    ) -> None:
        self._model, self._module, self._chip = model, module, chip
        self._timeline = timeline
        self._power_up = _of(at, f"{module.prefix}_power_up")
        self._step = _of(at, f"{module.prefix}_step")
        self._random = _of(at, f"{module.prefix}_board_random") if module.draws_random else None
        self._drawn: list[tuple[int, int, int]] = []
        self._calls = list[Call]()
        self._longest = 0
        for address in (self._power_up, self._step):
            chip.hook(address)
        if self._random is not None:
            chip.hook(self._random)

    def play(self) -> Played:
        loop_ms = self._model.loop // MILLISECOND
        self._come_to(self._power_up)
        now_ms, raw = self._loop(_raw_at(self._timeline, loop_ms, 0))
        self._longest = 0
        call = first_call(self._model, now_ms, raw, self._dice())
        self._calls = [call]
        begun_ms, loops = now_ms, 0
        wanted = _loops_of(self._timeline, loop_ms)
        mismatch = self._at_the_pins(call)
        while mismatch is None and loops < wanted:
            self._come_to(self._step)
            new = (self._chip.number(NOW_ARGUMENT) - begun_ms) // loop_ms
            now_ms, raw = self._loop(_raw_at(self._timeline, loop_ms, loops + new))
            call = next_call(self._model, call, begun_ms, now_ms, raw, self._dice())
            begun_ms, loops = begun_ms + new * loop_ms, loops + new
            self._calls.append(call)
            mismatch = self._at_the_pins(call)
        if mismatch is None:
            mismatch = self._on_the_line(self._calls)
        return Played(loops, now_ms, self._longest, mismatch)

    def _come_to(self, address: int) -> None:
        while True:
            stopped = self._chip.run(LONGEST_LOOP)
            if stopped is None:
                raise ProgramError("the program on the simulated chip makes no loop for a second")
            if stopped == address:
                return

    def _loop(self, raw: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
        """Let the call that has just begun read so, and give its time."""
        chip, self._drawn = self._chip, []
        now_ms, end, begun = chip.number(NOW_ARGUMENT), chip.comes_back_to(), chip.cycle
        for item, value in zip(self._model.inputs, raw, strict=True):
            for at, given in reading(item, value):
                if isinstance(given, bool):
                    chip.lead(at.port, at.bit, high=given)
                else:
                    chip.volts(at.bit, given)
        chip.hook(end)
        while (stopped := chip.run(LONGEST_LOOP)) != end:
            if stopped is None:
                raise ProgramError("a loop on the simulated chip takes over a second")
            if stopped == self._random:
                self._watch_the_draw()
        self._longest = max(self._longest, chip.cycle - begun)
        return now_ms, raw

    def _watch_the_draw(self) -> None:
        chip = self._chip
        low, high, end = chip.number(LOW_ARGUMENT), chip.number(HIGH_ARGUMENT), chip.comes_back_to()
        chip.hook(end)
        while chip.run(LONGEST_LOOP) != end:
            pass
        self._drawn.append((low, high, chip.number(RESULT)))

    def _dice(self) -> Dice:
        """Give what the chip drew to the definition; the chip draws and the definition follows."""
        drawn = list(self._drawn)

        def choose(key: DrawKey, low: int, high: int) -> int:
            at = next((n for n, each in enumerate(drawn) if each[:2] == (low, high)), None)
            if at is None:
                raise ProgramError(f"the simulated chip did not draw the random time of {key[0]}")
            return drawn.pop(at)[2]

        return Dice(self._model, choose)

    def _at_the_pins(self, call: Call) -> Mismatch | None:
        for output, value in zip(self._model.outputs, call.leaves.outputs, strict=True):
            for name, (at, high) in levels(output, value).items():
                found = self._chip.driven(at.port, at.bit)
                if found != high:
                    return self._differs(call, f"the pin of {name}", _level(found), _level(high))
        return None

    def _on_the_line(self, calls: Sequence[Call]) -> Mismatch | None:
        self._chip_finishes_sending()
        said = self._chip.said().split("\n")
        due = _trace(self._model, self._module, calls)
        head = f"{calls[0].now_ms} {self._module.prefix} {self._module.fingerprint} bytes "
        if not said[0].startswith(head):
            return self._differs(calls[0], "the first line of the trace", said[0], head)
        for number, (call, line) in enumerate(due, 1):
            found = said[number] if number < len(said) else ""
            if found != line:
                return self._differs(call, f"line {number + 1} of the trace", found, line)
        if len(said) > len(due) + 1 and said[len(due) + 1]:
            return self._differs(calls[-1], "the trace", said[len(due) + 1], "at its end")
        return None

    def _chip_finishes_sending(self) -> None:
        """Let it go on until what the last loop traced has been sent; a loop more changes nothing
        that is compared, for it is stopped before it begins.
        """
        self._chip.run(HERTZ // 1000 * SENDING_MS)

    def _differs(self, call: Call, what: str, firmware: str, definition: str) -> Mismatch:
        number = next(at for at, each in enumerate(self._calls) if each is call)
        return Mismatch(self._timeline.name, number, call.now_ms, what, firmware, definition)


def _of(at: dict[str, int], name: str) -> int:
    if name not in at:
        raise CannotBuildError(f"the program has no `{name}` that is called")
    return at[name]


def _level(high: bool | None) -> str:  # noqa: FBT001
    return "not driven" if high is None else "high" if high else "low"


def _loops_of(timeline: Timeline, loop_ms: int) -> int:
    return (timeline.calls[-1].now_ms - timeline.calls[0].now_ms) // loop_ms


def _raw_at(timeline: Timeline, loop_ms: int, loop: int) -> tuple[str, ...]:
    """Give what is read in a loop: what the first call reads that is not before it."""
    begins = timeline.calls[0].now_ms
    for call in timeline.calls:
        if call.now_ms - begins >= loop * loop_ms:
            return call.raw
    return timeline.calls[-1].raw


def _trace(model: Model, module: Module, calls: Sequence[Call]) -> list[tuple[Call, str]]:
    """List the lines that the calls must leave, each with its call."""
    places = enumerators(model)
    tables = [_words(model, module, places, call.leaves) for call in calls]
    found = [(calls[0], f"{calls[0].now_ms} {line}") for line in tables[0]]
    for (before, after), call in zip(pairwise(tables), calls[1:], strict=True):
        pairs = zip(before, after, strict=True)
        found += [(call, f"{call.now_ms} {new}") for old, new in pairs if new != old]
    return found


def _words(
    model: Model, module: Module, places: Sequence[dict[tuple[int, int], int]], state: PropState
) -> list[str]:
    lines = [f"{i.name} {now.steady}" for i, now in zip(model.inputs, state.inputs, strict=True)]
    for region, made, now, numbers in zip(
        model.regions, module.regions, state.regions, places, strict=True
    ):
        word = made.type.enumerators[numbers[now.leaf, now.cue]].word
        lines.append(f"{region.name} {word}")
    pairs = zip(model.outputs, state.outputs, strict=True)
    lines += [f"{output.name} {value}" for output, value in pairs]
    counters = zip(model.counters, state.counters, strict=True)
    return lines + [f"{counter.name} {count}" for counter, count in counters]
