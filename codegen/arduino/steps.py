"""Writes how a board file steps a motor: its driver's pins, and the generator that tells when."""

from codegen.arduino.cores import core
from codegen.cwriter import CWriter
from codegen.module import Module
from codegen.wired import Board, DriveCall, Stepped


def stepping(out: CWriter, board: Board) -> None:
    """Write what is known of each stepper, and how it begins to turn another way."""
    for output, how in board.steppers:
        word = output.word
        out.comment(f"How {word} turns, and when its next step is due or since when it rests.")
        out.statement(f"static {output.type} {word}_turns = {output.rest};")
        out.line(f"static uint32_t {word}_due_us;")
        if _waits(output, how):
            out.comment("Steps that wait until it has slowed down, and which way they go.")
            out.line(f"static uint32_t {word}_waits;")
            out.statement(f"static {output.type} {word}_then = {output.rest};")
        out.line()
        _begin(out, output, how)


def _waits(output: DriveCall, how: Stepped) -> bool:
    return output.move is not None and how.ramps_down


def _begin(out: CWriter, output: DriveCall, how: Stepped) -> None:
    word = output.word
    out.comment(f"Let {word} turn so from now on. Called while it makes no step.")
    with out.function(f"static void begin_way_of_{word}({output.type} value)"):
        if how.direction is not None:
            out.statement(f"const bool is_first = (value == {how.first});")
            out.line()
            test = f"is_first != ({how.turns} != 0u)"
            out.statement(f"put({how.direction}, {test}, {how.on_when});")
        out.line(f"{word}_turns = value;")
        out.line(f"{word}_due_us = (uint32_t)micros();")


def drive_stepper(out: CWriter, output: DriveCall, how: Stepped) -> None:
    """Write the call that drives a stepper."""
    word, made = output.word, how.generator
    stops_at_once = not how.ramps_down and output.move is None
    with out.function(f"void {output.call}({output.type} value)"):
        if how.hold is not None:
            out.statement(f"const uint32_t hold_us = {how.hold} * UINT32_C(1000);")
            out.line("uint32_t rests_us;")
            out.line()
        if _waits(output, how):
            out.line(f"{word}_waits = 0u;")
        with out.block_if([f"value != {word}_turns"]):
            if stops_at_once:
                out.line(f"{made}_rest();")
                out.line(f"begin_way_of_{word}(value);")
                with out.block_if([f"value != {output.rest}"]):
                    out.line(f"{made}_turn();")
            else:
                out.comment("It comes to rest before it turns another way.")
                out.line(f"{made}_rest();")
                with out.block_if([f"{made}_is_resting()"]):
                    out.line(f"begin_way_of_{word}(value);")
        if not stops_at_once:
            with out.block_if([f"(value != {output.rest})", f"(value == {word}_turns)"]):
                out.line(f"{made}_turn();")
        if how.enable is not None and how.hold is not None:
            _enable(out, output, how, how.enable)


def _enable(out: CWriter, output: DriveCall, how: Stepped, enable: str) -> None:
    """Write when the driver is on: while it turns, and for a while after."""
    out.line(f"rests_us = (uint32_t)micros() - {output.word}_due_us;")
    out.open_if([f"(value == {output.rest})", "(rests_us >= hold_us)"])
    with out.indented():
        if how.ramps_down:
            with out.block_if([f"{how.generator}_is_resting()"]):
                out.statement(f"put({enable}, false, {how.on_when});")
        else:
            out.statement(f"put({enable}, false, {how.on_when});")
    out.open_if([f"value != {output.rest}"], "} else ")
    with out.indented():
        out.statement(f"put({enable}, true, {how.on_when});")
    out.line("} else {")
    with out.indented():
        out.comment("Its driver holds what turned.")
    out.line("}")


def moves(out: CWriter, output: DriveCall) -> None:
    """Write the calls of a stepper that is moved by distance."""
    how = output.how
    if output.move is None or not isinstance(how, Stepped):
        return
    word, made = output.word, how.generator
    with out.function(f"void {output.move}({output.type} value, uint32_t steps)"):
        out.line(f"{made}_rest();")
        if how.enable is not None:
            out.statement(f"put({how.enable}, true, {how.on_when});")
        if not how.ramps_down:
            out.line(f"begin_way_of_{word}(value);")
            out.line(f"{made}_move(steps);")
        else:
            with out.block(f"if ({made}_is_resting())", "} else {"):
                out.line(f"begin_way_of_{word}(value);")
                out.line(f"{made}_move(steps);")
            with out.indented():
                out.comment("It is still slowing down.")
                out.line(f"{word}_then = value;")
                out.line(f"{word}_waits = steps;")
            out.line("}")
    with out.function(f"bool {output.done}(void)"):
        waits = f" && ({word}_waits == 0u)" if _waits(output, how) else ""
        out.statement(f"return {made}_is_resting(){waits};")


def serve(out: CWriter, module: Module, board: Board) -> None:
    """Write what makes the steps that are due."""
    if not board.steppers:
        return
    for output, how in board.steppers:
        _step(out, output, how, board.core)
    with out.function(f"void {module.prefix}_board_serve(void)"):
        for output, _ in board.steppers:
            out.line(f"step_{output.word}();")


def _step(out: CWriter, output: DriveCall, how: Stepped, name: str) -> None:
    word, made, pulse = output.word, how.generator, core(name).pulse
    out.comment(
        f"Make a step of {word}, if one is due. Where it comes late the next comes the sooner, "
        "but never after less than half of its time, or the motor could not follow."
    )
    with out.function(f"static void step_{word}(void)"):
        out.line("const uint32_t now_us = (uint32_t)micros();")
        out.line(f"uint32_t late_us = now_us - {word}_due_us;")
        out.line("uint32_t next_us;")
        out.line()
        if _waits(output, how):
            with out.block_if([f"({word}_waits > 0u)", f"{made}_is_resting()"]):
                out.line(f"begin_way_of_{word}({word}_then);")
                out.line(f"{made}_move({word}_waits);")
                out.line(f"{word}_waits = 0u;")
                out.line("late_us = 0u;")
        with out.block_if([f"!{made}_is_resting()", "(late_us <= (UINT32_MAX / 2u))"]):
            out.line(f"next_us = {made}_next();")
            with out.block("if (next_us > 0u)"):
                out.statement(f"put({how.step}, true, {how.on_when});")
                if pulse:
                    out.line(pulse)
                out.statement(f"put({how.step}, false, {how.on_when});")
                with out.block("if (late_us > (next_us / 2u))"):
                    out.line("late_us = next_us / 2u;")
                out.line(f"{word}_due_us = (now_us + next_us) - late_us;")
