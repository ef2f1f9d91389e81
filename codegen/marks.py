"""By which a board file says what it does, and NAME_board.h refuses to be built without it."""

import re
from collections.abc import Iterator

from codegen.cwriter import CWriter
from codegen.module import Module
from codegen.wired import Mark


def write_marks(out: CWriter, module: Module) -> None:
    """Write what a board file says that it does, as it stands at the head of it."""
    out.line(f"#define {module.upper}_BOARD_FILE")
    out.line(f"#define {_for(module)}")
    for mark in module.marks:
        if not mark.is_yours:
            out.line(f"#define {mark.macro}")
    out.line()


def write_demands(out: CWriter, module: Module) -> None:
    """Write what the header asks of the board file."""
    out.comment(
        f"{module.prefix}_board.c says by macros what it reads and drives. Where the behaviour "
        "has more, it is not built: write that there, and its macro with it."
    )
    out.line(f"#ifdef {module.upper}_BOARD_FILE")
    out.line(f"#ifndef {_for(module)}")
    out.line(f'#error "this board file is not for {module.controller}"')
    out.line("#endif")
    for mark in module.marks:
        out.line(f"#ifndef {mark.macro}")
        out.line(f'#error "this board file does not {mark.does} yet"')
        out.line("#endif")
    out.line("#endif")
    out.line()


def missing_marks(module: Module, board_file: str) -> tuple[Mark, ...]:
    """List what a board file does not say that it does; nothing of one that takes no part."""
    said = frozenset(_defined(board_file))
    if f"{module.upper}_BOARD_FILE" not in said:
        return ()
    return tuple(mark for mark in module.marks if mark.macro not in said)


def is_for_another(module: Module, board_file: str) -> bool:
    """Tell whether a board file was written for another controller."""
    said = frozenset(_defined(board_file))
    return f"{module.upper}_BOARD_FILE" in said and _for(module) not in said


def _for(module: Module) -> str:
    return f"{module.upper}_BOARD_FOR_{module.controller.upper()}"


def _defined(text: str) -> Iterator[str]:
    bare = re.sub(r"/\*.*?\*/|//[^\n]*", " ", text, flags=re.DOTALL)
    yield from re.findall(r"^[ \t]*#[ \t]*define[ \t]+(\w+)", bare, re.MULTILINE)
