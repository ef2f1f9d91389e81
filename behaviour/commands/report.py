"""`report`: everything on one page of HTML."""

from __future__ import annotations

from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    form_for,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_jobs, add_limit
from behaviour.disk import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterator

    from behaviour.model import Model
    from behaviour.report.report_html import Played


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework report", description="Put everything on one page of HTML.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument(
        "--faults", action="store_true", help="with the failure worksheet, which takes longer"
    )
    add_jobs(parser, "one a core if left out")
    add_limit(parser)
    asked = parser.parse_args(arguments)
    form_for(None, asked.out, ("html",))
    return report(asked.spec, asked.out, asked.limit, faults=asked.faults, jobs=asked.jobs)


def report(name: str, out: str | None, seconds: float, *, faults: bool, jobs: int | None) -> int:
    """Check a file, work everything out, and print the page or write it to `out`."""
    from behaviour.jobs import all_cores
    from behaviour.numbers.sheet import numbers_of
    from behaviour.pipeline import check, worksheet_of
    from behaviour.report.report_html import Material, report_html
    from behaviour.report.verdict import FileVerdict, verdict_of

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    model = readable.model
    with progress(f"checking {name}"):
        outcome = check(readable, seconds, jobs or 1).outcome
    sheet = None
    if faults:
        with progress(f"judging {name} with one thing wrong at a time"):
            sheet, _ = worksheet_of(readable, seconds, pairs=False, jobs=jobs or all_cores())
    blocks = numbers_of(model, ()) if model.drives or model.power is not None else ()
    material = Material(readable.source, model, outcome, blocks, tuple(_played(model)), sheet)
    page = report_html(material)
    if out is None:
        put_out(page)
    else:
        write_whole(out, page.encode())
        put_out(f"written: {out}\n")
    codes = {FileVerdict.BROKEN: BROKEN, FileVerdict.NOT_DECIDED: NOT_DECIDED}
    return codes.get(verdict_of(outcome), OK)


def _played(model: Model) -> Iterator[Played]:
    """Run the walkthroughs of a prop."""
    from behaviour.rehearse.walking import perform
    from behaviour.report.report_html import Played

    for walkthrough in model.walkthroughs:
        failure = perform(model, walkthrough).failure
        yield Played(walkthrough.name, "" if failure is None else failure.why)
