"""Writes NAME_DRIVE_steps.h and .c: the step generator of a stepper, to be replaced at will.

It is Austin's recursion (2005) in whole numbers, and makes the very intervals that
`behaviour.numbers.ramp` works out. The numbers come from `lower_steps`.
"""

from codegen.banner import banner, fingerprint_check, sealed
from codegen.cwriter import CWriter
from codegen.lower_steps import StepGenerator
from codegen.module import Module


def steps_header(module: Module, made: StepGenerator) -> str:
    """Give the text of a step generator's header."""
    out = CWriter()
    banner(
        out,
        module,
        f"the steps of {made.output}",
        "How the board uses it: a timer interrupt asks `next`. Where that gives a time, the "
        "interrupt makes one step and comes again after it; where it gives 0, the timer rests "
        "until the motor is given something else. Nothing here waits. Hold the timer's interrupt "
        "off around `turn`, `move`, `rest` and `is_resting` where they are called outside of it.",
        "The direction is the board's: change it only while `is_resting` is true.",
    )
    with out.header(f"{made.upper}_H"):
        out.line("#include <stdbool.h>")
        out.line("#include <stdint.h>")
        out.line()
        fingerprint_check(out, module)
        out.line()
        _numbers(out, made)
        with out.linkage():
            _calls(out, made)
    return sealed(out.text())


def _numbers(out: CWriter, made: StepGenerator) -> None:
    for define in made.defines:
        out.comment(define.comment)
        out.line(f"#define {define.name} {define.value}")
        out.line()


def _calls(out: CWriter, made: StepGenerator) -> None:
    out.comment("Turn until told otherwise, gaining speed from rest.")
    out.line(f"void {made.prefix}_turn(void);")
    out.line()
    out.comment("Make so many steps from rest to rest. Called while it rests.")
    out.line(f"void {made.prefix}_move(uint32_t steps);")
    out.line()
    out.comment(made.how_it_rests)
    out.line(f"void {made.prefix}_rest(void);")
    out.line()
    out.comment("Tell whether no further step is to be made.")
    out.line(f"bool {made.prefix}_is_resting(void);")
    out.line()
    out.comment(
        "Tell whether to make a step now: the microseconds after it at which to ask again, or 0 "
        "for no step."
    )
    out.line(f"uint32_t {made.prefix}_next(void);")


def steps_source(module: Module, made: StepGenerator) -> str:
    """Give the text of a step generator."""
    out = CWriter()
    banner(
        out,
        module,
        f"the steps of {made.output}",
        "After D. Austin, Generate stepper-motor speed profiles in real time (2005): each "
        "interval follows from the one before, with one division of whole numbers.",
    )
    out.line(f'#include "{made.file}.h"')
    out.line()
    out.comment("An interval is kept in parts of 1/256 microsecond.")
    out.line("#define PART 256u")
    out.comment("As many steps left as no move has: it turns until told otherwise.")
    out.line("#define ENDLESS UINT32_MAX")
    out.line()
    out.line("static uint32_t left; /* steps still to be made */")
    out.line("static uint32_t level; /* steps that it takes to come to rest */")
    out.line()
    _starts(out, made)
    _rest(out, made)
    _next(out, made)
    return sealed(out.text())


def _starts(out: CWriter, made: StepGenerator) -> None:
    with out.function(f"void {made.prefix}_turn(void)"):
        with out.block("if (left == 0u)"):
            out.line("level = 0u;")
        out.line("left = ENDLESS;")
    with out.function(f"void {made.prefix}_move(uint32_t steps)"):
        out.line("left = steps;")
        out.line("level = 0u;")
    with out.function(f"bool {made.prefix}_is_resting(void)"):
        out.line("return left == 0u;")


def _rest(out: CWriter, made: StepGenerator) -> None:
    with out.function(f"void {made.prefix}_rest(void)"):
        if not made.ramps_down:
            out.line("left = 0u;")
            out.line("level = 0u;")
        else:
            with out.block("if (level == 0u)", "} else if (left >= level) {"):
                out.line("left = 0u;")
            with out.indented():
                out.line("left = level - 1u;")
            out.line("} else {")
            with out.indented():
                out.comment("It is slowing down already.")
            out.line("}")


def _next(out: CWriter, made: StepGenerator) -> None:
    out.comment("How much an interval becomes shorter or longer: two parts of so many.")
    with out.function("static uint32_t two_parts(uint32_t interval, uint32_t of)"):
        out.line("return ((2u * interval) + (of / 2u)) / of;")
    with out.function(f"uint32_t {made.prefix}_next(void)"):
        out.comment("The last interval, without the limit of speed.")
        out.line("static uint32_t last;")
        out.statement(f"const uint32_t shortest = {made.upper}_SHORTEST;")
        out.line("uint32_t interval = last;")
        out.line("uint32_t at = level;")
        out.line("uint32_t until = 0u;")
        out.line()
        with out.block("if (left == 0u)", "} else {"):
            out.line("at = 0u;")
        with out.indented():
            with out.block("if (at == 0u)", "} else if (left < at) {"):
                out.line(f"interval = {made.upper}_FIRST;")
                out.line("at = 1u;")
            with out.indented():
                out.line("at--;")
                out.line("interval += two_parts(interval, (4u * at) - 1u);")
            out.line("} else if ((left > at) && (interval > shortest)) {")
            with out.indented():
                out.line("interval -= two_parts(interval, (4u * at) + 1u);")
                out.line("at++;")
            out.line("} else {")
            with out.indented():
                out.comment("At full speed, or between gaining and losing it.")
            out.line("}")
            out.line("until = (interval > shortest) ? interval : shortest;")
            out.line("until = (until + (PART / 2u)) / PART;")
            with out.block("if (left != ENDLESS)"):
                out.line("left--;")
        out.line("}")
        out.line("last = interval;")
        out.line("level = at;")
        out.line("return until;")
