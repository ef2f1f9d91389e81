"""`table`: each state by each thing that can happen, and every blank."""

from __future__ import annotations

from behaviour.commands.arguments import Arguments
from behaviour.commands.sheets import Writer, print_sheet


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    return print_sheet(
        arguments,
        "table",
        "Give each state by each thing that can happen, and every blank.",
        ("markdown", "html", "csv"),
        writer,
    )


def writer(form: str) -> Writer:
    """Give what writes a form."""
    from behaviour.report import table_forms

    return table_forms.WRITERS[form]
