"""The small functions of a board file, each written where something uses it, and how pins begin."""

from codegen.arduino.cores import core
from codegen.arduino.servos import servos_begun
from codegen.cwriter import CWriter
from codegen.module import Module
from codegen.wired import (
    Board,
    Contact,
    Counts,
    Dimmed,
    DriveCall,
    Positions,
    Pulsed,
    ReadCall,
    Stepped,
    Switched,
)


def helpers(out: CWriter, module: Module, board: Board) -> None:
    """Write the helpers that the board's pins need."""
    if any(_pull(each) for each in board.reads):
        _with_pull(out, module, board)
    kinds = {type(each.how) for each in board.drives}
    if kinds & {Switched, Pulsed, Stepped}:
        _put(out)
    if kinds & {Switched, Pulsed, Stepped, Dimmed}:
        _begin_output(out, board)
    if Dimmed in kinds:
        _dim(out)
    if any(isinstance(each.how, Dimmed) and each.how.fade for each in board.drives):
        _fade(out)
    if any(isinstance(each.how, Pulsed) for each in board.drives):
        _pulse(out)


def _pull(item: ReadCall) -> str | None:
    return item.how.pull if isinstance(item.how, Contact | Counts | Positions) else None


def _with_pull(out: CWriter, module: Module, board: Board) -> None:
    up, down = f"{module.upper}_PULL_UP", f"{module.upper}_PULL_DOWN"
    if core(board.core).pulls_down:
        out.comment("How a pin reads that is pulled so.")
        out.line("#define WITH_PULL(pull) \\")
        out.line(f"    (((pull) == {up}) ? INPUT_PULLUP \\")
        out.line(f"    : (((pull) == {down}) ? INPUT_PULLDOWN : INPUT))")
    else:
        out.comment(
            "How a pin reads that is pulled so. This chip pulls up alone: to be pulled down a wire "
            "needs a resistor."
        )
        out.line("#define WITH_PULL(pull) \\")
        out.line(f"    (((pull) == {up}) ? INPUT_PULLUP : INPUT)")
    out.line()


def _put(out: CWriter) -> None:
    out.comment("Put a wire on or off; what hangs on it may be on when it is low.")
    with out.function("static void put(uint8_t pin, bool on, uint8_t on_when_low)"):
        out.line("digitalWrite(pin, (on != (on_when_low != 0u)) ? HIGH : LOW);")


def _begin_output(out: CWriter, board: Board) -> None:
    made = core(board.core)
    out.comment(f"Give a wire its resting level, and then make its pin an output. {made.why}")
    with out.function("static void begin_output(uint8_t pin, bool on, uint8_t on_when_low)"):
        out.line("const bool level = (on != (on_when_low != 0u));")
        out.line()
        for line in made.begins_output:
            out.line(line)


def _dim(out: CWriter) -> None:
    out.comment("Let a wire be on for a part of the time: `duty` of 255.")
    with out.function("static void dim(uint8_t pin, uint8_t duty, uint8_t on_when_low)"):
        out.line("analogWrite(pin, (on_when_low != 0u) ? (255 - duty) : duty);")


def _fade(out: CWriter) -> None:
    out.comment(
        "A duty that goes from one to another: where it is, whence and whither, since when."
    )
    with out.block("struct fade", "};"):
        out.line("uint8_t now;")
        out.line("uint8_t from;")
        out.line("uint8_t to;")
        out.line("uint32_t since_ms;")
    out.line()
    out.comment("Go on towards a duty, so that a change takes `fade_ms`; give where it is now.")
    with out.function("static uint8_t faded(struct fade *it, uint8_t to, uint32_t fade_ms)"):
        out.line("const uint32_t now_ms = (uint32_t)millis();")
        out.line("uint32_t gone_ms;")
        out.line()
        with out.block("if (to != it->to)"):
            out.line("it->from = it->now;")
            out.line("it->to = to;")
            out.line("it->since_ms = now_ms;")
        out.line("gone_ms = now_ms - it->since_ms;")
        with out.block("if (gone_ms >= fade_ms)", "} else if (to > it->from) {"):
            out.line("it->now = to;")
            out.line("it->from = to;")
        for sign, ends, tail in (
            ("+", ("to", "it->from"), "} else {"),
            ("-", ("it->from", "to"), "}"),
        ):
            high, low = ends
            with out.indented():
                out.line("it->now = (uint8_t)(it->from")
                out.line(f"        {sign} (((uint32_t)({high} - {low}) * gone_ms) / fade_ms));")
            out.line(tail)
        out.line("return it->now;")


