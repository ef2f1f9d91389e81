"""What one thing going wrong can be, as facts. What it does to the world is `world/circuit.py`."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from behaviour.model import Input, Mechanism, Model, Output

SLOWER = 2
"""A slow movement takes up to so many times as long (`semantics.md`, Faults)."""

LATEST = 3
"""A late loop begins up to so many loop times after the last one."""


@dataclass(frozen=True, slots=True)
class Stuck:
    """An input stays at a value from any moment on."""

    input: str
    value: str


@dataclass(frozen=True, slots=True)
class Unplugged:
    """An input reads its `unplugged` value from any moment on."""

    input: str
    value: str


@dataclass(frozen=True, slots=True)
class Chatters:
    """Interference flips what an input reads, as often as it likes; `longer` than its `steady`."""

    input: str
    longer: bool


@dataclass(frozen=True, slots=True)
class Swapped:
    """The plugs of two inputs are exchanged."""

    first: str
    second: str


@dataclass(frozen=True, slots=True)
class Stalls:
    """A movement never ends, from any moment on."""

    mechanism: str
    movement: int


@dataclass(frozen=True, slots=True)
class Slow:
    """A movement takes up to twice as long."""

    mechanism: str
    movement: int


@dataclass(frozen=True, slots=True)
class Backwards:
    """A motor's directions are exchanged."""

    output: str


@dataclass(frozen=True, slots=True)
class Welded:
    """An output stays at a value from any moment on."""

    output: str
    value: str


@dataclass(frozen=True, slots=True)
class Late:
    """One loop begins up to three loop times after the one before."""


@dataclass(frozen=True, slots=True)
class Overdue(Late):
    """A loop is late and has not begun yet: all that a controller cannot know of a late loop.

    When it begins it knows. It is no fault of its own in a worksheet.
    """


@dataclass(frozen=True, slots=True)
class Restart:
    """The controller starts again at any moment, once; outputs are at rest for `boot`."""


@dataclass(frozen=True, slots=True)
class BrownOut:
    """The controller starts again each time a hazard starts."""


@dataclass(frozen=True, slots=True)
class Hangs:
    """Loops stop and outputs stay, until the watchdog starts the controller again."""


InputFault = Stuck | Unplugged | Chatters | Swapped
MechanismFault = Stalls | Slow
OutputFault = Backwards | Welded
ControllerFault = Late | Restart | BrownOut | Hangs
Fault = InputFault | MechanismFault | OutputFault | ControllerFault


def faults_of(model: Model) -> tuple[Fault, ...]:
    """List every single fault that a prop can have, in the order of the design."""
    return (
        *_input_faults(model.inputs),
        *_mechanism_faults(model.written_mechanism),
        *_output_faults(model.outputs),
        *_controller_faults(model),
    )


def _input_faults(inputs: tuple[Input, ...]) -> Iterator[InputFault]:
    for item in inputs:
        yield from (Stuck(item.name, value) for value in item.values)
    for item in inputs:
        if item.unplugged is not None:
            yield Unplugged(item.name, item.unplugged)
    for item in inputs:
        if any(item.steady):
            yield Chatters(item.name, longer=False)
        yield Chatters(item.name, longer=True)
    for first, second in combinations(inputs, 2):
        if have_like_plugs(first, second):
            yield Swapped(first.name, second.name)


def _mechanism_faults(mechanisms: tuple[Mechanism, ...]) -> Iterator[MechanismFault]:
    for kind in (Stalls, Slow):
        for mechanism in mechanisms:
            yield from (kind(mechanism.name, each.number) for each in mechanism.movements())


def _output_faults(outputs: tuple[Output, ...]) -> Iterator[OutputFault]:
    for output in outputs:
        if directions(output) is not None:
            yield Backwards(output.name)
    for output in outputs:
        yield from (Welded(output.name, value) for value in output.values)


def _controller_faults(model: Model) -> Iterator[ControllerFault]:
    yield from (Late(), Restart())
    if any(output.hazard for output in model.outputs):
        yield BrownOut()
    yield Hangs()


def touched(fault: Fault) -> tuple[str, ...]:
    """Name the inputs, mechanisms or outputs that fail; none where the controller does."""
    match fault:
        case Stuck(input=name) | Unplugged(input=name) | Chatters(input=name):
            return (name,)
        case Swapped(first=first, second=second):
            return first, second
        case Stalls(mechanism=name) | Slow(mechanism=name):
            return (name,)
        case Backwards(output=name) | Welded(output=name):
            return (name,)
        case _:
            return ()


def have_like_plugs(first: Input, second: Input) -> bool:
    """Tell whether the plugs of two inputs fit each other: one wire each, with two levels.

    An analogue input and a selector with a pin for each value have other plugs.
    """
    return all(
        len(item.values) == 2  # noqa: PLR2004 - a wire is low or high
        and not item.wiring.levels
        and not item.wiring.pins
        and item.wiring.silent is None
        for item in (first, second)
    )


def swapped_value(source: Input, value: str, reader: Input) -> str:
    """Give what `reader` reads on the wire of `source` while that has `value`.

    The electric level decides where both files say it, else the order of the values.
    """
    at = source.values.index(value)
    if source.wiring.low is not None and reader.wiring.low is not None:
        is_low = value == source.wiring.low
        return next(v for v in reader.values if (v == reader.wiring.low) == is_low)
    return reader.values[at]


def directions(output: Output) -> tuple[str, str] | None:
    """Give the two directions of a motor: the values beside its rest, if there are two."""
    if output.kind != "motor":
        return None
    moving = tuple(value for value in output.values if value != output.rest)
    return (moving[0], moving[1]) if len(moving) == 2 else None  # noqa: PLR2004
