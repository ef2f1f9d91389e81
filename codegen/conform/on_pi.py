"""Builds what plays the emitted Python beside the definition: the module, a plan, and a player.

The plan says which levels stand for which value, and is made of the model and not of the emitted
code. Settings that are open in the module are given pins that are free.
"""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

from behaviour.model import Input, Model, Output
from behaviour.wires import wires
from codegen.conform.build import CannotBuildError, Program
from codegen.emit import emit, firmware_name
from codegen.lower import lower
from codegen.module import Module
from codegen.python.devices import Device, Devices
from codegen.python.source import devices_of
from codegen.python.spelling import IN_PYTHON
from codegen.vocabulary import motors_moved

NEEDED = ("gpiozero", "transitions")
PLAYER = Path(__file__).with_name("pi_player.py")
"""It is run and not imported: whoever only emits does without what it needs."""
FREE_PINS = range(27, 1, -1)
"""All pins of the header, those without a pull-up of their own first."""


def need_packages() -> None:
    """Raise CannotBuildError where a package that the module needs is not here."""
    for package in NEEDED:
        if find_spec(package) is None:
            raise CannotBuildError(
                f"`{package}` is not installed here: `pip install {' '.join(NEEDED)}` to compare"
            )


@contextmanager
def built_for_pi(model: Model, source_name: str) -> Iterator[Program]:
    """Emit a model as a Python module in a folder of its own, which goes when the block ends."""
    need_packages()
    prefix = firmware_name(model, source_name)
    files = {file.path: file.text for file in emit(model, source_name, "pi")}
    module = lower(model, source_name, prefix, spelling=IN_PYTHON)
    with TemporaryDirectory(prefix="tablework-") as name:
        code, plan = Path(name) / f"{prefix}.py", Path(name) / "plan.json"
        code.write_text(files[f"{prefix}/{prefix}.py"], encoding="utf-8")
        plan.write_text(json.dumps(plan_of(model, module)), encoding="utf-8")
        yield Program((sys.executable, "-P", str(PLAYER), str(code), str(plan)))


def not_looked_at(model: Model) -> tuple[str, ...]:
    """List the outputs whose pins are not compared."""
    return tuple(output.name for output in model.outputs if not _is_plain(model, output))


def plan_of(model: Model, module: Module) -> dict[str, object]:
    """Say what every pin means, for the player."""
    made = devices_of(model, module)
    moving = motors_moved(model)
    return {
        "settings": _filled_in(model, made),
        "inputs": [
            {"name": item.name, "values": item.values, "levels": _levels_read(item, device)}
            for item, device in zip(model.inputs, made.inputs, strict=True)
        ],
        "counters": [counter.name for counter in model.counters],
        "regions": [
            {
                "name": region.word,
                "member": region.member,
                "places": [each.name.strip('"') for each in region.type.enumerators],
            }
            for region in module.regions
        ],
        "outputs": [
            {
                "name": output.name,
                "values": output.values,
                "rest": output.rest,
                "pause_ms": _pause_ms(output),
                "levels": _levels_driven(model, output, device),
            }
            for output, device in zip(model.outputs, made.outputs, strict=True)
        ],
        "motors": [output.name for output in model.outputs if output.name in moving],
    }


def _filled_in(model: Model, made: Devices) -> dict[str, object]:
    """Give every setting that is open a value that will do."""
    values = {each.name: each.value for device in made.all for each in device.settings}
    wired = {setting for device in made.all for _, setting in device.wires}
    used = {value for name, value in values.items() if name in wired}
    free = (pin for pin in FREE_PINS if str(pin) not in used)
    found: dict[str, object] = {
        setting.name: _next(free) if setting.name in wired else 0
        for device in made.all
        for setting in device.open
    }
    for item, device in zip(model.inputs, made.inputs, strict=True):
        if "contacts" not in device.parts:
            continue
        *_, pull, low = (setting.name for setting in device.settings)
        if "selectors" in device.parts:
            pull = low
        elif low in found:
            found[low] = _low(item)
        if pull in found:
            found[pull] = "up"
    return found


def _low(item: Input) -> str:
    """Give the value that an input reads while it is low, where the file says nothing one of us."""
    return item.wiring.low or item.values[1]


def _next(free: Iterator[int]) -> int:
    pin = next(free, None)
    if pin is None:
        raise CannotBuildError("a Raspberry Pi has too few pins for all that this prop has")
    return pin


def _levels_read(item: Input, device: Device) -> dict[str, dict[str, bool]]:
    """Map each value to the levels of the pins that stand for it."""
    wired = dict(device.wires)
    if item.wiring.levels:
        return {}
    if "" in wired:
        return {value: {wired[""]: value != _low(item)} for value in item.values}
    is_low = item.wiring.pull in ("up", None)
    return {
        value: {setting: (what == value) != is_low for what, setting in device.wires}
        for value in item.values
    }


def _is_plain(model: Model, output: Output) -> bool:
    """Tell whether the levels of an output follow from its value, and its pause, alone."""
    wired = output.wiring
    is_dimmed = any(wire.item is output and wire.dims for wire in wires(model))
    return not (
        is_dimmed or output.kind == "servo" or wired.pulse is not None or "step" in dict(wired.pins)
    )


def _levels_driven(model: Model, output: Output, device: Device) -> dict[str, dict[str, bool]]:
    if not _is_plain(model, output):
        return {}
    ways = [what for what, _ in device.wires]
    if output.kind == "motor" and output.wiring.turns == "other way":
        ways.reverse()
    settings = [setting for _, setting in device.wires]
    is_high = output.wiring.on_when == "high"
    return {
        value: {
            setting: (value == what or (what == "" and value != output.rest)) == is_high
            for what, setting in zip(ways, settings, strict=True)
        }
        for value in output.values
    }


def _pause_ms(output: Output) -> int:
    is_reversing = output.kind == "motor" and "step" not in dict(output.wiring.pins)
    if not is_reversing or not isinstance(output.pause, int):
        return 0
    return -(-output.pause // 1000)
