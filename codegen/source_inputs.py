"""Writes the inputs' part of NAME.c: filters, the first reading, every later one."""

from codegen.cwriter import CWriter
from codegen.module import Input, Module


def filters(out: CWriter, module: Module) -> None:
    """Write a function for each input that reads and filters it, and those that call them all."""
    for item in module.inputs:
        if not _is_even(item):
            _steady_loops(out, item)
        _read(out, module, item)
    if module.inputs:
        _read_inputs(out, module)
        _first_reading(out, module)


def read_call(module: Module) -> str:
    """Give the call that reads all inputs."""
    return f"read_inputs({_arguments(any(map(_counts, module.inputs)))});"


def _counts(item: Input) -> bool:
    """Tell whether reading an input counts loops."""
    return item.raw_for is not None or item.since is not None


def _arguments(counts: bool) -> str:  # noqa: FBT001
    return "prop, loops" if counts else "prop"


def _parameters(module: Module, counts: bool) -> str:  # noqa: FBT001
    return f"struct {module.prefix} *prop" + (", uint32_t loops" if counts else "")


def _is_even(item: Input) -> bool:
    """Tell whether all values of an input count after the same time."""
    times = {loops for _, loops in item.steady}
    return not times or (len(times) == 1 and len(item.steady) == len(item.type.enumerators))


def _needed(item: Input, value: str) -> str:
    return item.steady[0][1] if _is_even(item) else f"{item.steady_function}({value})"


def _steady_loops(out: CWriter, item: Input) -> None:
    out.comment(f"How many loops a value of {item.word} must have been read to count.")
    with out.function(f"static uint32_t {item.steady_function}({item.type.type} value)"):
        out.line("uint32_t loops;")
        out.line()
        with out.switch("value"):
            steady = dict(item.steady)
            for enumerator in item.type.enumerators:
                if enumerator.name in steady:
                    out.line(f"case {enumerator.name}:")
                    with out.indented():
                        out.statement(f"loops = {steady[enumerator.name]};")
                        out.line("break;")
            for enumerator in item.type.enumerators:
                if enumerator.name not in steady:
                    out.line(f"case {enumerator.name}:")
            out.line("default:")
            with out.indented():
                out.line("loops = 0u;")
                out.line("break;")
        out.line("return loops;")


def _read(out: CWriter, module: Module, item: Input) -> None:
    if item.steady:
        out.comment(f"{item.word} counts when it has read the same for long enough.")
    with out.function(f"static void {item.read_function}({_parameters(module, _counts(item))})"):
        out.statement(f"const {item.type.type} raw = {item.board_read}();")
        out.line()
        is_new = [f"raw != prop->{item.member}"]
        if item.raw_for:
            out.statement(
                f"prop->{item.raw_for} = "
                f"(raw == prop->{item.raw}) ? longer(prop->{item.raw_for}, loops) : 0u;"
            )
            out.line(f"prop->{item.raw} = raw;")
            is_new = [f"({is_new[0]})", f"lasted(prop->{item.raw_for}, {_needed(item, 'raw')})"]
        if item.since:
            out.statement(f"prop->{item.since} = longer(prop->{item.since}, loops);")
        if item.changed:
            out.line(f"prop->{item.changed} = false;")
        with out.block_if(is_new):
            out.line(f"prop->{item.member} = raw;")
            if item.since:
                out.line(f"prop->{item.since} = 0u;")
            if item.changed:
                out.line(f"prop->{item.changed} = true;")


def _read_inputs(out: CWriter, module: Module) -> None:
    counts = any(_counts(item) for item in module.inputs)
    with out.function(f"static void read_inputs({_parameters(module, counts)})"):
        for item in module.inputs:
            out.line(f"{item.read_function}({_arguments(_counts(item))});")


def _first_reading(out: CWriter, module: Module) -> None:
    if any(item.presumed for item in module.inputs):
        out.comment(
            "The first reading counts at once, but what protects people counts as not safe until "
            "it has been safe for long enough."
        )
    else:
        out.comment("The first reading counts at once.")
    with out.function(f"static void first_reading(struct {module.prefix} *prop)"):
        for number, item in enumerate(module.inputs):
            if number:
                out.line()
            _first(out, item)


def _first(out: CWriter, item: Input) -> None:
    out.statement(f"prop->{item.member} = {item.board_read}();")
    if item.raw_for:
        out.line(f"prop->{item.raw} = prop->{item.member};")
        out.line(f"prop->{item.raw_for} = 0u;")
    if item.since:
        out.line(f"prop->{item.since} = 0u;")
    if item.changed:
        out.line(f"prop->{item.changed} = false;")
    if item.presumed:
        safe, presumed = item.presumed
        tests = [f"(prop->{item.member} == {safe})", f"!lasted(0u, {_needed(item, safe)})"]
        with out.block_if(tests):
            out.line(f"prop->{item.member} = {presumed};")
