"""Writes a region's part of NAME.c: its functions, its switch, and what its states set."""

from dataclasses import replace
from itertools import groupby

from codegen.cwriter import CONTINUED, WIDTH, CWriter
from codegen.expressions import ALWAYS, laid_out, written
from codegen.module import Branch, Chain, Drive, Function, Module, Region, identifiers


def region_functions(out: CWriter, module: Module, region: Region) -> None:
    """Write how a region enters its states and what it looks at."""
    if region.enter is not None:
        _enter(out, module, region, region.enter)
    for entry in region.entries:
        out.comment(entry.comment)
        with out.function(f"static void {entry.name}(struct {module.prefix} *prop)"):
            for part in entry.body:
                if isinstance(part, Branch):
                    _plain_if(out, part)
                else:
                    out.statement(part)
    if region.interlocks is not None:
        _interlocks(out, module, region.interlocks)
    for leave in region.leaves:
        out.comment(leave.comment)
        with out.function(f"static void {leave.name}({_parameters(module, leave)})"):
            if "prop" not in identifiers(leave.fragments()):
                out.line("(void)prop;")
            _chain(out, leave.chain)
    _look(out, module, region)


def look_calls(out: CWriter, region: Region) -> None:
    """Write the calls by which one loop looks at a region."""
    look = f"{region.look_function}({_arguments(_look_sees(region))});"
    if region.interlocks is None:
        out.line(look)
        return
    call = f"{region.interlocks.name}({_arguments(region.interlocks.sees)})"
    with out.block(f"if (!{call})"):
        out.line(look)


def begin_calls(out: CWriter, region: Region) -> None:
    """Write what power-up looks at in a region, and what it draws at random."""
    if region.interlocks is None:
        for text in region.begin:
            out.statement(text)
        return
    call = f"{region.interlocks.name}({_arguments(region.interlocks.sees)})"
    if not region.begin and not region.redraw:
        out.line(f"(void){call};")
        return
    with out.block(f"if ({call})", tail="} else {"):
        for branch in region.redraw:
            _plain_if(out, branch)
    with out.indented():
        for text in region.begin:
            out.statement(text)
    out.line("}")


def drive_function(out: CWriter, module: Module, region: Region) -> None:
    """Write the function that gives the outputs of a region what its state sets."""
    if not owns_outputs(region):
        return
    out.comment(f"What {region.word} gives its outputs.")
    with out.function(f"static void {region.drive_function}(struct {module.prefix} *prop)"):
        for member, rest in region.rests:
            out.statement(f"prop->{member} = {rest};")
        if region.rests:
            out.line()
        with out.switch(f"prop->{region.member}"):
            for sets, alike in groupby(region.drives, key=lambda drive: drive.sets):
                _drive_case(out, tuple(alike), sets)
            _default(out)


def owns_outputs(region: Region) -> bool:
    """Tell whether a region sets any output."""
    return any(drive.sets for drive in region.drives)


def _enter(out: CWriter, module: Module, region: Region, name: str) -> None:
    note = ": its time begins again" if region.timer else ""
    out.comment(f"Enter a state of {region.word}{note}.")
    with out.function(
        f"static void {name}(struct {module.prefix} *prop, {region.type.type} state)"
    ):
        out.line(f"prop->{region.member} = state;")
        if region.timer:
            out.line(f"prop->{region.timer} = 0u;")


def _interlocks(out: CWriter, module: Module, interlocks: Function) -> None:
    out.comment(interlocks.comment)
    with out.function(f"static bool {interlocks.name}({_parameters(module, interlocks)})"):
        out.line("bool taken = true;")
        out.line()
        chain = interlocks.chain
        is_sure = chain.branches[-1].when == ALWAYS
        otherwise = "" if is_sure else "taken = false;"
        _chain(out, replace(chain, otherwise=otherwise))
        out.line("return taken;")


def _look(out: CWriter, module: Module, region: Region) -> None:
    seen = f", const struct {module.prefix}_seen *seen" if _look_sees(region) else ""
    out.comment(*region.comment)
    head = f"static void {region.look_function}(struct {module.prefix} *prop{seen})"
    with out.function(head), out.switch(f"prop->{region.member}"):
        for case in region.cases:
            out.comment(*case.comment)
            for label in case.labels:
                out.line(f"case {label}:")
            with out.indented():
                _chain(out, case.chain)
                out.line("break;")
            out.line()
        _default(out)


def _drive_case(
    out: CWriter, alike: tuple[Drive, ...], sets: tuple[tuple[str, str, str], ...]
) -> None:
    for drive in alike:
        out.line(f"case {drive.label}:")
    with out.indented():
        for member, value, place in sets:
            note = f" /* as {place} does */" if place else ""
            out.statement(f"prop->{member} = {value};{note}")
        out.line("break;")


def _default(out: CWriter) -> None:
    out.line("default:")
    with out.indented():
        out.line("upset(prop);")
        out.line("break;")


def _chain(out: CWriter, chain: Chain) -> None:
    """Write branches as one `if ... else if`, in which at most one is taken."""
    lead = ""
    for branch in chain.branches:
        if branch.when == ALWAYS and not lead:
            _body(out, branch)
            _left_out(out, chain)
            return
        if branch.when == ALWAYS:
            out.line(f"{lead}{{")
        else:
            _if(out, f"{lead}if (", branch)
        with out.indented():
            _body(out, branch)
        lead = "} else "
    if chain.otherwise and lead:
        out.line(f"{lead}{{")
        with out.indented():
            out.line(chain.otherwise)
    elif chain.otherwise:
        out.line(chain.otherwise)
    if lead:
        out.line("}")
    _left_out(out, chain)


def _if(out: CWriter, lead: str, branch: Branch) -> None:
    end = ") {"
    room = WIDTH - out.depth - len(end)
    first, *rest = laid_out(branch.when, room - len(lead), room - CONTINUED)
    out.continued([lead + first, *rest], end)


def _body(out: CWriter, branch: Branch) -> None:
    out.comment(*branch.comment)
    for text in branch.body:
        out.statement(text)


def _left_out(out: CWriter, chain: Chain) -> None:
    for words in chain.left_out:
        out.comment(words)


def _plain_if(out: CWriter, branch: Branch) -> None:
    with out.block_if([written(branch.when)]):
        for text in branch.body:
            out.statement(text)


def _look_sees(region: Region) -> bool:
    return "seen" in identifiers(text for case in region.cases for text in case.chain.fragments())


def _parameters(module: Module, function: Function) -> str:
    seen = f", const struct {module.prefix}_seen *seen" if function.sees else ""
    return f"struct {module.prefix} *prop{seen}"


def _arguments(sees: bool) -> str:  # noqa: FBT001
    return "prop, &seen" if sees else "prop"
