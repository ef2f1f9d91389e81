"""What hangs on the pins of a Raspberry Pi: each input and output as a device, with its settings.

What the file leaves open, or what a Raspberry Pi does not have, is a setting that is None: the
module names those and does not start until they are set.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.controllers import controller
from behaviour.model import Input, Model, Output, Time, Unknown
from behaviour.wires import wires
from codegen.lower_steps import step_generators
from codegen.lower_wiring import HOLD_MS
from codegen.module import Define
from codegen.names import Names, shouted
from codegen.python.spelling import IN_PYTHON

OPEN = "None"
CHANNELS = {f"A{number}": number for number in range(8)}
"""The channels of the converter, by the names that analogue pins have elsewhere."""

SIGNALS = ("step", "dir", "enable")
"""What a stepper's driver is told by."""

CONVERTER = ("8", "9", "10", "11")
"""The pins at which the converter hangs."""

FULL = 1023
"""What a reading counts up to where the file names no controller."""


@dataclass(frozen=True, slots=True)
class Device:
    """A device: the pieces that it needs, its settings, and the call that makes it.

    `wires` pairs what each pin stands for with the setting that has the pin.
    """

    word: str
    parts: tuple[str, ...]
    settings: tuple[Define, ...]
    call: str
    wires: tuple[tuple[str, str], ...]

    @property
    def open(self) -> tuple[Define, ...]:
        """List the settings that are to be set before it can start."""
        return tuple(each for each in self.settings if each.value == OPEN)


@dataclass(frozen=True, slots=True)
class Devices:
    """All of them, in the order of the model."""

    inputs: tuple[Device, ...]
    outputs: tuple[Device, ...]

    @property
    def all(self) -> tuple[Device, ...]:
        return (*self.outputs, *self.inputs)


def devices(model: Model, taken: frozenset[str]) -> Devices:
    """Give the devices; no setting has a name that is `taken`."""
    names, at = Names(taken | IN_PYTHON.names), dict[str, str]()
    return Devices(
        inputs=tuple(_Maker(model, names, at, item).input(item) for item in model.inputs),
        outputs=tuple(_Maker(model, names, at, item).output(item) for item in model.outputs),
    )


