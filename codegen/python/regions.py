"""Writes a region's part of NAME.py: its tables, its functions, what it looks at and sets."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from behaviour.model import Region as ModelRegion
from codegen.expressions import ALWAYS
from codegen.module import Branch, Chain, Drive, Function, Region
from codegen.names import Names, shouted
from codegen.python.pywriter import PyWriter
from codegen.python.ways import states_table, ways_table


@dataclass(frozen=True, slots=True)
class Tables:
    """What the tables of a region are called."""

    states: str
    ways: str


def tables_of(regions: Sequence[Region], taken: frozenset[str]) -> dict[str, Tables]:
    """Name the tables of all regions, by region."""
    names = Names(taken)
    return {
        region.word: Tables(
            names.take(shouted(region.member, "states")), names.take(shouted(region.member, "ways"))
        )
        for region in regions
    }


def region_tables(out: PyWriter, region: Region, tables: Tables, written: ModelRegion) -> None:
    """Write the states of a region and the ways between them."""
    out.comment(*region.comment)
    _table(out, tables.states, [(line, "") for line in states_table(written)])
    ways = [(text, str(line) if line else "") for text, line in ways_table(written)]
    _table(out, tables.ways, ways)
    out.line()
    out.line()


def _table(out: PyWriter, name: str, lines: list[tuple[str, str]]) -> None:
    if not lines:
        out.line(f"{name} = []")
        return
    out.line(f"{name} = [")
    with out.indented():
        for text, comment in lines:
            out.statement(text, comment)
    out.line("]")


def region_functions(out: PyWriter, region: Region) -> None:
    """Write how a region enters its states and what it looks at."""
    for predicate in region.predicates:
        with out.function(f"{predicate.name}(state)", predicate.comment):
            listed = ", ".join(predicate.enumerators)
            out.statement(f"return state in ({listed}{',' if ',' not in listed else ''})")
    if region.enter is not None:
        note = "; its time begins again" if region.timer else ""
        with out.function(f"{region.enter}(prop, place)", f"Enter a state of {region.word}{note}."):
            out.line(f"prop.{region.member}.go(place)")
            if region.timer:
                out.line(f"prop.{region.timer} = 0")
    for entry in region.entries:
        with out.function(f"{entry.name}(prop)", entry.comment):
            for part in entry.body:
                if isinstance(part, Branch):
                    branch(out, part)
                else:
                    out.statement(part)
    if region.interlocks is not None:
        _interlocks(out, region.interlocks)
    for leave in region.leaves:
        with out.function(f"{leave.name}({_parameters(leave)})", leave.comment):
            _chain(out, leave.chain)
    _look(out, region)


def look_calls(out: PyWriter, region: Region) -> None:
    """Write the calls by which one loop looks at a region."""
    look = f"{region.look_function}(prop, seen)"
    if region.interlocks is None:
        out.line(look)
        return
    with out.block(f"if not {interlocks_call(region.interlocks)}"):
        out.line(look)


def interlocks_call(interlocks: Function) -> str:
    return f"{interlocks.name}({_parameters(interlocks)})"


def branch(out: PyWriter, found: Branch) -> None:
    """Write an `if` with what it does."""
    with out.condition("if", found.when):
        for text in found.body:
            out.statement(text)


def drive_function(out: PyWriter, region: Region) -> None:
    """Write the function that gives the outputs of a region what its state sets."""
    about = f"Give the outputs of {region.word} what its state sets."
    with out.function(f"{region.drive_function}(prop)", about):
        for member, rest in region.rests:
            out.statement(f"prop.{member} = {rest}")
        setting = [drive for drive in region.drives if drive.sets]
        with out.block(f"match prop.{region.member}.state"):
            for sets, alike in groupby(setting, key=lambda drive: drive.sets):
                _drive_case(out, tuple(alike), sets)


def owns_outputs(region: Region) -> bool:
    """Tell whether a region sets any output."""
    return any(drive.sets for drive in region.drives)


def _interlocks(out: PyWriter, interlocks: Function) -> None:
    with out.function(interlocks_call(interlocks), interlocks.comment):
        taken = tuple(
            replace(each, body=(*each.body, "return True")) for each in interlocks.chain.branches
        )
        _chain(out, replace(interlocks.chain, branches=taken))
        if taken[-1].when != ALWAYS:
            out.line("return False")


def _look(out: PyWriter, region: Region) -> None:
    about = f"Look at what leaves the state of {region.word}; at most one way is taken."
    head = f"{region.look_function}(prop, seen)"
    with out.function(head, about), out.block(f"match prop.{region.member}.state"):
        for case in region.cases:
            if case.comment != (case.labels[0].strip('"'),):
                out.comment(*case.comment)
            with out.block(f"case {' | '.join(case.labels)}"):
                _chain(out, case.chain)
        with out.block("case _"):
            out.line("upset(prop)")


def _drive_case(
    out: PyWriter, alike: tuple[Drive, ...], sets: tuple[tuple[str, str, str], ...]
) -> None:
    with out.block(f"case {' | '.join(drive.label for drive in alike)}"):
        for member, value, place in sets:
            out.statement(f"prop.{member} = {value}", f"as {place} does" if place else "")


def _chain(out: PyWriter, chain: Chain) -> None:
    """Write branches as one `if ... elif`, in which at most one is taken."""
    word = "if"
    for found in chain.branches:
        if found.when == ALWAYS and word == "if":
            _body(out, found)
            _left_out(out, chain)
            return
        if found.when == ALWAYS:
            with out.block("else"):
                _body(out, found)
        else:
            with out.condition(word, found.when):
                _body(out, found)
        word = "elif"
    if chain.otherwise and word == "elif":
        with out.block("else"):
            out.line(chain.otherwise)
    elif chain.otherwise:
        out.line(chain.otherwise)
    elif chain.is_empty:
        out.line("pass")
    _left_out(out, chain)


def _body(out: PyWriter, found: Branch) -> None:
    out.comment(*found.comment)
    for text in found.body:
        out.statement(text)
    if not found.body:
        out.line("pass")


def _left_out(out: PyWriter, chain: Chain) -> None:
    for words in chain.left_out:
        out.comment(words)


def _parameters(function: Function) -> str:
    return "prop, seen" if function.sees else "prop"