def _pulse(out: CWriter) -> None:
    out.comment(
        "A sound that is started by a pulse: the value that it was given last, the one that waits "
        "for its pulse, the one that has it, and since when it has, or has had it."
    )
    with out.block("struct pulse", "};"):
        out.line("uint8_t given;")
        out.line("uint8_t next;")
        out.line("uint8_t now;")
        out.line("bool has_gap;")
        out.line("uint32_t since_ms;")
    out.line()
    out.line("#define PULSE_AT(rest) { (rest), (rest), (rest), false, 0u }")
    out.line()
    out.comment(
        "Give the value that has its pulse now. Each new value gets one; what rests again before "
        "its turn has come gets none."
    )
    head = (
        "static uint8_t pulsed(struct pulse *it, uint8_t value, uint8_t rest, uint32_t pulse_ms, "
        "uint32_t gap_ms)"
    )
    with out.function(head):
        out.line("const uint32_t now_ms = (uint32_t)millis();")
        out.line("const uint32_t gone_ms = now_ms - it->since_ms;")
        out.line()
        with out.block("if (value != it->given)"):
            out.line("it->given = value;")
            out.line("it->next = value;")
        with out.block("if (it->now != rest)", "} else {"), out.block("if (gone_ms >= pulse_ms)"):
            out.line("it->now = rest;")
            out.line("it->has_gap = true;")
            out.line("it->since_ms = now_ms;")
        with out.indented():
            with out.block("if (gone_ms >= gap_ms)"):
                out.line("it->has_gap = false;")
            with out.block("if (!it->has_gap && (it->next != rest))"):
                out.line("it->now = it->next;")
                out.line("it->next = rest;")
                out.line("it->since_ms = now_ms;")
        out.line("}")
        out.line("return it->now;")


# --- How pins begin -----------------------------------------------------------------------------


def pins_begun(out: CWriter, board: Board) -> None:
    """Write how outputs come to rest and inputs get their pulls."""
    if board.drives:
        out.comment("Each output rests before its pin becomes one.")
    for output in board.drives:
        _output_begun(out, output)
    servos_begun(out, board)
    if board.drives and board.reads:
        out.line()
    for item in board.reads:
        _input_begun(out, item)


def _output_begun(out: CWriter, output: DriveCall) -> None:
    how = output.how
    match how:
        case Switched(wires=wires) | Dimmed(wires=wires) | Pulsed(wires=wires):
            for wire in wires:
                # A pulse is no level: the wire of a value that rests is off too.
                on = wire.at_rest and not isinstance(how, Pulsed)
                _begun(out, wire.pin, how.on_when, on=on)
        case Stepped():
            for pin in (how.step, how.direction, how.enable):
                if pin is not None:
                    _begun(out, pin, how.on_when, on=False)
        case _:
            pass


def _begun(out: CWriter, pin: str, on_when: str, *, on: bool) -> None:
    out.statement(f"begin_output({pin}, {'true' if on else 'false'}, {on_when});")


def _input_begun(out: CWriter, item: ReadCall) -> None:
    match item.how:
        case Contact(pin=pin, pull=pull) | Counts(pin=pin, pull=pull):
            _mode(out, pin, pull)
        case Positions(pins=pins, pull=pull):
            for _, pin in pins:
                _mode(out, pin, pull)
        case _:
            pass


def _mode(out: CWriter, pin: str, pull: str | None) -> None:
    if pull is None:
        out.statement(f"pinMode({pin}, INPUT);")
    else:
        out.statement(f"pinMode({pin}, WITH_PULL({pull}));")
