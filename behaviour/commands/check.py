"""`check`: every finding of some files."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    complain,
    paint_of_terminal,
    progress,
    put_out,
    worst,
)
from behaviour.commands.arguments import (
    Arguments,
    Parser,
    add_controller,
    add_jobs,
    add_limit,
)
from behaviour.disk import DiskError, read_source

if TYPE_CHECKING:
    from behaviour.findings import Outcome
    from behaviour.pipeline import Checked, Unreadable

    Result = DiskError | Unreadable | Checked


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework check", description="Check behaviour files and tell what is found.")
    parser.add_argument("specs", metavar="SPEC", nargs="+", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("text", "json"), default="text")
    parser.add_argument("--notes", action="store_true", help="tell the notes as well")
    add_jobs(parser, "1 if left out")
    add_limit(parser)
    add_controller(parser, "whose pins the file's are judged by; the file's own if left out")
    asked = parser.parse_args(arguments)
    results = _check_each(asked.specs, asked.limit, asked.jobs or 1, asked.controller)
    if asked.form == "json":
        return check_as_json(results, is_one=len(asked.specs) == 1)
    return check_as_text(results, notes=asked.notes)


def check_as_text(results: Iterable[Result], *, notes: bool) -> int:
    """Check files one after the other, printing each as soon as it is done."""
    from behaviour.pipeline import Checked, Unreadable
    from behaviour.report.text import closing_text, mistakes_text, outcome_text

    codes, models, paint = [], [], paint_of_terminal()
    for result in results:
        match result:
            case DiskError():
                complain(str(result))
                codes.append(UNREADABLE)
            case Unreadable(source=source, mistakes=mistakes):
                put_out(mistakes_text(source, mistakes, paint) + "\n")
                codes.append(UNREADABLE)
            case Checked(source=source, model=model, outcome=outcome):
                put_out(outcome_text(source, model, outcome, notes=notes, paint=paint) + "\n")
                codes.append(_code_of(outcome))
                models.append(model)
    if models:
        put_out(closing_text(models))
    return worst(codes)


def check_as_json(results: Iterable[Result], *, is_one: bool) -> int:
    """Check files and print one object for one file, an array for several."""
    from behaviour.pipeline import Checked, Unreadable
    from behaviour.report.json import JsonObject, mistakes_object, outcome_object

    codes: list[int] = []
    told: list[JsonObject] = []
    for result in results:
        match result:
            case DiskError():
                complain(str(result))
                codes.append(UNREADABLE)
            case Unreadable(source=source, mistakes=mistakes):
                told.append(mistakes_object(source, mistakes))
                codes.append(UNREADABLE)
            case Checked(source=source, model=model, outcome=outcome):
                told.append(outcome_object(source, model, outcome))
                codes.append(_code_of(outcome))
    if not is_one:
        put_out(json.dumps(told, indent=1) + "\n")
    elif told:
        put_out(json.dumps(told[0], indent=1) + "\n")
    return worst(codes)


def _check_each(
    names: Sequence[str], seconds: float, jobs: int, controller: str | None
) -> Iterator[Result]:
    from behaviour.pipeline import check_source

    for name in names:
        try:
            source = read_source(name)
        except DiskError as problem:
            yield problem
        else:
            with progress(f"checking {name}"):
                result = check_source(source, seconds, jobs, controller)
            yield result


def _code_of(outcome: Outcome) -> int:
    from behaviour.report.verdict import FileVerdict, verdict_of

    codes = {FileVerdict.BROKEN: BROKEN, FileVerdict.NOT_DECIDED: NOT_DECIDED}
    return codes.get(verdict_of(outcome), OK)
