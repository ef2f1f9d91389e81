"""Writes NAME_board.h, what a board must provide, and NAME_board.c for a computer."""

from codegen.banner import banner, banner_of_yours, fingerprint_check, sealed
from codegen.cwriter import CWriter
from codegen.marks import write_demands, write_marks
from codegen.module import Enumeration, Input, Module, Moved, Output


def board_header(module: Module) -> str:
    """Give the text of the board's header."""
    out = CWriter()
    prefix = module.prefix
    banner(out, module, "what the board must provide")
    with out.header(f"{module.upper}_BOARD_H"):
        out.line(f'#include "{prefix}.h"')
        out.line()
        fingerprint_check(out, module)
        out.line()
        write_demands(out, module)
        with out.linkage():
            _calls(out, module)
    return sealed(out.text())


def _calls(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    out.comment(
        "Make the board ready. Called once, first of all: write the resting level of each output, "
        "and only then make its pin an output."
    )
    out.line(f"void {prefix}_board_begin(void);")
    out.line()
    if module.inputs:
        out.comment("Read an input as it is now, unfiltered. Called once in each loop.")
        for item in module.inputs:
            out.statement(f"{item.type.type} {item.board_read}(void);")
        out.line()
    if module.outputs:
        out.comment("Give an output its value. Called in each loop, also where nothing changed.")
        for output in module.outputs:
            out.statement(f"void {output.board_drive}({output.type.type} value);")
        out.line()
    if module.movers:
        out.comment(
            "Begin to turn a motor by so many steps in a direction, and let it rest there. While "
            "that goes on it is not driven otherwise; the next value that it is given ends it."
        )
        for output, moved in module.movers:
            out.statement(f"void {moved.board_move}({output.type.type} value, uint32_t steps);")
        out.line()
        out.comment("Tell whether the move that was begun last has ended.")
        for _, moved in module.movers:
            out.statement(f"bool {moved.board_done}(void);")
        out.line()
    if module.draws_random:
        out.comment("Draw a whole number from `low` to `high`, both included.")
        out.statement(f"uint32_t {prefix}_board_random(uint32_t low, uint32_t high);")
        out.line()
    out.comment("Write a piece of the trace. Lines end with a newline.")
    out.line(f"void {prefix}_board_write(const char *text);")
    out.line()
    out.comment("Milliseconds since some moment, counting on across the rollover.")
    out.line(f"uint32_t {prefix}_board_now_ms(void);")
    _calls_of_loop(out, module)


def _calls_of_loop(out: CWriter, module: Module) -> None:
    """Write the calls that only the loop makes."""
    prefix, board = module.prefix, module.board
    if board is None:
        out.line()
        out.comment("Tell whether to go on.")
        out.line(f"bool {prefix}_board_goes_on(void);")
        return
    if board.steppers:
        out.line()
        out.comment("Make the steps that are due. Called as often as can be, between loops too.")
        out.line(f"void {prefix}_board_serve(void);")
    if board.watchdog is not None:
        out.line()
        out.comment("Begin to be watched, after power-up; and say in each loop that all is well.")
        out.line(f"void {prefix}_board_begin_watchdog(void);")
        out.line(f"void {prefix}_board_feed_watchdog(void);")


def host_board(module: Module) -> str:
    """Give the text of a board that is a computer's standard input and output."""
    out = CWriter()
    banner_of_yours(
        out,
        module,
        "the board, which here is a computer",
        "Each line of standard input does one thing: `NAME VALUE` lets an input read a value, "
        + ("`NAME done` ends a motor's move, " if module.movers else "")
        + "`wait MS` lets time go by. What outputs are given goes to standard output, the trace to "
        "standard error.",
    )
    write_marks(out, module)
    for file in ("stdio.h", "stdlib.h", "string.h"):
        out.line(f"#include <{file}>")
    out.line()
    out.line(f'#include "{module.prefix}_board.h"')
    out.line(f'#include "{module.prefix}_settings.h"')
    out.line()
    out.line("#define LONGEST_LINE 200")
    out.line("#define LONGEST_WORD 40 /* as in the sscanf below */")
    out.line()
    out.line("static uint32_t now_ms;")
    out.line("static uint32_t until_ms;")
    for item in module.inputs:
        out.statement(f"static {item.type.type} raw_{item.word} = {item.first};")
    for output, _ in module.movers:
        out.line(f"static bool done_{output.word};")
    if module.draws_random:
        out.line("static uint32_t dice = 1u;")
    out.line()
    _obey(out, module)
    _goes_on(out, module)
    _small_calls(out, module)
    for item in module.inputs:
        _read(out, item)
    for output in module.outputs:
        _drive(out, output)
    for output, moved in module.movers:
        _move(out, output, moved)
    return out.text()


def _move(out: CWriter, output: Output, moved: Moved) -> None:
    head = f"void {moved.board_move}({output.type.type} value, uint32_t steps)"
    with out.function(head):
        out.line(f"done_{output.word} = false;")
        out.line('(void)printf("%lu steps: ", (unsigned long)steps);')
        _print_word(out, output.word, output.type)
    with out.function(f"bool {moved.board_done}(void)"):
        out.line(f"return done_{output.word};")


def _obey(out: CWriter, module: Module) -> None:
    out.comment("Do what a line says; tell whether it was understood.")
    with out.function("static bool obey(const char *name, const char *value)"):
        out.line("bool understood = true;")
        out.line()
        lead = ""
        for item in module.inputs:
            for enumerator in item.type.enumerators:
                words = (("name", item.word), ("value", enumerator.word))
                tests = [f'(strcmp({what}, "{word}") == 0)' for what, word in words]
                out.open_if(tests, lead)
                with out.indented():
                    out.line(f"raw_{item.word} = {enumerator.name};")
                lead = "} else "
        for output, _ in module.movers:
            tests = [f'(strcmp(name, "{output.word}") == 0)', '(strcmp(value, "done") == 0)']
            out.open_if(tests, lead)
            with out.indented():
                out.line(f"done_{output.word} = true;")
            lead = "} else "
        out.line(f'{lead}if (strcmp(name, "wait") == 0) {{')
        with out.indented():
            out.line("until_ms = now_ms + (uint32_t)strtoul(value, NULL, 10);")
        out.line("} else {")
        with out.indented():
            out.line("understood = false;")
        out.line("}")
        out.line("return understood;")


def _goes_on(out: CWriter, module: Module) -> None:
    prefix, loop = module.prefix, f"{module.upper}_LOOP_MS"
    out.comment("Read lines until one lets time go by, then let one loop of it.")
    with out.function(f"bool {prefix}_board_goes_on(void)"):
        out.line("char line[LONGEST_LINE];")
        out.line("char name[LONGEST_WORD + 1];")
        out.line("char value[LONGEST_WORD + 1];")
        out.line("bool goes_on = true;")
        out.line()
        with out.block(f"while (goes_on && ((until_ms - now_ms) < {loop}))"):
            with out.block("if (fgets(line, LONGEST_LINE, stdin) == NULL)", "} else {"):
                out.line("goes_on = false;")
            with out.indented():
                out.line('const int words = sscanf(line, "%40s %40s", name, value);')
                out.line()
                with out.block("if ((words > 0) && ((words < 2) || !obey(name, value)))"):
                    out.line('(void)fprintf(stderr, "not understood: %s", line);')
            out.line("}")
        with out.block("if (goes_on)"):
            out.line(f"now_ms += {loop};")
        out.line("return goes_on;")


def _small_calls(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    with out.function(f"uint32_t {prefix}_board_now_ms(void)"):
        out.line("return now_ms;")
    with out.function(f"void {prefix}_board_begin(void)"):
        out.line("now_ms = 0u;")
        out.line("until_ms = 0u;")
    if module.draws_random:
        random_call(out, module)
    with out.function(f"void {prefix}_board_write(const char *text)"):
        out.line("(void)fputs(text, stderr);")


def random_call(out: CWriter, module: Module, *first: str) -> None:
    """Write the call that draws a number from `dice`; `first` is done before it is drawn."""
    out.comment("Marsaglia's xorshift for 32 bits (Xorshift RNGs, 2003).")
    with out.function(f"uint32_t {module.prefix}_board_random(uint32_t low, uint32_t high)"):
        for line in first:
            out.line(line)
        out.line("dice ^= dice << 13;")
        out.line("dice ^= dice >> 17;")
        out.line("dice ^= dice << 5;")
        out.line("return low + (dice % ((high - low) + 1u));")


def _read(out: CWriter, item: Input) -> None:
    with out.function(f"{item.type.type} {item.board_read}(void)"):
        out.line(f"return raw_{item.word};")


def _drive(out: CWriter, output: Output) -> None:
    with out.function(f"void {output.board_drive}({output.type.type} value)"):
        out.statement(f"static {output.type.type} last = {output.rest};")
        out.line()
        with out.block("if (value != last)"):
            out.line("last = value;")
            _print_word(out, output.word, output.type)


def _print_word(out: CWriter, word: str, kind: Enumeration) -> None:
    with out.switch("value"):
        for enumerator in kind.enumerators:
            out.line(f"case {enumerator.name}:")
            with out.indented():
                out.line(f'(void)puts("{word} {enumerator.word}");')
                out.line("break;")
        out.line("default:")
        with out.indented():
            out.line("break;")
