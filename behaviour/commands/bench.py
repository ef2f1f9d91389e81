"""`bench`: the sheet for the bench, and the ladder on which the limits of a drive are found."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    OK,
    UNREADABLE,
    CommandError,
    form_for,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, UsageError
from behaviour.disk import read_text, write_whole

if TYPE_CHECKING:
    from behaviour.model import Drive, Model

FORMS = ("text", "html", "csv")


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework bench", description="What to try on the bench.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--ladder", metavar="DRIVE", help="find the limits of this drive")
    parser.add_argument("--results", metavar="FILE", help="the ladder's sheet, filled in (CSV)")
    parser.add_argument(
        "--faults", metavar="FILE", help="the failure worksheet (JSON), for what a cut-off takes"
    )
    parser.add_argument("--as", dest="form", choices=FORMS, help="else as `--out` ends, or text")
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    asked = parser.parse_args(arguments)
    form = form_for(asked.form, asked.out, FORMS)
    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    if asked.results is not None:
        text = _results(readable.model, asked.ladder, asked.results)
    elif asked.ladder is not None:
        text = _ladder(asked.spec, readable.model, asked.ladder, form)
    else:
        from behaviour.report.bench_sheet import bench_html, bench_text, beyond_software

        if form == "csv":
            raise UsageError("the sheet for the bench is text or html; a ladder is text or csv")
        lay_out = bench_html if form == "html" else bench_text
        beyond: tuple[str, ...] = ()
        if asked.faults is not None:
            try:
                beyond = beyond_software(readable.model, read_text(asked.faults))
            except ValueError as wrong:
                raise CommandError(f"`{asked.faults}` {wrong}") from None
        text = lay_out(readable.source, readable.model, beyond)
    if asked.out is None:
        put_out(text)
    else:
        write_whole(asked.out, text.encode())
        put_out(f"written: {asked.out}\n")
    return OK


def _ladder(name: str, model: Model, drive_name: str, form: str) -> str:
    from behaviour.numbers.figures import Missing
    from behaviour.numbers.ladder import ladder
    from behaviour.report.ladder_sheet import ladder_csv, ladder_text

    drive = _drive(model, drive_name)
    rungs = ladder(drive)
    if isinstance(rungs, Missing):
        needed = ", ".join(f"`{each}`" for each in rungs.figures)
        raise CommandError(f"the ladder of `{drive.output}` needs {needed}, guessed if need be")
    if form == "html":
        raise UsageError("the sheet for the bench is text or html; a ladder is text or csv")
    if form == "csv":
        return ladder_csv(model, drive, rungs)
    return ladder_text(PurePath(name).name, model, drive, rungs)


def _results(model: Model, drive_name: str | None, path: str) -> str:
    from behaviour.numbers.ladder import limits
    from behaviour.report.ladder_sheet import SheetError, read_ladder, results_text

    try:
        filled = read_ladder(read_text(path))
    except SheetError as wrong:
        raise CommandError(f"`{path}` cannot be read: {wrong}") from None
    if drive_name is not None and filled.drive and drive_name != filled.drive:
        raise CommandError(f"`{path}` is of `{filled.drive}`, and `{drive_name}` was asked for")
    drive = _drive(model, drive_name or filled.drive)
    return results_text(model, drive, filled, limits(filled.climbed))


def _drive(model: Model, name: str) -> Drive:
    from behaviour.suggest import nearest

    for drive in model.drives:
        if drive.output == name:
            return drive
    names = [drive.output for drive in model.drives]
    near = nearest(name, names, most=1) or tuple(names[:1])
    hint = f": there is `{near[0]}`" if near else ": the file has no `drives`"
    raise CommandError(f"there is no drive `{name}`{hint}")
