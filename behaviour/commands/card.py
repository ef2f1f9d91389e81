"""`card`: one page for whoever runs the show."""

from __future__ import annotations

from behaviour.commands.arguments import Arguments
from behaviour.commands.sheets import Writer, print_sheet


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    return print_sheet(
        arguments,
        "card",
        "Give one page for whoever runs the show.",
        ("markdown", "html"),
        writer,
    )


def writer(form: str) -> Writer:
    """Give what writes a form."""
    from behaviour.report import card_forms

    return card_forms.WRITERS[form]
