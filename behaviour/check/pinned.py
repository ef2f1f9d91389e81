"""Whether the pins of a file are fit for its controller: two names on one, and what it cannot do.

Strategy: each wire is judged by the controller's data alone, and gives the first thing that is
wrong with it. Without a controller nothing is said of fitness.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from behaviour.check.asking import Asking
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.controllers import Controller, Pin, controller
from behaviour.findings import Finding, Label
from behaviour.model import Input, Model, Output, Unknown
from behaviour.semantics import NotKnownError
from behaviour.wires import Wire, driven_at_once, milliamps, wires


def check_pinned(asking: Asking) -> Told:
    """Check every pin that the file names."""
    model = asking.model
    board = None if model.controller is None else controller(model.controller)
    told = [_told("pin-clash", _clashes(model, board))]
    if board is not None and board.has_pins:
        told.append(_told("pin-unfit", _unfit(model, board)))
    return Told(
        tuple(verdict.verdict() for verdict, _ in told),
        tuple(each for _, found in told for each in found),
    )


Asks = Iterator[Callable[[], Finding | None]]


def _told(name: str, asks: Asks) -> tuple[Verdicts, list[Finding]]:
    verdict, found = Verdicts(name), list[Finding]()
    for ask in asks:

        def is_found(ask: Callable[[], Finding | None] = ask) -> bool:
            each = ask()
            found.extend(() if each is None else (each,))
            return each is not None

        verdict.decide(is_found)
    return verdict, found


def _named(wire: Wire) -> str:
    """Give the pin of a wire as the file names it."""
    if isinstance(wire.pin, Unknown):
        raise NotKnownError(wire.pin)
    return wire.pin


# --- Two names on one pin -----------------------------------------------------------------------


def _clashes(model: Model, board: Controller | None) -> Asks:
    seen: dict[object, Wire] = {}
    for wire in wires(model):
        yield lambda w=wire: _clash(w, board, seen)  # type: ignore[misc]


def _clash(wire: Wire, board: Controller | None, seen: dict[object, Wire]) -> Finding | None:
    text = _named(wire)
    pin = None if board is None else board.pin(text)
    key: object = (str(int(text)) if text.isdecimal() else text) if pin is None else pin.number
    first = seen.setdefault(key, wire)
    if first is wire:
        return None
    alias = "" if first.pin == wire.pin else f", which is `{first.pin}` too"
    return finding(
        "pin-clash",
        f"`{first.name}` and `{wire.name}` are both on pin `{text}`{alias}",
        wire.item.span,
        f"`{wire.name}` is on `{text}`",
        related=(Label(first.item.span, f"`{first.name}` is on it already"),),
        hint="a pin of its own for each",
        subject=(first.name, wire.name),
    )


# --- What a pin cannot do -----------------------------------------------------------------------


def _unfit(model: Model, board: Controller) -> Asks:
    has_servo = any(o.kind == "servo" and o.wiring.pin is not None for o in model.outputs)
    shared: dict[int, Wire] = {}
    for wire in wires(model):
        yield lambda w=wire: _misfit(w, board, has_servo=has_servo, shared=shared)  # type: ignore[misc]
    for wire in wires(model):
        if isinstance(wire.item, Output) and wire.item.wiring.draws is not None:
            yield lambda w=wire, o=wire.item: _draws_too_much(w, o, board)  # type: ignore[misc]
    for limit in _together(board):
        yield lambda each=limit: _too_much_together(model, board, each)  # type: ignore[misc]


def _misfit(
    wire: Wire, board: Controller, *, has_servo: bool, shared: dict[int, Wire]
) -> Finding | None:
    text = _named(wire)
    pin = board.pin(text)
    if pin is None:
        known = ", ".join(each.name for each in board.pins)
        message = f"`{wire.name}` is on pin `{text}`, and `{board.name}` has none of that name"
        return _found(wire, message, "no such pin", f"one of {known}")
    item = wire.item
    if pin.taken:
        return _found(wire, f"{_at(wire, pin, board)}: {pin.taken}", pin.taken, "another pin")
    if pin.serial:
        return _found(
            wire,
            f"{_at(wire, pin, board)}, which carries the serial line: programs are loaded and the "
            "trace is written there",
            "the serial line",
            "another pin",
        )
    if isinstance(item, Input):
        return _unread(wire, item, pin, board)
    return _undriven(wire, item, pin, board, has_servo) or _shares(wire, pin, board, shared)


def _unread(wire: Wire, item: Input, pin: Pin, board: Controller) -> Finding | None:
    pull, wired = item.wiring.pull, _at(wire, pin, board)
    if item.wiring.levels:
        if not pin.analogue:
            free = ", ".join(f"`{each.name}`" for each in board.pins if each.analogue)
            message = f"{wired}, which reads on and off alone, and it has `levels`"
            return _found(wire, message, "no analogue reading", f"one of {free or 'no pin'}")
        most = max(level.count for level in item.wiring.levels)
        if most > board.analogue_full:
            message = (
                f"`{wire.name}` has a level at {most}, and `{board.name}` reads from 0 to "
                f"{board.analogue_full}"
            )
            return _found(wire, message, "never read", f"levels up to {board.analogue_full}")
    elif not pin.reads:
        message = f"{wired}, which reads levels alone and no on and off"
        return _found(wire, message, "no digital reading", "another pin, or `levels`")
    if (pull == "up" and not pin.pull_up) or (pull == "down" and not pin.pull_down):
        return _found(
            wire,
            f"{wired}, which has no pull {pull} of its own",
            f"nothing pulls it {pull}",
            _other_pull(pin)
            + f"; with a resistor that pulls the pin {pull}, excuse `pin-unfit` and say so",
        )
    if pin.strapped:
        message = f"{wired}, which is looked at while the controller starts: {pin.strapped}"
        return _found(wire, message, "may keep it from starting", "another pin")
    return None


def _other_pull(pin: Pin) -> str:
    if pin.pull_up:
        return "`pull: up`, with the contact to ground"
    return "another pin"


def _undriven(
    wire: Wire,
    item: Output,
    pin: Pin,
    board: Controller,
    has_servo: bool,  # noqa: FBT001
) -> Finding | None:
    wired = _at(wire, pin, board)
    if not pin.drives:
        message = f"{wired}, which only reads"
        return _found(wire, message, "it cannot be driven", "another pin")
    if wire.dims and not pin.pwm:
        free = ", ".join(f"`{each.name}`" for each in board.pins if each.pwm)
        message = f"{wired}, which is on or off, and it gives a part or fades"
        return _found(wire, message, "no PWM", f"one of {free}")
    if wire.dims and has_servo and pin.name in board.servo_takes_pwm:
        message = f"{wired}, and the servos take the PWM of that pin"
        return _found(wire, message, "no PWM beside a servo", "another pin with PWM")
    if item.hazard and pin.restless:
        message = f"the hazard {wired}: {pin.restless}"
        return _found(wire, message, "it would move by itself", "another pin")
    return None


def _shares(wire: Wire, pin: Pin, board: Controller, shared: dict[int, Wire]) -> Finding | None:
    """Tell two wires apart that need a PWM each and are given the same one."""
    if not (wire.dims or wire.item.kind == "servo") or board.pwm_shared is None:
        return None
    first = shared.setdefault(pin.number % board.pwm_shared, wire)
    if first is wire:
        return None
    return _found(
        wire,
        f"{_at(wire, pin, board)}, which has the same PWM as the pin of `{first.name}`",
        "would do as the other does",
        f"a pin that is not {board.pwm_shared} apart from the other",
    )


# --- Currents -----------------------------------------------------------------------------------


def _draw(output: Output) -> float:
    draws = output.wiring.draws
    if isinstance(draws, Unknown):
        raise NotKnownError(draws)
    return 0 if draws is None else milliamps(draws)


def _draws_too_much(wire: Wire, output: Output, board: Controller) -> Finding | None:
    draw = _draw(output)
    if draw <= board.pin_milliamps:
        return None
    return _found(
        wire,
        f"`{wire.name}` draws {draw:g} mA, and a pin of `{board.name}` may give "
        f"{board.pin_milliamps} mA",
        "more than a pin gives",
        "a transistor or a driver between",
    )


@dataclass(frozen=True, slots=True)
class _Together:
    """Pins that share a limit: all, or a group of which those count that are on when so."""

    words: str
    most: int
    pins: frozenset[str] | None = None
    on_when: str | None = None


def _together(board: Controller) -> Iterator[_Together]:
    yield _Together(f"the pins of `{board.name}` give", board.all_milliamps)
    for group in board.groups:
        names = ", ".join(f"`{pin.name}`" for pin in board.pins if pin.name in group.pins)
        if group.give is not None:
            yield _Together(f"the pins {names} give", group.give, group.pins, "high")
        if group.take is not None:
            yield _Together(f"the pins {names} take", group.take, group.pins, "low")


def _too_much_together(model: Model, board: Controller, limit: _Together) -> Finding | None:
    """Judge what pins give together at the worst."""
    drawing = []
    for output in model.outputs:
        draw = _draw(output)
        counts = limit.on_when in (None, output.wiring.on_when)
        on_it = [w for w in wires(model) if w.item is output and _is_of(w, board, limit)]
        if draw and counts and on_it:
            drawing.append((output, draw * min(len(on_it), driven_at_once(output))))
    total = sum(draw for _, draw in drawing)
    if total <= limit.most:
        return None
    *others, (last, _) = drawing
    return finding(
        "pin-unfit",
        f"{limit.words} {total:g} mA together at the worst, and may do {limit.most} mA",
        last.span,
        "too much with the others",
        related=tuple(Label(each.span, f"draws {draw:g} mA") for each, draw in others),
        hint="transistors or drivers between",
        subject=tuple(each.name for each, _ in drawing),
    )


def _is_of(wire: Wire, board: Controller, limit: _Together) -> bool:
    if limit.pins is None:
        return True
    pin = board.pin(_named(wire))
    return pin is not None and pin.name in limit.pins


# --- Words --------------------------------------------------------------------------------------


def _at(wire: Wire, pin: Pin, board: Controller) -> str:
    return f"`{wire.name}` is on pin `{pin.name}` of `{board.name}`"


def _found(wire: Wire, message: str, label: str, hint: str) -> Finding:
    return finding("pin-unfit", message, wire.item.span, label, hint=hint, subject=(wire.name,))
