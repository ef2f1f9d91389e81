"""Emitted Arduino folders compiled with every warning: by the real core, or by a stub of one."""

import re
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from behaviour.controllers import Controller, Pin, controller
from behaviour.model import Input, Model, Output
from behaviour.wires import Wire, wires
from codegen.conform.arduino import TARGETS
from tests.firmware.compilers import WARNINGS, run

Wired = TypeVar("Wired", Input, Output)

STUBS = Path(__file__).parent / "stubs"
STRICT = tuple(each for each in WARNINGS if each != "-Werror")
C99 = ("-std=c99", *STRICT, "-Wstrict-prototypes", "-Wmissing-prototypes")
CPP11 = ("-x", "c++", "-std=gnu++11", *STRICT)
STUBBED = {
    "esp32": ("gcc", "g++", ()),
    "pico": ("arm-none-eabi-gcc", "arm-none-eabi-g++", ("-mcpu=cortex-m0plus", "-mthumb")),
}


def arduino_complaints(folder: Path, name: str) -> str:
    """Compile a folder for a controller and give what is said of its own files; nothing is good.

    C as C99; the board file and the sketch as C++11 too.
    """
    if name in TARGETS:
        target = TARGETS[name]
        both = (*target.options, "-Os", "-fsyntax-only")
        # The core's own headers are no C++ without `-fpermissive`, as the Arduino programs know.
        c, cpp = ("avr-gcc", *both, *C99), ("avr-g++", *both, *CPP11, "-fpermissive")
    else:
        gcc, gpp, chip = STUBBED[name]
        both = (*chip, f"-I{STUBS}", f"-I{STUBS / name}", "-fsyntax-only")
        c, cpp = (gcc, *both, *C99), (gpp, *both, *CPP11)
    sources = sorted(path.name for path in folder.glob("*.c"))
    board = [source for source in sources if source.endswith("_board.c")]
    said = [run([*c, *sources], folder), run([*cpp, *board], folder)]
    said.append(run([*cpp, "-include", "Arduino.h", f"{folder.name}.ino"], folder))
    lines = "".join(each.stderr for each in said).splitlines()
    own = [line for line in lines if re.match(r"[\w.]+:\d+:\d+: (warning|error|fatal)", line)]
    if any(each.returncode != 0 for each in said) and not own:
        return "\n".join(lines[:20])
    return "\n".join(own)


def fits(model: Model, name: str) -> bool:
    """Tell whether the controller has every pin that the file names."""
    board = controller(name)
    return all(board.pin(str(wire.pin)) is not None for wire in wires(model))


def repinned(model: Model, name: str) -> Model | None:
    """Give a model with other pins, those of a controller; None where there are too few."""
    board = controller(name)
    free = [pin for pin in board.pins if not (pin.serial or pin.taken)]
    given: dict[str, str] = {}
    order = sorted(wires(model), key=lambda wire: -_needs(wire))
    for wire in order:
        # Servos from the other end: on a Pico a light must not have one PWM with a servo.
        pins = free[::-1] if wire.item.kind == "servo" else free
        pin = next((pin for pin in pins if _suits(pin, wire, board)), None)
        if pin is None:
            return None
        free.remove(pin)
        given[wire.name] = pin.name
    return replace(
        model,
        inputs=tuple(_with_pins(item, given) for item in model.inputs),
        outputs=tuple(_with_pins(item, given) for item in model.outputs),
    )


def _needs(wire: Wire) -> int:
    """Rank wires by how few pins would do."""
    if isinstance(wire.item, Input):
        return 3 if wire.item.wiring.levels else 0
    return 2 if wire.dims else 1


def _suits(pin: Pin, wire: Wire, board: Controller) -> bool:
    if isinstance(wire.item, Output):
        return pin.drives and (pin.pwm or not wire.dims)
    if wire.item.wiring.levels:
        return pin.analogue
    pulls = {"up": pin.pull_up, "down": pin.pull_down or board.core == "avr"}
    return pin.reads and pulls.get(wire.item.wiring.pull or "none", True)


def _with_pins(item: Wired, given: dict[str, str]) -> Wired:
    wired = item.wiring
    pin = given[item.name] if wired.pin is not None else None
    pins = tuple((what, given[f"{item.name}.{what}"]) for what, _ in wired.pins)
    return replace(item, wiring=replace(wired, pin=pin, pins=pins))