class _Maker:
    """Makes one device and collects its settings; `at` maps pins to what they were given to."""

    def __init__(
        self, model: Model, names: Names, at: dict[str, str], item: Input | Output
    ) -> None:
        self._model = model
        self._names = names
        self._at = at
        self._item = item
        self._line = f"{item.span.line}: " if item.span.line else ""
        self._settings: list[Define] = []
        self._wires: list[tuple[str, str]] = []

    def _device(self, parts: str, call: str) -> Device:
        return Device(
            self._item.name, tuple(parts.split()), tuple(self._settings), call, tuple(self._wires)
        )

    def _set(self, what: str, value: str, comment: str) -> str:
        name = self._names.take(shouted(self._item.name, *what.split()))
        self._settings.append(Define(name, value, f"{self._line}{self._item.name}{comment}"))
        return name

    def _text(self, what: str, value: str | None, comment: str) -> str:
        return self._set(what, OPEN if value is None else f'"{value}"', comment)

    def _time(self, what: str, time: Time | None) -> str:
        if time is None or isinstance(time, Unknown):
            return "0"
        return self._set(f"{what}_MS", str(-(-time // 1000)), f": {what.lower()}")

    def _pin(self, what: str, pin: str | Unknown | None, pull: str | None = None) -> str:
        """Make the setting of a pin: its number if it can do what it must, and else None."""
        value, why = _number(self._model, self._item, pin, pull)
        if value != OPEN:
            wire = f"{self._item.name}.{what}" if what else self._item.name
            other = self._at.setdefault(value, wire)
            if other != wire:
                value, why = OPEN, f": {pin} in the file, which {other} has already"
        name = self._set(f"{what} PIN", value, f"{f', {what}' if what else ''}{why}")
        self._wires.append((what, name))
        return name

    # --- Inputs ---

    def input(self, item: Input) -> Device:
        wired = item.wiring
        if wired.levels:
            return self._levels(item)
        values = ", ".join(f'"{value}"' for value in item.values)
        if wired.pins or (wired.pin is None and len(item.values) > 2):  # noqa: PLR2004
            return self._selector(item)
        pin = self._pin("", wired.pin, wired.pull)
        pull = self._text("PULL", wired.pull, ': "up", "down" or "none"')
        low = self._text("LOW", wired.low, ": the value that reads low")
        return self._device("contacts", f"Contact({pin}, {pull}, {low}, ({values}))")

    def _selector(self, item: Input) -> Device:
        wired = item.wiring
        pins = dict(wired.pins) or dict.fromkeys(item.values[1:])
        made = {value: self._pin(value, pin, wired.pull) for value, pin in pins.items()}
        listed = ", ".join(f'"{value}": {pin}' for value, pin in made.items())
        pull = self._text("PULL", wired.pull, ': "up", "down" or "none"')
        left = next((f'"{value}"' for value in item.values if value not in pins), "None")
        return self._device("contacts selectors", f"Selector({{{listed}}}, {pull}, {left})")

    def _levels(self, item: Input) -> Device:
        pin = item.wiring.pin
        channel = CHANNELS.get(pin) if isinstance(pin, str) else None
        why = "" if channel is not None else f": {pin} in the file"
        name = self._set("CHANNEL", str(channel), f"{why}: the channel of the converter")
        self._wires.append(("", name))
        levels = []
        for level in item.wiring.levels:
            comment = f" is {level.value} {level.side} this reading"
            at = self._set(f"{level.value} {level.side}", str(level.count), comment)
            levels.append(f'("{level.value}", "{level.side}", {at})')
        asked = self._model.controller
        full = (controller(asked).analogue_full if asked else 0) or FULL
        most = self._set("FULL", str(full), ": what a reading counts up to")
        call = f'Levels({name}, [{", ".join(levels)}], {most}, "{item.values[0]}")'
        return self._device("levels", call)

    # --- Outputs ---

    def output(self, output: Output) -> Device:
        wired = output.wiring
        signals = dict(wired.pins)
        if "step" in signals:
            return self._stepper(output)
        if output.kind == "servo" and not wired.pins:
            return self._servo(output)
        pins = self._pins_of_values(output)
        on_when = self._text("ON_WHEN", wired.on_when, ": on when this level")
        rest = f'"{output.rest}"'
        if any(wire.item is output and wire.dims for wire in wires(self._model)):
            return self._light(output, pins, on_when)
        listed = _listed((pin, f"{{{', '.join(values)}}}") for pin, values in pins)
        if output.kind == "motor":
            turns = self._text("TURNS", wired.turns, ': "as wired" or "other way"')
            pause = self._time("PAUSE", output.pause)
            call = f"Motor({listed}, {on_when}, {rest}, {turns}, {pause})"
            return self._device("switches reversing motors", call)
        if wired.pulse is not None:
            pulse, gap = self._time("PULSE", wired.pulse), self._time("GAP", wired.gap)
            call = f"Sounds({listed}, {on_when}, {rest}, {pulse}, {gap})"
            return self._device("switches sounds", call)
        return self._device("switches", f"Switches({listed}, {on_when}, {rest})")

    def _pins_of_values(self, output: Output) -> list[tuple[str, list[str]]]:
        """Pair each pin with the values for which it is on."""
        wired = output.wiring
        if wired.pins:
            return [(self._pin(value, pin), [f'"{value}"']) for value, pin in wired.pins]
        away = [value for value in output.values if value != output.rest]
        if wired.pin is not None or len(away) == 1:
            return [(self._pin("", wired.pin), [f'"{value}"' for value in away])]
        return [(self._pin(value, None), [f'"{value}"']) for value in away]

    def _light(self, output: Output, pins: list[tuple[str, list[str]]], on_when: str) -> Device:
        shares = {}
        for value, quantity in output.wiring.gives:
            if quantity.unit == "%":
                name = self._set(f"{value} PERCENT", f"{quantity.number:g}", f" {value}")
                shares[f'"{value}"'] = f"{name} / 100"
        made = _listed(
            (pin, f"{{{', '.join(f'{v}: {shares.get(v, 1)}' for v in values)}}}")
            for pin, values in pins
        )
        fade = self._time("FADE", output.wiring.fade)
        return self._device("lights", f'Light({made}, {on_when}, "{output.rest}", {fade})')

    def _servo(self, output: Output) -> Device:
        pin, given = self._pin("", output.wiring.pin), dict(output.wiring.gives)
        degrees = []
        for value in output.values:
            number = f"{given[value].number:g}" if value in given else OPEN
            degrees.append(f'"{value}": {self._set(f"{value} DEGREES", number, f" {value}")}')
        call = f'Servo({pin}, {{{", ".join(degrees)}}}, "{output.rest}")'
        return self._device("servos", call)

    def _stepper(self, output: Output) -> Device:
        signals = dict(output.wiring.pins)
        pins = [self._pin(what, signals[what]) if what in signals else "None" for what in SIGNALS]
        on_when = self._text("ON_WHEN", output.wiring.on_when, ": the driver is on when this level")
        turns = self._text("TURNS", output.wiring.turns, ': "as wired" or "other way"')
        pause = self._time("PAUSE", output.pause)
        ways = [f'"{value}"' for value in output.values if value != output.rest]
        other = ways[1] if len(ways) > 1 else "None"
        hold = self._set("HOLD_MS", str(HOLD_MS), ": its driver stays on for so long at rest")
        steps = self._steps(output)
        call = (
            f'Stepper(({", ".join(pins)}), {on_when}, "{output.rest}", '
            f'{ways[0]} if {turns} == "as wired" else {other}, {pause}, {hold}, ({steps}))'
        )
        return self._device("reversing steppers", call)

    def _steps(self, output: Output) -> str:
        made = step_generators(self._model, "", IN_PYTHON)
        found = next((each for each in made if each.output == output.name), None)
        if found is None:
            first = self._set("STEPS_FIRST", OPEN, ": first interval, in 1/256 us")
            shortest = self._set("STEPS_SHORTEST", OPEN, ": interval of full speed, in 1/256 us")
            return f"{first}, {shortest}, False"
        names = []
        for define in found.defines:
            name = self._names.take(define.name)
            self._settings.append(Define(name, define.value, define.comment))
            names.append(name)
        return f"{', '.join(names)}, {found.ramps_down}"


def _listed(pairs: Iterable[tuple[str, str]]) -> str:
    return f"[{', '.join(f'({pin}, {what})' for pin, what in pairs)}]"


def _number(
    model: Model, item: Input | Output, pin: str | Unknown | None, pull: str | None
) -> tuple[str, str]:
    """Give the number of a pin of the Raspberry Pi, or None and why."""
    if not isinstance(pin, str):
        return OPEN, ": the file gives no pin"
    found = controller("pi").pin(pin)
    if found is None:
        return OPEN, f": {pin} in the file, which a Raspberry Pi does not have"
    if found.taken:
        return OPEN, f": {pin} in the file: {found.taken}"
    if found.name in CONVERTER and any(each.wiring.levels for each in model.inputs):
        return OPEN, f": {pin} in the file, where the converter hangs"
    if isinstance(item, Input) and pull != "up" and not found.pull_down:
        return OPEN, f": {pin} in the file, which is pulled up on the board"
    return str(found.number), ""
