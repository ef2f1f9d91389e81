"""Plays an emitted Python module on gpiozero's mock pins, as the board of lockstep plays the C.

It is a program: `pi_player.py MODULE PLAN` reads and prints the lines that `harness.py` tells of.
Readings are given at the pins, and what is driven is read from them; what no pin shows by itself
(steps, pulses, fading, angles) is taken from the prop. It judges by the plan, which is made of the
model, and uses of the module what its own loop uses.
"""

import importlib.util
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPWMPin

NOT_OFFERED, LEFT_OVER, NOT_AS_DRIVEN, READ_BEFORE_REST = 1, 2, 4, 8
ROLLOVER = 1 << 32


class Told:
    """In the place of a stepper: it remembers what it was told, and is done when the run says."""

    def __init__(self, *_: object) -> None:
        self.value: object = None
        self.steps = 0
        self.done = False

    def drive(self, value: object, _now_ms: int) -> None:
        self.value = value

    def move(self, value: object, steps: int, _now_ms: int) -> None:
        self.value = value
        self.steps += steps

    def is_done(self) -> bool:
        return self.done

    def rest(self) -> None:
        """Come to rest, as it is."""

    def close(self) -> None:
        """Let nothing go, since it has nothing."""


class Converted:
    """In the place of the converter: it reads what the run says."""

    def __init__(self, _channel: object, _levels: object, _full: object, first: str) -> None:
        self.value = first

    def read(self) -> str:
        return self.value

    def close(self) -> None:
        """Let nothing go, since it has nothing."""


class Pause:
    """What a motor's pins may show: rest before it turns another way, for long enough."""

    def __init__(self, rest: str, pause_ms: int) -> None:
        self.rest, self.pause_ms = rest, pause_ms
        self.shown, self.way, self.since = rest, rest, 0

    def expected(self, value: str, now_ms: int) -> str:
        """Give what the pins must show once the motor was told `value`."""
        turns_round = value != self.rest and self.way not in (self.rest, value)
        if turns_round and (self.shown != self.rest or now_ms - self.since < self.pause_ms):
            value = self.rest
        if value == self.rest and self.shown != self.rest:
            self.since = now_ms
        if value != self.rest:
            self.way = value
        self.shown = value
        return value


class Player:
    """Plays lines, one after another."""

    def __init__(self, module: ModuleType, plan: dict[str, Any]) -> None:
        self.module, self.plan = module, plan
        self.prop: Any = None
        self.board: Any = None
        self.told: dict[str, object] = {}
        self.draws: list[tuple[int, int, int]] = []
        self.complaints = self.now_ms = 0
        self.pauses: dict[str, Pause] = {}
        self.pins: dict[str, Any] = {}
        module.draw = self._draw  # type: ignore[attr-defined]
        module.Stepper = Told  # type: ignore[attr-defined]
        module.Levels = Converted  # type: ignore[attr-defined]
        for name, value in plan["settings"].items():
            setattr(module, name, value)

    def play(self, line: str) -> str | None:
        """Do what a line says; give what the loop left, if it was a loop."""
        what, *numbers = line.split()
        given = iter(map(int, numbers))
        if what == "c":
            region = self.plan["regions"][next(given)]
            getattr(self.prop, region["member"]).state = f"no state {next(given)}"
            return None
        self._later(next(given))
        raws = [next(given) for _ in self.plan["inputs"]]
        done = [next(given) != 0 for _ in self.plan["motors"]]
        self.draws = [(next(given), next(given), next(given)) for _ in range(next(given))]
        if what == "p":
            self._power_up(raws)
        else:
            self._read(raws)
            for motor, is_done in zip(self.plan["motors"], done, strict=True):
                self.board.outputs[motor].done = is_done
            self.module.step(self.prop, self.board, self.now_ms)
        return " ".join(map(str, self._left()))

    def _later(self, now_ms: int) -> None:
        """Count on where the count of milliseconds of the lines rolls over."""
        if self.prop is None:
            self.now_ms = now_ms
        while self.now_ms % ROLLOVER != now_ms:
            self.now_ms += (now_ms - self.now_ms) % ROLLOVER

    def _power_up(self, raws: list[int]) -> None:
        if self.board is not None:
            self.board.rest()
            self._complain_unless_resting()
            self.board.close()
        self.board, self.prop = self.module.Board(), self.module.Prop()
        self.pauses = {
            output["name"]: Pause(output["rest"], output["pause_ms"])
            for output in self.plan["outputs"]
            if output["pause_ms"]
        }
        self._complain_unless_resting()
        self._read(raws)
        self.module.power_up(self.prop, self.board, self.now_ms)

    def _complain_unless_resting(self) -> None:
        for output in self.plan["outputs"]:
            if not self._shows(output, output["rest"]):
                self.complaints |= READ_BEFORE_REST

    def _read(self, raws: list[int]) -> None:
        """Give the pins of all inputs their levels."""
        for item, raw in zip(self.plan["inputs"], raws, strict=True):
            value = item["values"][raw]
            if not item["levels"]:
                self.board.inputs[item["name"]].value = value
            for setting, is_high in item["levels"].get(value, {}).items():
                pin = self._pin(setting)
                (pin.drive_high if is_high else pin.drive_low)()

    def _pin(self, setting: str) -> Any:
        if setting not in self.pins:
            self.pins[setting] = Device.pin_factory.pin(getattr(self.module, setting))
        return self.pins[setting]

    def _draw(self, low: int, high: int) -> int:
        found = next((each for each in self.draws if each[:2] == (low, high)), None)
        if found is None:
            self.complaints |= NOT_OFFERED
            return low
        self.draws.remove(found)
        return found[2]

    def _left(self) -> Iterator[int]:
        found = self.module.traced(self.prop)
        self.complaints |= LEFT_OVER if self.draws else 0
        for item in self.plan["inputs"]:
            yield item["values"].index(found[item["name"]])
        for counter in self.plan["counters"]:
            yield found[counter]
        for region in self.plan["regions"]:
            name = found[region["name"]]
            yield region["places"].index(name) if name in region["places"] else -1
        for output in self.plan["outputs"]:
            value = found[output["name"]]
            yield output["values"].index(value)
            pause = self.pauses.get(output["name"])
            shown = pause.expected(value, self.prop.last_ms) if pause else value
            if not self._shows(output, shown):
                self.complaints |= NOT_AS_DRIVEN
        for motor in self.plan["motors"]:
            stepper = self.board.outputs[motor]
            yield stepper.steps
            stepper.steps = 0
        yield found["upsets of states"]
        yield self.complaints
        self.complaints = 0

    def _shows(self, output: dict[str, Any], value: str) -> bool:
        """Tell whether the pins of an output show a value, as far as they do."""
        levels = output["levels"].get(value, {})
        pins = ((self._pin(setting), level) for setting, level in levels.items())
        return all(pin.function == "output" and pin.state == level for pin, level in pins)


def load(path: Path) -> ModuleType:
    """Load a module from its file."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None  # noqa: S101
    assert spec.loader is not None  # noqa: S101
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def main(module: str, plan: str) -> None:
    """Play all lines of the input."""
    Device.pin_factory = MockFactory(pin_class=MockPWMPin)
    player = Player(load(Path(module)), json.loads(Path(plan).read_text(encoding="utf-8")))
    for line in sys.stdin:
        answer = player.play(line)
        if answer is not None:
            print(answer)  # noqa: T201 (it is a program that answers)


if __name__ == "__main__":
    main(*sys.argv[1:])
