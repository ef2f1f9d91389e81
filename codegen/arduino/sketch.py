"""Writes NAME.ino: the loop of an Arduino folder, the user's from then on."""

from codegen.arduino.cores import core
from codegen.banner import banner_of_yours
from codegen.cwriter import CWriter
from codegen.marks import write_marks
from codegen.module import Module
from codegen.wired import Board

BAUD = 115_200


def sketch(module: Module, board: Board) -> str:
    """Give the text of the sketch."""
    out = CWriter()
    prefix = module.prefix
    notes = [f"The trace goes out over the serial line, at {BAUD} baud."]
    if board.steppers:
        notes.append(
            f"Steps are made by {prefix}_board_serve, which must be called far more often than "
            "they come: between two loops it is called again and again, and while the trace waits "
            "for its line."
        )
    banner_of_yours(out, module, "the loop", *notes)
    write_marks(out, module, "loop")
    out.line(f'#include "{prefix}_board.h"')
    out.line(f'#include "{prefix}_settings.h"')
    out.line()
    out.line(f"static struct {prefix} prop;")
    out.line()
    _setup(out, module, board)
    _loop(out, module, board)
    _write(out, module, board)
    return out.text()


def _setup(out: CWriter, module: Module, board: Board) -> None:
    prefix = module.prefix
    with out.function("void setup()"):
        out.statement(f"const uint32_t now_ms = {prefix}_board_now_ms();")
        out.line()
        out.comment("First of all everything comes to rest.")
        out.line(f"{prefix}_power_up(&prop, now_ms);")
        out.line(f"Serial.begin({BAUD});")
        out.line(f"{prefix}_trace(&prop, now_ms);")
        if board.watchdog is not None:
            out.line(f"{prefix}_board_begin_watchdog();")


def _loop(out: CWriter, module: Module, board: Board) -> None:
    prefix = module.prefix
    with out.function("void loop()"):
        out.statement(f"const uint32_t now_ms = {prefix}_board_now_ms();")
        out.line()
        if board.steppers:
            out.line(f"{prefix}_board_serve();")
        with out.block(f"if ((now_ms - prop.last_ms) >= {module.upper}_LOOP_MS)"):
            if board.watchdog is not None:
                out.line(f"{prefix}_board_feed_watchdog();")
            out.line(f"{prefix}_step(&prop, now_ms);")
            if board.steppers:
                out.line(f"{prefix}_board_serve();")
            out.line(f"{prefix}_trace(&prop, now_ms);")


def _write(out: CWriter, module: Module, board: Board) -> None:
    serve = f"{module.prefix}_board_serve();"
    waits = core(board.core).waits_to_trace
    if not waits:
        out.comment("What finds no room is left out: the prop never waits for whoever listens.")
    elif board.steppers:
        out.comment("While the line is full, steps go on.")
    with out.function(f"void {module.prefix}_board_write(const char *text)"):
        if waits and not board.steppers:
            out.line("Serial.print(text);")
            return
        with out.block("for (const char *at = text; *at != '\\0'; at++)"):
            if waits:
                with out.block("while (Serial.availableForWrite() == 0)"):
                    out.line(serve)
                out.line("Serial.write((uint8_t)*at);")
            else:
                with out.block("if (Serial.availableForWrite() > 0)"):
                    out.line("Serial.write((uint8_t)*at);")
