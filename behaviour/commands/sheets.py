"""What the commands share that print one sheet of a file: their arguments, and where it goes."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    OK,
    UNREADABLE,
    CommandError,
    form_for,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser
from behaviour.disk import write_whole

if TYPE_CHECKING:
    from behaviour.model import Model
    from behaviour.source import Source


Writer = Callable[["Source", "Model"], str | bytes]


def print_sheet(
    arguments: Arguments,
    command: str,
    says: str,
    forms: tuple[str, ...],
    writer: Callable[[str], Writer],
) -> int:
    """Read the arguments of a command that prints one sheet, and print it, or write it to a file.

    The first of `forms` is meant where nothing says another; `writer` gives what writes a form.
    """
    parser = Parser(f"tablework {command}", description=says)
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument(
        "--as", dest="form", choices=forms, help=f"else as `--out` ends, or {forms[0]}"
    )
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    asked = parser.parse_args(arguments)
    form = form_for(asked.form, asked.out, forms)
    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    sheet = writer(form)(readable.source, readable.model)
    if asked.out is not None:
        write_whole(asked.out, sheet if isinstance(sheet, bytes) else sheet.encode())
        put_out(f"written: {asked.out}\n")
    elif isinstance(sheet, str):
        put_out(sheet)
    elif sys.stdout.isatty():
        raise CommandError(
            f"this is not for a terminal: say where it goes with `--out FILE.{form}`"
        )
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(sheet)
    return OK
