"""`faults`: every rule judged with one thing wrong at a time."""

from __future__ import annotations

import json

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    form_for,
    paint_of_terminal,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import SECONDS_LIMIT, Arguments, Parser, add_jobs, add_limit
from behaviour.disk import write_whole

FORMS = ("text", "json", "csv", "html")
FAULTS_LIMIT = 10 * SECONDS_LIMIT


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework faults", description="Judge every rule with one thing wrong.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=FORMS, help="else as `--out` ends, or text")
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--pairs", action="store_true", help="two things wrong at a time as well")
    add_jobs(parser, "one a core if left out")
    add_limit(parser, FAULTS_LIMIT)
    asked = parser.parse_args(arguments)
    form = form_for(asked.form, asked.out, FORMS)
    return faults(asked.spec, form, asked.out, asked.limit, pairs=asked.pairs, jobs=asked.jobs)


def faults(
    name: str, form: str, out: str | None, seconds: float, *, pairs: bool, jobs: int | None
) -> int:
    """Judge a file with one thing wrong at a time, and print the worksheet or write it to `out`."""
    from behaviour.check.faulting import Cell
    from behaviour.jobs import all_cores
    from behaviour.pipeline import worksheet_of
    from behaviour.report import worksheet_data, worksheet_html, worksheet_text
    from behaviour.report.paint import PLAIN

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    source, model = readable.source, readable.model
    with progress(f"judging {name} with one thing wrong at a time"):
        sheet, took = worksheet_of(readable, seconds, pairs=pairs, jobs=jobs or all_cores())
    match form:
        case "json":
            told = worksheet_data.worksheet_object(source, model, sheet)
            text = json.dumps(told, indent=1) + "\n"
        case "csv":
            text = worksheet_data.worksheet_csv(model, sheet)
        case "html":
            text = worksheet_html.worksheet_html(source, model, sheet)
        case _:
            paint = paint_of_terminal() if out is None else PLAIN
            text = worksheet_text.worksheet_text(source, model, sheet, took, paint)
    if out is None:
        put_out(text)
    else:
        write_whole(out, text.encode())
        put_out(f"written: {out}\n")
    return {Cell.BROKEN: BROKEN, Cell.NOT_DECIDED: NOT_DECIDED}.get(sheet.cell, OK)
