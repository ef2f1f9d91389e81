"""The wires between a prop and its controller's pins: whose each is, and what its pin must do.

It knows no controller: whether a board has such a pin is asked elsewhere.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.model import Input, Model, Output, PinName, Quantity, Unknown

WHOLE = 100


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire. `what` is the value or signal that it stands for, empty where it is the only one.

    `dims` tells whether the pin must give a part of the whole, and not only on and off.
    """

    item: Input | Output
    what: str
    pin: PinName | Unknown
    dims: bool = False

    @property
    def name(self) -> str:
        """Say whose wire it is, such as `lamp.green`."""
        return f"{self.item.name}.{self.what}" if self.what else self.item.name


def wires(model: Model) -> Iterator[Wire]:
    """List every wire of a prop, inputs first, in the order of the file."""
    for item in model.inputs:
        yield from _of(item)
    for output in model.outputs:
        yield from _of(output)


def _of(item: Input | Output) -> Iterator[Wire]:
    if item.wiring.pin is not None:
        yield Wire(item, "", item.wiring.pin, _dims(item, ""))
    for what, pin in item.wiring.pins:
        yield Wire(item, what, pin, _dims(item, what))


def _dims(item: Input | Output, what: str) -> bool:
    if not isinstance(item, Output) or item.kind == "servo":
        return False
    shares = [
        quantity.number
        for value, quantity in item.wiring.gives
        if quantity.unit == "%" and what in ("", value)
    ]
    is_partly = any(share not in (0, WHOLE) for share in shares)
    return is_partly or (item.wiring.fade is not None and item.wiring.pulse is None)


def milliamps(quantity: Quantity) -> float:
    """Give a current in milliampere."""
    return quantity.number * (1000 if quantity.unit == "A" else 1)


def driven_at_once(output: Output) -> int:
    """Count the pins of an output that can be on together."""
    signals = [what for what, _ in output.wiring.pins if what not in output.values]
    values = len(output.wiring.pins) - len(signals)
    return len(signals) + (1 if values or output.wiring.pin is not None else 0)
