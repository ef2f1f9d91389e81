"""Pins, pulls, levels and directions of a model as lines of the settings."""

from collections.abc import Iterator

from behaviour.model import (
    Input,
    InputWiring,
    Model,
    Output,
    OutputWiring,
    Time,
    Unknown,
)
from codegen.module import Define
from codegen.names import shouted
from codegen.vocabulary import Vocabulary

PULLS = {"up": "PULL_UP", "down": "PULL_DOWN", "none": "PULL_NONE"}


def wiring(model: Model, names: Vocabulary) -> tuple[Define, ...]:
    """List how inputs and outputs are wired, as far as the file says."""
    found: list[Define] = []
    for item in model.inputs:
        found += _of_input(names, item)
    for output in model.outputs:
        found += _of_output(names, output)
    return tuple(
        Define(names.names.take(define.name), define.value, define.comment) for define in found
    )


def _of_input(names: Vocabulary, item: Input) -> Iterator[Define]:
    wired, values = item.wiring, names.inputs[item.name].values
    upper = shouted(names.prefix, item.name)
    line = f"{item.span.line}: " if item.span.line else ""
    yield from _pins(upper, line, item.name, wired)
    if wired.pull is not None:
        pull = shouted(names.prefix, PULLS[wired.pull])
        yield Define(f"{upper}_PULL", pull, f"{line}{item.name}, pull {wired.pull}")
    if wired.low is not None:
        yield Define(
            f"{upper}_LOW", values[wired.low], f"{line}{item.name}: the value that reads low"
        )
    for level in wired.levels:
        yield Define(
            f"{upper}_{level.value.upper()}_{level.side.upper()}",
            f"{level.count}u",
            f"{line}{item.name} is {level.value} {level.side} this reading",
        )
    yield from _time(f"{upper}_SILENT_MS", wired.silent, f"{line}{item.name}: longest silence")


def _of_output(names: Vocabulary, item: Output) -> Iterator[Define]:
    wired = item.wiring
    upper = shouted(names.prefix, item.name)
    line = f"{item.span.line}: " if item.span.line else ""
    has_pin = wired.pin is not None or bool(wired.pins)
    yield from _pins(upper, line, item.name, wired)
    if has_pin:
        is_low = wired.on_when == "low"
        yield Define(
            f"{upper}_ON_WHEN_LOW", "1u" if is_low else "0u", f"{line}{item.name}: on when low"
        )
    if has_pin and item.kind == "motor":
        is_other = wired.turns == "other way"
        yield Define(
            f"{upper}_TURNS_OTHER_WAY",
            "1u" if is_other else "0u",
            f"{line}{item.name}: forward and reverse exchanged",
        )
    yield from _time(f"{upper}_FADE_MS", wired.fade, f"{line}{item.name}: fade")
    yield from _time(f"{upper}_PULSE_MS", wired.pulse, f"{line}{item.name}: pulse")
    yield from _time(f"{upper}_GAP_MS", wired.gap, f"{line}{item.name}: gap after a pulse")


def _pins(upper: str, line: str, name: str, wired: InputWiring | OutputWiring) -> Iterator[Define]:
    if isinstance(wired.pin, str):
        yield Define(f"{upper}_PIN", _pin(wired.pin), f"{line}{name}")
    for what, pin in wired.pins:
        if isinstance(pin, str):
            yield Define(f"{upper}_{what.upper()}_PIN", _pin(pin), f"{line}{name}, {what}")


def _pin(pin: str) -> str:
    return f"{int(pin)}u" if pin.isdigit() else pin


def _time(name: str, time: Time | None, comment: str) -> Iterator[Define]:
    if time is None or isinstance(time, Unknown):
        return
    yield Define(name, f"{-(-time // 1000)}u", comment)
