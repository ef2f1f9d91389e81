"""Writes a board for lockstep: it reads what each loop is given and prints what the loop left.

Strategy: one line of numbers in, one line of numbers out. `p MS RAW... N (LOW HIGH DRAWN)...` is
power-up, `s` with the same a step, draws in the order of the calls; after the readings stands for
each motor that is moved by distance whether its move is done. `c REGION NUMBER` upsets a region's
state and prints nothing. Out come steady inputs, counters, states, outputs as driven, the steps
that each of those motors was told to make, upsets, and the board's complaints.
"""

from codegen.cwriter import CWriter
from codegen.module import Module

MOST_DRAWS = 64

NOT_OFFERED = 1
LEFT_OVER = 2
NOT_AS_DRIVEN = 4
READ_BEFORE_REST = 8
NOT_BEGUN = 16
MOVES_NOTHING = 32
COMPLAINTS = {
    NOT_OFFERED: "a random time was drawn that the loop does not draw",
    LEFT_OVER: "a random time was not drawn that the loop draws",
    NOT_AS_DRIVEN: "an output was driven to another value than it has",
    READ_BEFORE_REST: "an input was read before every output was at rest",
    NOT_BEGUN: "the board was used before it was made ready",
    MOVES_NOTHING: "a motor was told to move by no steps",
}
"""What the board complains of, by its bit."""


def harness(module: Module) -> str:
    """Give the text of the board with its own main."""
    out = CWriter()
    out.line("#include <stdio.h>")
    out.line()
    out.line(f'#include "{module.prefix}_board.h"')
    out.line()
    out.line(f"static struct {module.prefix} prop;")
    if module.inputs:
        out.line(f"static unsigned int raw[{len(module.inputs)}];")
    if module.outputs:
        out.line(f"static unsigned int driven[{len(module.outputs)}];")
        out.line(f"static unsigned int drives[{len(module.outputs)}];")
    if module.movers:
        out.line(f"static unsigned int done[{len(module.movers)}];")
        out.line(f"static unsigned long told[{len(module.movers)}];")
    out.line(f"static uint32_t draws[{MOST_DRAWS}][3];")
    out.line("static unsigned int offered;")
    out.line("static unsigned int complaints;")
    out.line("static bool begun;")
    out.line()
    _board(out, module)
    _take_draws(out)
    _print(out, module)
    _main(out, module)
    return out.text()


