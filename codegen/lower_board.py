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
    generators = {each.output: each.prefix for each in step_generators(model, names.prefix)}
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
    servos = [each for each in model.outputs if each.kind == "servo"]
    if len(servos) > MOST_SERVOS:
        yield f"a controller drives {MOST_SERVOS} servos, and there are {len(servos)}"


def marks(model: Model, names: Vocabulary, made: Board | None) -> tuple[Mark, ...]:
    """Give all that a board file must say that it does."""
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
            macro=names.names.take(shouted(names.prefix, f"{verb}s", name, what)),
            does=f"{verb} {name}.{what}" if what else f"{verb} {name}",
            is_yours=name in left,
        )
        for verb, name, what in found
    ]
    if made is not None and made.watchdog is not None:
        macro = names.names.take(shouted(names.prefix, "feeds_watchdog"))
        listed.append(Mark(macro=macro, does="feed the watchdog", is_yours=False))
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
