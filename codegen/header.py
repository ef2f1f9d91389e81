"""Writes NAME.h: the types, the one instance's state, the calls."""

from codegen.banner import banner, fingerprint_check, sealed
from codegen.cwriter import CWriter
from codegen.module import Enumeration, Module


def header(module: Module) -> str:
    """Give the text of the header."""
    out = CWriter()
    banner(
        out, module, "its types, its state, its calls", *([module.about] if module.about else [])
    )
    with out.header(f"{module.upper}_H"):
        out.line("#include <stdbool.h>")
        out.line("#include <stdint.h>")
        out.line()
        fingerprint_check(out, module)
        out.line()
        with out.linkage():
            for item in module.inputs:
                enumeration(out, item.type)
            for output in module.outputs:
                enumeration(out, output.type)
            for region in module.regions:
                enumeration(out, region.type)
            _instance(out, module)
            _calls(out, module)
    return sealed(out.text())


def enumeration(out: CWriter, kind: Enumeration) -> None:
    """Write an enum with what it is as a comment."""
    out.comment(*kind.comment)
    with out.block(kind.type, "};"):
        *most, last = (enumerator.name for enumerator in kind.enumerators)
        for name in most:
            out.line(f"{name},")
        out.line(last)
    out.line()


def _instance(out: CWriter, module: Module) -> None:
    out.comment(
        "The whole prop. There is one, it is yours to place, and it is handed to every call; only "
        "the calls below change it. Times are counted in loops."
    )
    with out.block(f"struct {module.prefix}", "};"):
        out.line("uint32_t last_ms; /* when the last loop began */")
        out.line("uint32_t upsets;  /* how often a state was found that cannot be */")
        _inputs(out, module)
        if module.outputs:
            out.line()
            out.comment("Outputs, as this loop leaves them.")
            for output in module.outputs:
                out.statement(f"{output.type.type} {output.member};")
        for output, moved in module.movers:
            out.line()
            out.comment(f"Whether a move of {output.word} has ended; steps to begin in this loop.")
            out.line(f"bool {moved.done};")
            out.line(f"uint32_t {moved.steps};")
        if module.counters:
            out.line()
            for counter in module.counters:
                out.statement(f"int32_t {counter.member}; /* {counter.comment} */")
        _regions(out, module)
    out.line()


def _inputs(out: CWriter, module: Module) -> None:
    for item in module.inputs:
        parts = ["what counts"]
        parts += ["the last reading", "how long it has read so"] if item.raw else []
        parts += ["how long it has counted"] if item.since else []
        parts += ["whether it changed in this loop"] if item.changed else []
        out.line()
        out.comment(f"Input {item.word}: {', '.join(parts)}.")
        out.statement(f"{item.type.type} {item.member};")
        if item.raw:
            out.statement(f"{item.type.type} {item.raw};")
        for member in (item.raw_for, item.since):
            if member:
                out.line(f"uint32_t {member};")
        if item.changed:
            out.line(f"bool {item.changed};")


def _regions(out: CWriter, module: Module) -> None:
    for region in module.regions:
        parts = ["its state"]
        parts += ["how long it has been in it"] if region.timer else []
        parts += ["how long in states around it"] if region.timers else []
        parts += ["times drawn at random"] if region.drawn else []
        out.line()
        out.comment(f"Region {region.word}: {', '.join(parts)}.")
        out.statement(f"{region.type.type} {region.member};")
        for member in (region.timer, *region.timers, *region.drawn):
            if member:
                out.line(f"uint32_t {member};")


def _calls(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    out.comment(
        "Begin: all outputs at rest, then the first reading, then the states that the prop begins "
        "in. Call it once, before the first step."
    )
    out.statement(f"void {prefix}_power_up(struct {prefix} *prop, uint32_t now_ms);")
    out.line()
    out.comment(
        f"Do one loop if {module.loop_ms} ms have gone by since the last, else nothing. `now_ms` "
        "counts milliseconds and may roll over; a loop that comes late counts all the time that "
        "went by. Apart from the calls of the board it touches nothing but `prop`."
    )
    out.statement(f"void {prefix}_step(struct {prefix} *prop, uint32_t now_ms);")
    out.line()
    if module.regions:
        out.comment("What state each region is in.")
        for region in module.regions:
            _accessor(out, module, region.type, region.accessor)
        out.line()
    if module.outputs:
        out.comment("What each output has.")
        for output in module.outputs:
            _accessor(out, module, output.type, output.accessor)
        out.line()
    out.comment(
        f"Tell the board of each change as a line of text, from {prefix}_trace.c. Call it after "
        "power-up and after each step, or leave it and that file out."
    )
    out.statement(f"void {prefix}_trace(const struct {prefix} *prop, uint32_t now_ms);")


def _accessor(out: CWriter, module: Module, kind: Enumeration, name: str) -> None:
    out.statement(f"{kind.type} {name}(const struct {module.prefix} *prop);")
