"""What the board file of a controller does, and the marks by which it says so."""

from collections.abc import Iterator

from behaviour.controllers import Controller
from behaviour.model import Input, Model, Output, Unknown
from behaviour.wires import wires
from codegen.lower_drives import drives
from codegen.lower_reads import reads
from codegen.lower_steps import step_generators
from codegen.lower_wiring import Wiring
from codegen.names import shouted
from codegen.vocabulary import Vocabulary, motors_moved
from codegen.wired import Board, Mark, Watchdog

MOST_SERVOS = 8
"""So many pulses of 2.4 ms have room in 20 ms."""

MICROS = 1000


def board(model: Model, names: Vocabulary, wiring: Wiring, controller: Controller) -> Board | None:
    """Give what the board file of a controller does; None for a computer."""
    if not controller.has_pins:
        return None
    generators = {each.output: each for each in step_generators(model, names.prefix)}
    return Board(
        controller=controller.name,
        about=controller.about,
        core=controller.core,
        reads=reads(model, names, wiring),
        drives=drives(model, names, wiring, generators),
        watchdog=_watchdog(model, controller),
    )


def _watchdog(model: Model, controller: Controller) -> Watchdog | None:
    if model.watchdog is None or isinstance(model.watchdog, Unknown):
        return None
    asked = model.watchdog // MICROS
    found = controller.watchdog(asked)
    return None if found is None else Watchdog(asked_ms=asked, set_ms=found)


def refusals_of_board(model: Model, controller: Controller) -> Iterator[str]:
    """Tell what of a model the controller does not have."""
    if not controller.has_pins:
        return
    strange = [
        f"`{wire.pin}` of `{wire.name}`"
        for wire in wires(model)
        if isinstance(wire.pin, str) and controller.pin(wire.pin) is None
    ]
    if strange:
        yield f"`{controller.name}` has no pin {', '.join(strange)}"
    if isinstance(model.watchdog, int) and controller.watchdog(model.watchdog // MICROS) is None:
        yield f"`{controller.name}` has no watchdog as short as the file's"
    yield from _slices_shared(model, controller)
    yield from _on_as_pwm_begins(model, controller)
    servos = [each for each in model.outputs if each.kind == "servo"]
    if len(servos) > MOST_SERVOS:
        yield f"a controller drives {MOST_SERVOS} servos, and there are {len(servos)}"


def _slices_shared(model: Model, controller: Controller) -> Iterator[str]:
    """Tell which light would get a servo's pulses: on an RP2040 two pins share one frequency."""
    if controller.core != "rp2040":
        return
    slices: dict[int, str] = {}
    for wire in wires(model):
        if (
            isinstance(wire.item, Output)
            and wire.item.kind == "servo"
            and isinstance(wire.pin, str)
        ):
            pin = controller.pin(wire.pin)
            slices |= {} if pin is None else {_slice(pin.number): wire.name}
    for wire in wires(model):
        pin = controller.pin(wire.pin) if wire.dims and isinstance(wire.pin, str) else None
        if pin is not None and _slice(pin.number) in slices:
            servo = slices[_slice(pin.number)]
            yield (
                f"`{wire.name}` is on pin `{pin.name}`, which has one PWM with the servo `{servo}`"
            )


def _on_as_pwm_begins(model: Model, controller: Controller) -> Iterator[str]:
    """Tell which hazard would be on for a moment: an ESP32's PWM is low when it begins
    (arduino-esp32 3, cores/esp32/esp32-hal-ledc.c).
    """
    for wire in wires(model):
        item = wire.item
        if controller.core != "esp32" or not isinstance(item, Output):
            continue
        if wire.dims and item.hazard and item.wiring.on_when == "low":
            yield (
                f"`{wire.name}` is on when low, and would be on for a moment as its PWM begins on "
                f"`{controller.name}`"
            )


def _slice(pin: int) -> int:
    """Give the PWM of a pin (RP2040 data sheet, from memory): two neighbours each, eight in all."""
    return pin // 2 % 8


def marks(model: Model, names: Vocabulary, made: Board | None) -> tuple[Mark, ...]:
    """Give all that the board file and the loop must say that they do."""
    left = frozenset() if made is None else frozenset(word for word, _ in made.yours)
    found = [
        ("read", item.name, what)
        for item in model.inputs
        for what in (_read_parts(item) if made else [""])
    ]
    found += [
        ("drive", item.name, what)
        for item in model.outputs
        for what in (_driven_parts(model, item) if made else [""])
    ]
    listed = [
        Mark(
            file="board",
            macro=names.names.take(shouted(names.prefix, f"{verb}s", name, what)),
            does=f"{verb} {name}.{what}" if what else f"{verb} {name}",
            is_yours=name in left,
        )
        for verb, name, what in found
    ]
    chores = []
    if made is not None and made.watchdog is not None:
        chores.append(("feeds_watchdog", "feed the watchdog"))
    if made is not None and made.steppers:
        chores.append(("serves_steps", "serve the steps"))
    for name, does in chores:
        macro = names.names.take(shouted(names.prefix, "loop", name))
        listed.append(Mark(file="loop", macro=macro, does=does))
    return tuple(listed)


def _read_parts(item: Input) -> list[str]:
    if item.wiring.levels:
        return ["levels"]
    return [what for what, _ in item.wiring.pins] or [""]


def _driven_parts(model: Model, item: Output) -> list[str]:
    wired = item.wiring
    pins = [what for what, _ in wired.pins]
    parts = pins or [""]
    parts += [value for value, _ in wired.gives if value not in pins]
    parts += ["fade"] if wired.fade is not None else []
    parts += ["pulse"] if wired.pulse is not None else []
    parts += ["by_distance"] if item.name in motors_moved(model) else []
    return parts
