"""Writes NAME_board.c for a controller with an Arduino core: all its pins, from the wiring."""

from behaviour.controllers import controller
from codegen.arduino.cores import core, watchdog_calls
from codegen.arduino.drives import drive
from codegen.arduino.helpers import helpers, pins_begun
from codegen.arduino.reads import read
from codegen.arduino.servos import servos
from codegen.arduino.steps import moves, serve, stepping
from codegen.banner import banner_of_yours
from codegen.board import random_call
from codegen.cwriter import CWriter
from codegen.marks import write_marks
from codegen.module import Module
from codegen.wired import Board


def arduino_board(module: Module, board: Board) -> str:
    """Give the text of the board file."""
    out = CWriter()
    banner_of_yours(out, module, f"its board ({board.about})", *_notes(board))
    _includes(out, module, board)
    if module.draws_random:
        out.comment("What the next random number is drawn from.")
        out.line("static uint32_t dice = 1u;")
        out.line()
    helpers(out, module, board)
    stepping(out, board)
    servos(out, board)
    _begin(out, module, board)
    for item in board.reads:
        read(out, item)
    for output in board.drives:
        drive(out, output, board.core)
        moves(out, output)
    serve(out, module, board)
    _watchdog(out, module, board)
    if module.draws_random:
        random_call(out, module, "dice ^= (uint32_t)micros(); /* when it is asked */")
    with out.function(f"uint32_t {module.prefix}_board_now_ms(void)"):
        out.line("return (uint32_t)millis();")
    return out.text()


def _notes(board: Board) -> list[str]:
    rule = (
        "Pins, pulls and levels stand in the settings. What this file reads and drives it says by "
        "the macros below: where the behaviour has more, it is not built until you have written "
        "that here, and the macro with it."
    )
    found = [rule, *(f"Yours to write: {word}, for {why}." for word, why in board.yours)]
    if not core(board.core).is_built_here:
        found.append(
            "Compiled so far against a stub of this core's calls alone, and run on no board."
        )
    return found


def _includes(out: CWriter, module: Module, board: Board) -> None:
    write_marks(out, module)
    files = list(core(board.core).includes if board.drives else ())
    if board.watchdog is not None:
        files += watchdog_calls(controller(board.controller), board.watchdog.set_ms).includes
    files += ["hardware/clocks.h", "hardware/pwm.h"] if _pulses_by_pwm(board) else []
    out.line("#include <Arduino.h>")
    for file in sorted(set(files)):
        out.line(f"#include <{file}>")
    out.line()
    out.line(f'#include "{module.prefix}_board.h"')
    for _, each in board.steppers:
        out.line(f'#include "{each.generator}.h"')
    out.line(f'#include "{module.prefix}_settings.h"')
    out.line()


def _pulses_by_pwm(board: Board) -> bool:
    return board.core == "rp2040" and bool(board.servos)


def _begin(out: CWriter, module: Module, board: Board) -> None:
    with out.function(f"void {module.prefix}_board_begin(void)"):
        if board.watchdog is not None:
            first = watchdog_calls(controller(board.controller), board.watchdog.set_ms).first
            if first:
                out.comment("A watchdog that has restarted the controller is still on.")
            for line in first:
                out.line(line)
            if first:
                out.line()
        pins_begun(out, board)


def _watchdog(out: CWriter, module: Module, board: Board) -> None:
    if board.watchdog is None:
        return
    asked, has = board.watchdog.asked_ms, board.watchdog.set_ms
    calls = watchdog_calls(controller(board.controller), has)
    if asked != has:
        out.comment(f"The file asks for {asked} ms; the longest that is not longer is {has} ms.")
    with out.function(f"void {module.prefix}_board_begin_watchdog(void)"):
        for line in calls.begins:
            out.line(line)
    with out.function(f"void {module.prefix}_board_feed_watchdog(void)"):
        for line in calls.feeds:
            out.line(line)
