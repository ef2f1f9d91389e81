"""Writes NAME_trace.c: a line of text for each change, `MS NAME VALUE`."""

from collections.abc import Iterator

from codegen.banner import banner, fingerprint_check, sealed
from codegen.cwriter import CWriter
from codegen.module import Enumeration, Module


def trace(module: Module) -> str:
    """Give the text of the trace."""
    out = CWriter()
    prefix = module.prefix
    banner(
        out,
        module,
        "the trace",
        "A line for each change: milliseconds, what changed, and what it is now. The first line "
        "says what this is a copy of.",
    )
    out.line(f'#include "{prefix}.h"')
    out.line(f'#include "{prefix}_board.h"')
    out.line()
    fingerprint_check(out, module)
    out.line()
    _flash(out)
    _words(out, module)
    _numbers(out, module)
    _line(out, module)
    _count(out, module)
    _trace(out, module)
    return sealed(out.text())


def _traced(module: Module) -> Iterator[tuple[str, str, Enumeration]]:
    """List what is traced by word, member and type; counters apart."""
    for item in module.inputs:
        yield item.word, item.member, item.type
    for region in module.regions:
        yield region.word, region.member, region.type
    for output in module.outputs:
        yield output.word, output.member, output.type


def _flash(out: CWriter) -> None:
    out.comment("On an AVR texts would lie in RAM, unless they are kept in flash and read from it.")
    out.line("#ifdef __AVR__")
    out.line("#include <avr/pgmspace.h>")
    out.line("#define IN_FLASH PROGMEM")
    out.line("#define LETTER(at) ((char)pgm_read_byte(at))")
    out.line("#else")
    out.line("#define IN_FLASH")
    out.line("#define LETTER(at) (*(at))")
    out.line("#endif")
    out.line()


def _words(out: CWriter, module: Module) -> None:
    out.comment("What is traced, and its values by number. A blank ends each word.")
    heading = f"{module.prefix} {module.fingerprint} bytes "
    out.line("static const char heading[] IN_FLASH =")
    with out.indented():
        out.line(f'"{heading}";')
    for word, member, kind in _traced(module):
        _listed(out, member, [word, *(each.word for each in kind.enumerators)])
    for counter in module.counters:
        _listed(out, counter.member, [counter.word])
    _listed(out, "upsets", ["upsets"])
    out.line()
    out.comment("What was told last, and when.")
    out.line("static uint32_t told_ms;")
    out.line("static bool begun = false;")
    for _, member, _ in _traced(module):
        out.line(f"static unsigned int last_{member};")
    for counter in module.counters:
        out.line(f"static int32_t last_{counter.member};")
    out.line("static uint32_t last_upsets;")
    out.line()


def _listed(out: CWriter, member: str, words: list[str]) -> None:
    out.line(f"static const char words_of_{member}[] IN_FLASH =")
    with out.indented():
        for word in words[:-1]:
            out.line(f'"{word} "')
        out.line(f'"{words[-1]} ";')


def _numbers(out: CWriter, module: Module) -> None:
    with out.function("static void write_number(uint32_t number)"):
        out.line("char digits[11];")
        out.line("uint8_t at = 10u;")
        out.line("uint32_t left = number;")
        out.line()
        out.line("digits[at] = '\\0';")
        with out.block("do", "} while (left > 0u);"):
            out.line("at--;")
            out.line("digits[at] = (char)('0' + (char)(left % 10u));")
            out.line("left /= 10u;")
        out.line(f"{module.prefix}_board_write(&digits[at]);")


def _line(out: CWriter, module: Module) -> None:
    write = f"{module.prefix}_board_write"
    out.comment("Write a text up to a letter, or all of it.")
    with out.function("static void write_text(const char *text, char until)"):
        out.line("static char letter[2]; /* the second one ends the text */")
        out.line("const char *at = text;")
        out.line()
        with out.block("while ((LETTER(at) != until) && (LETTER(at) != '\\0'))"):
            out.line("letter[0] = LETTER(at);")
            out.line(f"{write}(letter);")
            out.line("at++;")
    with out.function("static const char *next_word(const char *word)"):
        out.line("const char *at = word;")
        out.line()
        with out.block("while (LETTER(at) != ' ')"):
            out.line("at++;")
        out.line("return &at[1];")
    with out.function("static void begin_line(const char *words)"):
        out.line("write_number(told_ms);")
        out.line(f'{write}(" ");')
        out.line("write_text(words, ' ');")
        out.line(f'{write}(" ");')
    out.comment("Write a line if a value has changed; `number` is which of the words it is.")
    with out.function(
        "static void tell(const char *words, unsigned int number, unsigned int *last)"
    ):
        out.line("const char *word = words;")
        out.line("unsigned int at = 0u;")
        out.line()
        with out.block("if (!begun || (*last != number))"):
            out.line("*last = number;")
            with out.block("do", "} while ((at <= number) && (LETTER(word) != '\\0'));"):
                out.line("word = next_word(word);")
                out.line("at++;")
            out.line("begin_line(words);")
            with out.block("if (LETTER(word) == '\\0')", "} else {"):
                out.line(f'{write}("upset");')
            with out.indented():
                out.line("write_text(word, ' ');")
            out.line("}")
            out.line(f'{write}("\\n");')


def _count(out: CWriter, module: Module) -> None:
    write = f"{module.prefix}_board_write"
    with out.function("static void tell_count(const char *words, int32_t count)"):
        out.line("begin_line(words);")
        if any(counter.is_ever_negative for counter in module.counters):
            with out.block("if (count < 0)", "} else {"):
                out.line(f'{write}("-");')
                out.line("write_number((uint32_t)(-count));")
            with out.indented():
                out.line("write_number((uint32_t)count);")
            out.line("}")
        else:
            out.line("write_number((uint32_t)count);")
        out.line(f'{write}("\\n");')


def _trace(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    write = f"{prefix}_board_write"
    with out.function(f"void {prefix}_trace(const struct {prefix} *prop, uint32_t now_ms)"):
        out.line("told_ms = now_ms;")
        with out.block("if (!begun)"):
            out.line("write_number(told_ms);")
            out.line(f'{write}(" ");')
            out.line("write_text(heading, '\\0');")
            out.line(f"write_number((uint32_t)sizeof(struct {prefix}));")
            out.line(f'{write}("\\n");')
        for _, member, _ in _traced(module):
            out.statement(f"tell(words_of_{member}, (unsigned int)prop->{member}, &last_{member});")
        for counter in module.counters:
            name = counter.member
            with out.block_if([f"!begun || (prop->{name} != last_{name})"]):
                out.line(f"last_{name} = prop->{name};")
                out.statement(f"tell_count(words_of_{name}, prop->{name});")
        with out.block("if (prop->upsets != last_upsets)"):
            out.line("last_upsets = prop->upsets;")
            out.line("tell_count(words_of_upsets, (int32_t)prop->upsets);")
        out.line("begun = true;")
