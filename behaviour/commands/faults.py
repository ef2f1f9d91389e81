"""`faults`: every rule judged with one thing wrong at a time."""

from __future__ import annotations

import json
from pathlib import PurePath

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    paint_of_terminal,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import SECONDS_LIMIT, Arguments, Parser, add_jobs, add_limit
from behaviour.disk import write_whole

FAULTS_LIMIT = 10 * SECONDS_LIMIT


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework faults", description="Judge every rule with one thing wrong.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("text", "json", "csv", "html"))
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--pairs", action="store_true", help="two things wrong at a time as well")
    add_jobs(parser, "one a core if left out")
    add_limit(parser, FAULTS_LIMIT)
    asked = parser.parse_args(arguments)
    form = asked.form or worksheet_format(asked.out)
    return faults(asked.spec, form, asked.out, asked.limit, pairs=asked.pairs, jobs=asked.jobs)


def worksheet_format(out: str | None) -> str:
    """Tell from the name of a file which kind of worksheet is meant; text where it does not say."""
    suffix = PurePath(out or "").suffix.lower()
    return {".json": "json", ".csv": "csv", ".html": "html", ".htm": "html"}.get(suffix, "text")


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
