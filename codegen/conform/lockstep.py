"""Holds the built C against the definition on given runs, call by call."""

from collections.abc import Sequence
from dataclasses import dataclass

from behaviour.model import Model
from codegen.conform.build import Program
from codegen.conform.harness import COMPLAINTS
from codegen.conform.timeline import ROLLOVER, Call, Timeline, bounds, enumerators, steps_begun
from codegen.vocabulary import motors_moved


@dataclass(frozen=True, slots=True)
class Mismatch:
    """Where the C first differs: in which run and call, at what, and the two values."""

    run: str
    call: int
    now_ms: int
    what: str
    firmware: str
    definition: str

    def __str__(self) -> str:
        return (
            f"{self.run}, call {self.call} at {self.now_ms} ms: {self.what} is {self.firmware} in "
            f"the firmware and {self.definition} by the definition"
        )


def first_mismatch(
    model: Model, program: Program, timelines: Sequence[Timeline]
) -> Mismatch | None:
    """Run every timeline in the program and compare all that each call leaves."""
    numbers = Numbers(model)
    lines = [numbers.line(call) for timeline in timelines for call in timeline.calls]
    answers = iter(program.play(lines))
    for timeline in timelines:
        for number, call in enumerate(timeline.calls):
            answer = next(answers, None)
            expected = numbers.left(call)
            if answer != expected:
                return numbers.mismatch(timeline.name, number, call, answer, expected)
    return None


class Numbers:
    """A model's values as the numbers that the board speaks in."""

    def __init__(self, model: Model) -> None:
        self._model = model
        self._inputs = tuple(_numbered(item.values) for item in model.inputs)
        self._outputs = tuple(_numbered(item.values) for item in model.outputs)
        self._places = enumerators(model)
        moving = motors_moved(model)
        self._motors = tuple(each.name for each in model.outputs if each.name in moving)
        self._bounds = bounds(model, moves=False)

    def line(self, call: Call) -> str:
        """Give the board's line for a call."""
        raw = [self._inputs[at][value] for at, value in enumerate(call.raw)]
        drawn = [(key, loops) for key, loops in call.draws if key in self._bounds]
        draws = [part for key, loops in drawn for part in (*self._bounds[key], loops)]
        done = [int(motor in call.leaves.done) for motor in self._motors]
        parts = [call.now_ms % ROLLOVER, *raw, *done, len(drawn), *draws]
        return f"{'p' if call.starts else 's'} {' '.join(map(str, parts))}"

    def left(self, call: Call) -> tuple[int, ...]:
        """Give what the board should print after a call."""
        state = call.leaves
        begins = self._motors and (call.starts or call.loops)
        begun = steps_begun(self._model, state) if begins else {}
        return (
            *(self._inputs[at][item.steady] for at, item in enumerate(state.inputs)),
            *state.counters,
            *(self._places[at][region.leaf, region.cue] for at, region in enumerate(state.regions)),
            *(self._outputs[at][value] for at, value in enumerate(state.outputs)),
            *(begun.get(motor, 0) for motor in self._motors),
            0,
            0,
        )

    def at_rest(self) -> tuple[int, ...]:
        """Give how what the board prints ends once a state was found that cannot be."""
        rests = (self._outputs[at][item.rest] for at, item in enumerate(self._model.outputs))
        return (*rests, *(0 for _ in self._motors), 1, 0)

    def mismatch(
        self,
        run: str,
        number: int,
        call: Call,
        answer: tuple[int, ...] | None,
        expected: tuple[int, ...],
    ) -> Mismatch:
        """Say at what a call differs; both sides may be only how an answer ends."""
        if answer is None or len(answer) != len(expected):
            return Mismatch(run, number, call.now_ms, "the answer", str(answer), str(expected))
        names = self._names()[-len(expected) :]
        at = next(
            at for at, pair in enumerate(zip(answer, expected, strict=True)) if pair[0] != pair[1]
        )
        what, words = names[at]
        return Mismatch(
            run,
            number,
            call.now_ms,
            what,
            words.get(answer[at], str(answer[at])),
            words.get(expected[at], str(expected[at])),
        )

    def _names(self) -> list[tuple[str, dict[int, str]]]:
        """Name what the board prints, and its values."""
        model = self._model
        found = [(f"input {i.name}", dict(enumerate(i.values))) for i in model.inputs]
        found += [(f"counter {counter.name}", {}) for counter in model.counters]
        for region, places in zip(model.regions, self._places, strict=True):
            words = {
                number: region.states[leaf].name + (f" after cue {fired}" if fired else "")
                for (leaf, fired), number in places.items()
            }
            found.append((f"region {region.name}", words))
        found += [(f"output {o.name}", dict(enumerate(o.values))) for o in model.outputs]
        found += [(f"the steps that {motor} begins", {}) for motor in self._motors]
        return [
            *found,
            ("the count of upsets", {}),
            ("the board's complaint", {0: "none", **COMPLAINTS}),
        ]


def _numbered(values: Sequence[str]) -> dict[str, int]:
    return {value: number for number, value in enumerate(values)}
