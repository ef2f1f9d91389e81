"""`tell`: the behaviour as plain sentences, to read aloud and sign."""

from __future__ import annotations

from behaviour.commands.arguments import Arguments
from behaviour.commands.sheets import Writer, print_sheet


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    return print_sheet(
        arguments, "tell", "Tell the behaviour in plain sentences.", ("markdown", "html"), writer
    )


def writer(form: str) -> Writer:
    """Give what writes a form."""
    from behaviour.report import sentences_forms

    return sentences_forms.WRITERS[form]
