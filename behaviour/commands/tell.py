"""`tell`: the behaviour as plain sentences, to read aloud and sign."""

from __future__ import annotations

from typing import TYPE_CHECKING

from behaviour.commands.answering import CommandError
from behaviour.commands.arguments import Arguments
from behaviour.commands.sheets import Writer, print_sheet

if TYPE_CHECKING:
    from behaviour.model import Model
    from behaviour.source import Source

FORMS = ("markdown", "html", "pdf")


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    says = "Tell the behaviour in plain sentences."
    return print_sheet(arguments, "tell", says, FORMS, writer)


def writer(form: str) -> Writer:
    """Give what writes a form."""
    from behaviour.draw.render import CannotDrawError
    from behaviour.report import sentences_forms

    def write(source: Source, model: Model) -> str | bytes:
        try:
            return sentences_forms.WRITERS[form](source, model)
        except CannotDrawError as problem:
            raise CommandError(str(problem)) from problem

    return write
