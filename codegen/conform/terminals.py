"""What a Uno's terminals carry for what a prop reads, and what they must carry for what it drives.

Only what is one level a pin is told here: a pin that dims, pulses or steps is the board's own
affair, and the report names those that were not looked at.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.controllers import controller
from behaviour.model import Input, Model, Output, Setting
from behaviour.wires import wires
from codegen.conform.build import CannotBuildError
from codegen.conform.simulator import FULL_MILLIVOLTS

TWO = 2
"""Ways of a motor that `turns` exchanges."""


@dataclass(frozen=True, slots=True)
class Terminal:
    """A bit of a port."""

    port: str
    bit: int


def terminal(pin: str) -> Terminal:
    """Give where a pin of a Uno stands on its chip (ArduinoCore-avr, variants/standard)."""
    found = controller("uno").pin(pin)
    if found is None:
        raise CannotBuildError(f"a Uno has no pin `{pin}`")
    if found.number < 8:  # noqa: PLR2004 (pins of a port)
        return Terminal("D", found.number)
    if found.number < 14:  # noqa: PLR2004 (where A0 begins)
        return Terminal("B", found.number - 8)
    return Terminal("C", found.number - 14)


def refuse_what_cannot_be_led(model: Model) -> None:
    """Raise CannotBuildError where readings cannot be given at the pins."""
    for item in model.inputs:
        wired = item.wiring
        is_contact = isinstance(wired.pin, str) and wired.low is not None
        is_selector = wired.pins and wired.pull in ("up", "down")
        if not (is_contact or is_selector or (isinstance(wired.pin, str) and wired.levels)):
            raise CannotBuildError(
                f"`{item.name}` cannot be driven on the simulated chip: the file does not say on "
                "which pin it is, and what it reads there"
            )
    for output in model.outputs:
        if any(setting.move for setting in _settings_of(model, output)):
            raise CannotBuildError(
                f"`{output.name}` is moved by distance, which the simulated chip does not follow"
            )


def _settings_of(model: Model, output: Output) -> Iterator[Setting]:
    for region in model.regions:
        for state in region.states:
            yield from (each for each in state.sets if each.output == output.name)


def reading(item: Input, value: str) -> tuple[tuple[Terminal, bool | int], ...]:
    """Give what must be at an input's terminals for a value: high or not, or so many millivolts."""
    wired = item.wiring
    if wired.pins:
        # With a pull up a position that is chosen is low, and all others are high.
        is_low = wired.pull == "up"
        return tuple(
            (terminal(pin), (what == value) != is_low)
            for what, pin in wired.pins
            if isinstance(pin, str)
        )
    assert isinstance(wired.pin, str)  # noqa: S101 (`refuse_what_cannot_be_led`)
    if not wired.levels:
        return ((terminal(wired.pin), value != wired.low),)
    full = controller("uno").analogue_full
    level = next(each for each in wired.levels if each.value == value)
    count = level.count // 2 if level.side == "below" else (level.count + full) // 2
    return ((terminal(wired.pin), count * FULL_MILLIVOLTS // full),)


def levels(output: Output, value: str) -> dict[str, tuple[Terminal, bool]]:
    """Map each wire of an output by name to its terminal and whether it is high for a value.

    Empty where the levels do not follow from the value alone.
    """
    wired = output.wiring
    is_plain = output.kind not in ("servo", "sound") and not wired.gives
    if not is_plain or wired.fade is not None or wired.pulse is not None:
        return {}
    if "step" in dict(wired.pins):
        return {}
    is_on_high, found = wired.on_when == "high", {}
    if isinstance(wired.pin, str):
        is_on = value != output.rest
        found[output.name] = (terminal(wired.pin), is_on == is_on_high)
    for what, pin in wired.pins:
        if isinstance(pin, str):
            is_on = _is_on(output, what, value)
            found[f"{output.name}.{what}"] = (terminal(pin), is_on == is_on_high)
    return found


def _is_on(output: Output, what: str, value: str) -> bool:
    """Tell whether the wire for a value or a signal is on while an output has `value`."""
    moving = [each for each in output.values if each != output.rest]
    turns_round = output.kind == "motor" and output.wiring.turns == "other way"
    match what:
        case "enable" if what not in output.values:
            return value != output.rest
        case "dir" if what not in output.values:
            return (value == moving[0]) != turns_round
        case _:
            ways = [each for each in moving if each in dict(output.wiring.pins)]
            crossed = dict(zip(ways, ways[::-1], strict=True)) if len(ways) == TWO else {}
            return value == (crossed.get(what, what) if turns_round else what)


def not_looked_at(model: Model) -> tuple[str, ...]:
    """List the outputs whose pins are not compared."""
    wired = {wire.item.name for wire in wires(model)}
    return tuple(o.name for o in model.outputs if o.name in wired and not levels(o, o.rest))
