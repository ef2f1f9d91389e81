"""Writes how a board file drives an output at its pins; steppers and servos are written apart."""

from dataclasses import replace

from codegen.arduino.servos import drive_servo
from codegen.arduino.steps import drive_stepper
from codegen.cwriter import CWriter
from codegen.wired import Dimmed, DriveCall, Exchange, Pulsed, Servo, Stepped, Switched, Wire, Yours

ORDER = ("first", "second")
"""What the two ways of a motor are called where a setting exchanges them."""


def drive(out: CWriter, output: DriveCall, core: str) -> None:
    """Write the call that drives an output on a core."""
    match output.how:
        case Switched():
            _switched(out, output, output.how)
        case Dimmed():
            _dimmed(out, output, output.how)
        case Pulsed():
            _pulsed(out, output, output.how)
        case Servo():
            drive_servo(out, output, output.how, core)
        case Stepped():
            drive_stepper(out, output, output.how)
        case Yours(why=why):
            _yours(out, output, why)


def head(output: DriveCall) -> str:
    """Give the head of the call that drives an output."""
    return f"void {output.call}({output.type} value)"


def _put(out: CWriter, wire: Wire, test: str, on_when: str) -> None:
    out.statement(f"put({wire.pin}, {test}, {on_when});")


# --- On and off ---------------------------------------------------------------------------------


def _switched(out: CWriter, output: DriveCall, how: Switched) -> None:
    with out.function(head(output)):
        wires = how.wires
        if how.exchange is not None:
            wires = _exchanged(out, output, how.exchange, wires)
            out.line()
        if not how.off_first:
            for wire in wires:
                _put(out, wire, wire.test, how.on_when)
            return
        out.comment("What is to be off goes off first: two ways are never on together.")
        for is_on in (False, True):
            for wire in wires:
                with out.block_if([wire.test if is_on else _negated(wire.test)]):
                    _put(out, wire, "true" if is_on else "false", how.on_when)


def _negated(test: str) -> str:
    """Turn the test of a wire round."""
    left, sign, right = test.partition(" == ")
    if sign and " " not in right:
        return f"{left} != {right}"
    left, sign, right = test.partition(" != ")
    return f"{left} == {right}" if sign and " " not in right else f"!({test})"


def _exchanged(
    out: CWriter, output: DriveCall, exchange: Exchange, wires: tuple[Wire, ...]
) -> tuple[Wire, ...]:
    """Write which value is on at which of two wires, and give the wires that go by it."""
    names = {f"value == {way}": name for way, name in zip(exchange.ways, ORDER, strict=True)}
    for name, straight, crossed in zip(ORDER, exchange.ways, exchange.ways[::-1], strict=True):
        choice = f"({exchange.macro} != 0u) ? {crossed} : {straight}"
        out.statement(f"const {output.type} {name} = {choice};")
    return tuple(
        replace(wire, test=f"value == {names[wire.test]}") if wire.test in names else wire
        for wire in wires
    )


# --- A part of the whole ------------------------------------------------------------------------


def _dimmed(out: CWriter, output: DriveCall, how: Dimmed) -> None:
    count = len(how.wires)
    with out.function(head(output)):
        if how.fade is not None:
            out.line(f"static struct fade {f'fades[{count}]' if count > 1 else 'fade'};")
        wires = how.wires
        if how.exchange is not None:
            wires = _exchanged(out, output, how.exchange, wires)
        fades = [f"&fades[{at}]" if count > 1 else "&fade" for at in range(count)]
        if how.off_first:
            out.line()
            _one_on(out, how, wires, fades)
            return
        out.line("uint8_t duty = 0u;" if how.shares else "uint8_t duty;")
        out.line()
        if how.shares:
            _shares(out, how)
        for wire, fade in zip(wires, fades, strict=True):
            if not how.shares:
                out.statement(f"duty = ({wire.test}) ? {wire.duty} : 0u;")
            if how.fade is not None:
                rests = f"value == {output.rest}" if how.shares else "duty == 0u"
                time = f"({rests}) ? 0u : {how.fade}" if how.rests_at_once else how.fade
                out.statement(f"duty = faded({fade}, duty, {time});")
            out.statement(f"dim({wire.pin}, duty, {how.on_when});")


def _one_on(out: CWriter, how: Dimmed, wires: tuple[Wire, ...], fades: list[str]) -> None:
    """Write what dims one of several ways: what is to be off goes off first, and at once."""
    out.comment("What is to be off goes off first: two ways are never on together.")
    for is_on in (False, True):
        for wire, fade in zip(wires, fades, strict=True):
            duty, time = (wire.duty, how.fade) if is_on else ("0u", "0u")
            with out.block_if([wire.test if is_on else _negated(wire.test)]):
                given = duty if how.fade is None else f"faded({fade}, {duty}, {time})"
                out.statement(f"dim({wire.pin}, {given}, {how.on_when});")


def _shares(out: CWriter, how: Dimmed) -> None:
    with out.switch("value"):
        for value, duty in how.shares:
            out.line(f"case {value}:")
            with out.indented():
                out.line(f"duty = {duty};")
                out.line("break;")
        out.line("default:")
        with out.indented():
            out.line("break;")


# --- Pulses -------------------------------------------------------------------------------------


def _pulsed(out: CWriter, output: DriveCall, how: Pulsed) -> None:
    with out.function(head(output)):
        out.statement(f"static struct pulse pulse = PULSE_AT({output.rest});")
        length = how.pulse
        if how.rests_at_once:
            out.comment("A hazard rests at once.")
            length = "pulse_ms"
            choice = f"(value == {output.rest}) ? 0u : {how.pulse}"
            out.statement(f"const uint32_t pulse_ms = {choice};")
        out.statement(
            f"const uint8_t now = pulsed(&pulse, (uint8_t)value, {output.rest}, {length}, "
            f"{how.gap or '0u'});"
        )
        out.line()
        for wire in how.wires:
            _put(out, wire, wire.test.replace("value ", "now "), how.on_when)


def _yours(out: CWriter, output: DriveCall, why: str) -> None:
    out.comment(f"Yours to write, for {why}.")
    with out.function(head(output)):
        out.line("(void)value;")
    if output.move is not None:
        with out.function(f"void {output.move}({output.type} value, uint32_t steps)"):
            out.line("(void)value;")
            out.line("(void)steps;")
        with out.function(f"bool {output.done}(void)"):
            out.line("return true;")
