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
    _numbers(out, module)
    _line(out, module)
    for _, member, kind in _traced(module):
        _word(out, member, kind)
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


def _numbers(out: CWriter, module: Module) -> None:
    with out.function("static void write_number(uint32_t number)"):
        out.line("char digits[11];")
        out.line("uint8_t at = 10u;")
        out.line("uint32_t left = number;")
        out.line()
        out.line("digits[at] = '\\0';")
        with out.block("do", "} while (left > 0u);"):
            out.line("at--;")
            out.line('digits[at] = "0123456789"[left % 10u];')
            out.line("left /= 10u;")
        out.line(f"{module.prefix}_board_write(&digits[at]);")
    if not module.counters:
        return
    with out.function("static void write_count(int32_t count)"):
        with out.block("if (count < 0)", "} else {"):
            out.line(f'{module.prefix}_board_write("-");')
            out.line("write_number((uint32_t)(-count));")
        with out.indented():
            out.line("write_number((uint32_t)count);")
        out.line("}")


def _line(out: CWriter, module: Module) -> None:
    write = f"{module.prefix}_board_write"
    with out.function("static void begin_line(uint32_t now_ms, const char *name)"):
        out.line("write_number(now_ms);")
        out.line(f'{write}(" ");')
        out.line(f"{write}(name);")
        out.line(f'{write}(" ");')
    with out.function(
        "static void write_line(uint32_t now_ms, const char *name, const char *value)"
    ):
        out.line("begin_line(now_ms, name);")
        out.line(f"{write}(value);")
        out.line(f'{write}("\\n");')


def _word(out: CWriter, member: str, kind: Enumeration) -> None:
    with out.function(f"static const char *word_of_{member}({kind.type} value)"):
        out.line("const char *word;")
        out.line()
        with out.switch("value"):
            for enumerator in kind.enumerators:
                out.line(f"case {enumerator.name}:")
                with out.indented():
                    out.line(f'word = "{enumerator.word}";')
                    out.line("break;")
            out.line("default:")
            with out.indented():
                out.line('word = "upset";')
                out.line("break;")
        out.line("return word;")


def _trace(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    write = f"{prefix}_board_write"
    with out.function(f"void {prefix}_trace(const struct {prefix} *prop, uint32_t now_ms)"):
        out.line(f"static struct {prefix} last;")
        out.line("static bool begun = false;")
        out.line()
        with out.block("if (!begun)"):
            out.statement(f'begin_line(now_ms, "{prefix} {module.fingerprint} bytes");')
            out.line(f"write_number((uint32_t)sizeof(struct {prefix}));")
            out.line(f'{write}("\\n");')
        for word, member, _ in _traced(module):
            with out.block(f"if (!begun || (prop->{member} != last.{member}))"):
                out.statement(f'write_line(now_ms, "{word}", word_of_{member}(prop->{member}));')
        for counter in module.counters:
            with out.block(f"if (!begun || (prop->{counter.member} != last.{counter.member}))"):
                out.line(f'begin_line(now_ms, "{counter.word}");')
                out.line(f"write_count(prop->{counter.member});")
                out.line(f'{write}("\\n");')
        with out.block("if (prop->upsets != last.upsets)"):
            out.line('begin_line(now_ms, "upsets");')
            out.line("write_number(prop->upsets);")
            out.line(f'{write}("\\n");')
        out.line("last = *prop;")
        out.line("begun = true;")
