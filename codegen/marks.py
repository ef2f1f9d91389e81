"""By which the coder's files say what they do, and NAME_board.h refuses to be built without it."""

import re
from collections.abc import Iterator

from codegen.cwriter import CWriter
from codegen.module import Module
from codegen.wired import Mark


def write_marks(out: CWriter, module: Module, file: str = "board") -> None:
    """Write what a board file or a loop says that it does, as it stands at the head of it."""
    out.line(f"#define {_file(module, file)}")
    if file == "board":
        out.line(f"#define {_for(module)}")
    for mark in module.marks:
        if mark.file == file and not mark.is_yours:
            out.line(f"#define {mark.macro}")
    out.line()


def write_demands(out: CWriter, module: Module) -> None:
    """Write what the header asks of the board file and of the loop."""
    out.comment(
        f"{module.prefix}_board.c says by macros what it reads and drives, and the loop what it "
        "looks after. Where the behaviour has more, they are not built: write that there, and its "
        "macro with it."
    )
    out.line(f"#ifdef {_file(module, 'board')}")
    out.line(f"#ifndef {_for(module)}")
    out.line(f'#error "this board file is not for {module.controller}"')
    out.line("#endif")
    _demands(out, module, "board", "this board file")
    out.line("#endif")
    if any(mark.file == "loop" for mark in module.marks):
        out.line(f"#ifdef {_file(module, 'loop')}")
        _demands(out, module, "loop", "this loop")
        out.line("#endif")
    out.line()


def _demands(out: CWriter, module: Module, file: str, what: str) -> None:
    for mark in module.marks:
        if mark.file == file:
            out.line(f"#ifndef {mark.macro}")
            out.line(f'#error "{what} does not {mark.does} yet"')
            out.line("#endif")


def missing_marks(module: Module, text: str) -> tuple[Mark, ...]:
    """List what a file of the coder's does not say that it does; nothing of one without marks."""
    said = frozenset(_defined(text))
    return tuple(
        mark for mark in module.marks if _file(module, mark.file) in said and mark.macro not in said
    )


def is_for_another(module: Module, board_file: str) -> bool:
    """Tell whether a board file was written for another controller."""
    said = frozenset(_defined(board_file))
    return _file(module, "board") in said and _for(module) not in said


def _file(module: Module, file: str) -> str:
    return f"{module.upper}_{file.upper()}_FILE"


def _for(module: Module) -> str:
    return f"{module.upper}_BOARD_FOR_{module.controller.upper()}"


def _defined(text: str) -> Iterator[str]:
    bare = re.sub(r"/\*.*?\*/|//[^\n]*", " ", text, flags=re.DOTALL)
    yield from re.findall(r"^[ \t]*#[ \t]*define[ \t]+(\w+)", bare, re.MULTILINE)
