"""Pins, pulls, levels and directions of a model as lines of the settings."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType

from behaviour.controllers import Controller
from behaviour.model import (
    Input,
    InputWiring,
    Model,
    Output,
    OutputWiring,
    Quantity,
    Time,
    Unknown,
)
from behaviour.numbers.measures import measured
from codegen.module import Define
from codegen.names import shouted
from codegen.vocabulary import Vocabulary

PULLS = {"up": "PULL_UP", "down": "PULL_DOWN", "none": "PULL_NONE"}

FULL_DUTY, WHOLE_SHARE = 255, 100
"""What `analogWrite` takes for on all the time, and what a file writes for it."""

SERVO_AT_0, SERVO_AT_180 = 544, 2400
"""The pulses of a servo's two ends in microseconds, as Arduino's own servo library has them."""

HALF_TURN = 180

HOLD_MS = 500
"""So long a stepper's driver stays on after its last step. From common practice, no source: what
turned has then stood still, and the driver need not get warm."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """The lines of the settings that say how a prop is wired, in order, and whose each is."""

    defines: tuple[Define, ...]
    macros: MappingProxyType[tuple[str, str], str]

    def macro(self, item: str, what: str) -> str:
        """Name the macro of an input or output for what it is for."""
        return self.macros[item, what]


def wiring(model: Model, names: Vocabulary, controller: Controller) -> Wiring:
    """List how inputs and outputs are wired, as far as the file says."""
    found = [(item.name, _of_input(names, item, controller)) for item in model.inputs]
    found += [(output.name, _of_output(names, output, controller)) for output in model.outputs]
    defines: list[Define] = []
    macros: dict[tuple[str, str], str] = {}
    for name, settings in found:
        for what, define in settings:
            taken = names.names.take(define.name)
            macros[name, what] = taken
            defines.append(replace(define, name=taken, what=_what(name, what)))
    return Wiring(tuple(defines), MappingProxyType(macros))


def _what(name: str, what: str) -> str:
    """Name a setting in words: `pin of mark`, `pin green of lamp`."""
    return f"{what.replace('.', ' ')} of {name}"


Line = tuple[str, Define]
"""A line of the settings, and what it is for: `pin`, `pin.green`, `pull`, `below.dim`."""


def _of_input(names: Vocabulary, item: Input, controller: Controller) -> Iterator[Line]:
    wired, values = item.wiring, names.inputs[item.name].values
    upper = shouted(names.prefix, item.name)
    line = f"{item.span.line}: " if item.span.line else ""
    yield from _pins(upper, line, item.name, wired, controller)
    if wired.pull is not None:
        pull = shouted(names.prefix, PULLS[wired.pull])
        yield "pull", Define(f"{upper}_PULL", pull, f"{line}{item.name}, pull {wired.pull}")
    if wired.low is not None:
        low = values[wired.low]
        yield "low", Define(f"{upper}_LOW", low, f"{line}{item.name}: the value that reads low")
    for level in wired.levels:
        yield (
            level.side,
            Define(
                f"{upper}_{level.value.upper()}_{level.side.upper()}",
                f"{level.count}u",
                f"{line}{item.name} is {level.value} {level.side} this reading",
            ),
        )
    comment = f"{line}{item.name}: longest silence"
    yield from _time("silent", f"{upper}_SILENT_MS", wired.silent, comment)


def _of_output(names: Vocabulary, item: Output, controller: Controller) -> Iterator[Line]:
    wired = item.wiring
    upper = shouted(names.prefix, item.name)
    line = f"{item.span.line}: " if item.span.line else ""
    has_pin = wired.pin is not None or bool(wired.pins)
    yield from _pins(upper, line, item.name, wired, controller)
    if has_pin:
        is_low = "1u" if wired.on_when == "low" else "0u"
        comment = f"{line}{item.name}: on when low"
        yield "on_when", Define(f"{upper}_ON_WHEN_LOW", is_low, comment)
    if has_pin and item.kind == "motor":
        is_other = "1u" if wired.turns == "other way" else "0u"
        comment = f"{line}{item.name}: forward and reverse exchanged"
        yield "turns", Define(f"{upper}_TURNS_OTHER_WAY", is_other, comment)
    if controller.has_pins:
        yield from _shares(upper, line, item)
    if controller.has_pins and {"step", "enable"} <= dict(wired.pins).keys():
        comment = (
            f"so long the driver of {item.name} stays on after the last step, for what turned is "
            "held by the motor"
        )
        yield "hold", Define(f"{upper}_HOLD_MS", f"{HOLD_MS}u", comment)
    yield from _time("fade", f"{upper}_FADE_MS", wired.fade, f"{line}{item.name}: fade")
    yield from _time("pulse", f"{upper}_PULSE_MS", wired.pulse, f"{line}{item.name}: pulse")
    comment = f"{line}{item.name}: gap after a pulse"
    yield from _time("gap", f"{upper}_GAP_MS", wired.gap, comment)


def _shares(upper: str, line: str, item: Output) -> Iterator[Line]:
    """Give what values stand for as the controller takes it: parts of 255, or a servo's pulses."""
    for value, given in item.wiring.gives:
        words = f"{line}{item.name} {value}, {given.number:g} {given.unit}"
        name = f"{upper}_{value.upper()}"
        if item.kind == "servo":
            pulse = pulse_us(given)
            comment = f"{words}: its pulse in us ({SERVO_AT_0} at 0 deg, {SERVO_AT_180} at 180 deg)"
            yield f"gives.{value}", Define(f"{name}_US", f"{pulse}u", comment)
        elif given.unit == "%":
            duty = round(given.number * FULL_DUTY / WHOLE_SHARE)
            comment = f"{words}: of {FULL_DUTY}"
            yield f"gives.{value}", Define(f"{name}_DUTY", f"{duty}u", comment)


def pulse_us(angle: Quantity) -> int:
    """Give the pulse in microseconds at which a servo stands at an angle."""
    degrees = angle.number if angle.unit == "deg" else measured(angle, "deg")
    return round(SERVO_AT_0 + degrees * (SERVO_AT_180 - SERVO_AT_0) / HALF_TURN)


def _pins(
    upper: str, line: str, name: str, wired: InputWiring | OutputWiring, controller: Controller
) -> Iterator[Line]:
    if isinstance(wired.pin, str):
        pin = _pin(wired.pin, controller)
        yield "pin", Define(f"{upper}_PIN", pin, f"{line}{name}")
    for what, text in wired.pins:
        if isinstance(text, str):
            pin = _pin(text, controller)
            words = f"{line}{name}, {what}"
            yield f"pin.{what}", Define(f"{upper}_{what.upper()}_PIN", pin, words)


def _pin(text: str, controller: Controller) -> str:
    """Call a pin as the controller's programs do: by number, but for those with a name there."""
    pin = controller.pin(text)
    if pin is not None and controller.core != "avr":
        return f"{pin.number}u"
    name = text if pin is None else pin.name
    return f"{int(name)}u" if name.isdecimal() else name


def _time(what: str, name: str, time: Time | None, comment: str) -> Iterator[Line]:
    if time is None or isinstance(time, Unknown):
        return
    yield what, Define(name, f"{-(-time // 1000)}u", comment)