def _board(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    for number, item in enumerate(module.inputs):
        with out.function(f"{item.type.type} {item.board_read}(void)"):
            _complain_unless_begun(out)
            for other in range(len(module.outputs)):
                with out.block(f"if (drives[{other}] == 0u)"):
                    out.line(f"complaints |= {READ_BEFORE_REST}u;")
            out.line(f"return ({item.type.type})raw[{number}];")
    for number, output in enumerate(module.outputs):
        with out.function(f"void {output.board_drive}({output.type.type} value)"):
            _complain_unless_begun(out)
            with out.block(f"if ((drives[{number}] == 0u) && (value != {output.rest}))"):
                out.line(f"complaints |= {READ_BEFORE_REST}u;")
            out.line(f"drives[{number}] = 1u;")
            out.line(f"driven[{number}] = (unsigned int)value;")
    for number, (output, moved) in enumerate(module.movers):
        at = module.outputs.index(output)
        head = f"void {moved.board_move}({output.type.type} value, uint32_t steps)"
        with out.function(head):
            with out.block("if (steps == 0u)"):
                out.line(f"complaints |= {MOVES_NOTHING}u;")
            out.line(f"driven[{at}] = (unsigned int)value;")
            out.line(f"told[{number}] += steps;")
        with out.function(f"bool {moved.board_done}(void)"):
            out.line(f"return done[{number}] != 0u;")
    if module.draws_random:
        with out.function(f"uint32_t {prefix}_board_random(uint32_t low, uint32_t high)"):
            out.line("unsigned int at;")
            out.line()
            with out.block("for (at = 0u; at < offered; at++)"):  # noqa: SIM117
                with out.block_if(["(draws[at][0] == low)", "(draws[at][1] == high)"]):
                    out.line("const uint32_t drawn = draws[at][2];")
                    out.line()
                    out.line("offered--;")
                    with out.block("for (; at < offered; at++)"):
                        for part in range(3):
                            out.line(f"draws[at][{part}] = draws[at + 1u][{part}];")
                    out.line("return drawn;")
            out.line(f"complaints |= {NOT_OFFERED}u;")
            out.line("return low;")
    with out.function(f"void {prefix}_board_begin(void)"):
        out.line("begun = true;")
    with out.function(f"void {prefix}_board_write(const char *text)"):
        out.line("(void)text;")


def _complain_unless_begun(out: CWriter) -> None:
    with out.block("if (!begun)"):
        out.line(f"complaints |= {NOT_BEGUN}u;")


def _take_draws(out: CWriter) -> None:
    with out.function("static bool take_draws(void)"):
        out.line("unsigned int at;")
        out.line("unsigned long number[3];")
        out.line()
        out.line('bool fits = (scanf("%u", &offered) == 1);')
        out.line()
        with out.block(f"for (at = 0u; fits && (at < offered) && (at < {MOST_DRAWS}u); at++)"):
            out.line('fits = (scanf("%lu %lu %lu", &number[0], &number[1], &number[2]) == 3);')
            for part in range(3):
                out.line(f"draws[at][{part}] = (uint32_t)number[{part}];")
        out.line("return fits;")


def _print(out: CWriter, module: Module) -> None:
    with out.function("static void print_all(void)"):
        for number, output in enumerate(module.outputs):
            with out.block(f"if ((unsigned int){output.accessor}(&prop) != driven[{number}])"):
                out.line(f"complaints |= {NOT_AS_DRIVEN}u;")
        with out.block("if (offered != 0u)"):
            out.line(f"complaints |= {LEFT_OVER}u;")
        for item in module.inputs:
            out.line(f'(void)printf("%u ", (unsigned int)prop.{item.member});')
        for counter in module.counters:
            out.line(f'(void)printf("%ld ", (long)prop.{counter.member});')
        for region in module.regions:
            out.line(f'(void)printf("%u ", (unsigned int){region.accessor}(&prop));')
        for number, _ in enumerate(module.outputs):
            out.line(f'(void)printf("%u ", driven[{number}]);')
        for number, _ in enumerate(module.movers):
            out.line(f'(void)printf("%lu ", told[{number}]);')
            out.line(f"told[{number}] = 0u;")
        out.line('(void)printf("%lu %u\\n", (unsigned long)prop.upsets, complaints);')
        out.line("complaints = 0u;")


def _main(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    with out.function("int main(void)"):
        out.line("char what;")
        out.line("unsigned long now_ms;")
        out.line("unsigned int at;")
        out.line("unsigned int upset_state;")
        out.line()
        with out.block('while (scanf(" %c", &what) == 1)'):
            with out.block("if (what == 'c')"):
                out.line('if (scanf("%u %u", &at, &upset_state) != 2) {')
                out.line("    return 1;")
                out.line("}")
                for number, region in enumerate(module.regions):
                    with out.block(f"if (at == {number}u)"):
                        out.line(f"prop.{region.member} = ({region.type.type})upset_state;")
                out.line("continue;")
            out.line('if (scanf("%lu", &now_ms) != 1) {')
            out.line("    return 1;")
            out.line("}")
            for number, _ in enumerate(module.inputs):
                out.line(f'if (scanf("%u", &raw[{number}]) != 1) {{')
                out.line("    return 1;")
                out.line("}")
            for number, _ in enumerate(module.movers):
                out.line(f'if (scanf("%u", &done[{number}]) != 1) {{')
                out.line("    return 1;")
                out.line("}")
            out.line("if (!take_draws()) {")
            out.line("    return 1;")
            out.line("}")
            with out.block("if (what == 'p')", "} else {"):
                for number, _ in enumerate(module.outputs):
                    out.line(f"drives[{number}] = 0u;")
                out.line("begun = false;")
                out.line(f"{prefix}_power_up(&prop, (uint32_t)now_ms);")
            with out.indented():
                out.line(f"{prefix}_step(&prop, (uint32_t)now_ms);")
            out.line("}")
            out.line(f"{prefix}_trace(&prop, (uint32_t)now_ms);")
            out.line("print_all();")
        out.line("return 0;")
