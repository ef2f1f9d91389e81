"""`check`: every finding of some files."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    CommandError,
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
from behaviour.disk import DiskError, make_folder, read_source, write_whole

if TYPE_CHECKING:
    from behaviour.findings import Outcome
    from behaviour.pipeline import Checked, Unreadable
    from behaviour.report.json import JsonObject
    from behaviour.results import Missing

    Result = Missing | Unreadable | Checked


LOOK_EVERY = 0.2
"""Seconds between two looks at a file that is watched."""

FORMS = ("text", "json", "sarif", "junit")


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework check", description="Check behaviour files and tell what is found.")
    parser.add_argument("specs", metavar="SPEC", nargs="+", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=FORMS, default="text", help="text if left out")
    parser.add_argument("--notes", action="store_true", help="tell the notes as well")
    parser.add_argument("--picture", metavar="DIR", help="draw the states and every story there")
    parser.add_argument(
        "--firmware",
        metavar="DIR",
        help="read the settings of the firmware there back, and show what the bench has otherwise",
    )
    parser.add_argument("--watch", action="store_true", help="look again whenever a file changes")
    add_jobs(parser, "1 if left out")
    add_limit(parser)
    add_controller(parser, "whose pins the file's are judged by; the file's own if left out")
    asked = parser.parse_args(arguments)
    names, jobs = asked.specs, asked.jobs or 1

    def check() -> int:
        results = _check_each(names, asked.limit, jobs, asked.controller)
        codes: list[int] = []
        if asked.firmware is not None:
            results = _with_firmware(results, asked.firmware, codes)
        if asked.form != "text":
            code = check_as_document(results, asked.form, is_one=len(names) == 1)
        else:
            code = check_as_text(results, notes=asked.notes, pictures=asked.picture)
        return worst([code, *codes])

    return watch(names, check) if asked.watch else check()


def watch(names: Sequence[str], again: Callable[[], int]) -> int:
    """Check files, and once more each time one of them was written, until Ctrl-C."""
    while True:
        seen = [_written_at(name) for name in names]
        again()
        complain("watching; Ctrl-C ends it")
        while [_written_at(name) for name in names] == seen:
            time.sleep(LOOK_EVERY)


def _written_at(name: str) -> object:
    """Give something that changes when a file is written; None while it is not there."""
    try:
        found = Path(name).stat()
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size, found.st_ino)


def check_as_text(results: Iterable[Result], *, notes: bool, pictures: str | None = None) -> int:
    """Check files one after the other, printing each as soon as it is done.

    With `pictures` the states and the stories that are told are drawn in that folder.
    """
    from behaviour.pipeline import Checked, Unreadable
    from behaviour.report.text import closing_text, mistakes_text, outcome_text
    from behaviour.results import Missing

    codes, models, paint = [], [], paint_of_terminal()
    for result in results:
        match result:
            case Missing(why=why):
                complain(why)
                codes.append(UNREADABLE)
            case Unreadable(source=source, mistakes=mistakes):
                put_out(mistakes_text(source, mistakes, paint) + "\n")
                codes.append(UNREADABLE)
            case Checked(source=source, model=model, outcome=outcome):
                put_out(outcome_text(source, model, outcome, notes=notes, paint=paint) + "\n")
                if pictures is not None:
                    put_out("".join(_draw(result, pictures, notes=notes)) + "\n")
                codes.append(_code_of(outcome))
                models.append(model)
    if models:
        put_out(closing_text(models, paint))
    return worst(codes)


def check_as_document(results: Iterable[Result], form: str, *, is_one: bool) -> int:
    """Check files and print one document for all of them, also for those that are not there."""
    from behaviour.results import Checked, Missing

    codes: list[int] = []
    told: list[Checked | Unreadable] = []
    for result in results:
        if isinstance(result, Missing):
            complain(result.why)
            told.append(_as_unreadable(result))
        else:
            told.append(result)
        codes.append(_code_of(result.outcome) if isinstance(result, Checked) else UNREADABLE)
    put_out(_document(told, form, is_one=is_one))
    return worst(codes)


def _as_unreadable(missing: Missing) -> Unreadable:
    """Give a file that did not come from the disk as one with a mistake at its beginning."""
    from behaviour.findings import Label, Mistake
    from behaviour.results import Unreadable
    from behaviour.source import Source, Span

    begin = Label(Span(1, 1, 1, 1), "")
    return Unreadable(Source(missing.name, ""), (Mistake(message=missing.why, at=begin),))


def _document(results: Sequence[Checked | Unreadable], form: str, *, is_one: bool) -> str:
    """Write what was found; as JSON it is one object for one file, an array for several."""
    match form:
        case "sarif":
            from behaviour.report.sarif import sarif_object

            return json.dumps(sarif_object(results), indent=1) + "\n"
        case "junit":
            from behaviour.report.junit import junit_text

            return junit_text(results)
        case _:
            told = [_as_object(result) for result in results]
            return json.dumps(told[0] if is_one else told, indent=1) + "\n"


def _as_object(result: Checked | Unreadable) -> JsonObject:
    from behaviour.pipeline import Checked
    from behaviour.report.json import mistakes_object, outcome_object

    if isinstance(result, Checked):
        return outcome_object(result.source, result.model, result.outcome)
    return mistakes_object(result.source, result.mistakes)


def _check_each(
    names: Sequence[str], seconds: float, jobs: int, controller: str | None
) -> Iterator[Result]:
    from behaviour.pipeline import check_source
    from behaviour.results import Missing

    for name in names:
        try:
            source = read_source(name)
        except DiskError as problem:
            yield Missing(name, str(problem))
        else:
            with progress(f"checking {name}"):
                result = check_source(source, seconds, jobs, controller)
            yield result


def _with_firmware(results: Iterable[Result], folder: str, codes: list[int]) -> Iterator[Result]:
    """Hand results on, and tell beside them what a firmware's settings have otherwise."""
    from behaviour.commands.bench_values import tell_of_firmware
    from behaviour.pipeline import Checked, Readable

    for result in results:
        if isinstance(result, Checked):
            readable = Readable(result.source, result.model)
            codes.append(BROKEN if tell_of_firmware(readable, Path(folder)) else OK)
        yield result


def _draw(checked: Checked, folder: str, *, notes: bool) -> Iterator[str]:
    """Draw the states and each story that is told, and say what was drawn."""
    from behaviour.draw.render import CannotDrawError
    from behaviour.draw.states import diagram
    from behaviour.draw.stories import stories_of
    from behaviour.draw.svg import svg
    from behaviour.draw.timing.chart import timing_chart
    from behaviour.findings import Severity

    findings = checked.outcome.findings
    shown = tuple(each for each in findings if each.severity is not Severity.NOTE)
    stem = PurePath(checked.source.name).stem
    make_folder(folder)
    name = f"{folder}/{stem}.svg"
    try:
        write_whole(name, svg(diagram(checked.model, shown).sheet()))
    except CannotDrawError as problem:
        raise CommandError(str(problem)) from problem
    yield f"drawn: {name}\n"
    for story in stories_of(findings):
        if story.is_note and not notes:
            continue
        name = f"{folder}/{stem}-{story.file_name}.svg"
        write_whole(name, svg(timing_chart(checked.model, story.run, story.title, story.breach)))
        yield f"drawn: {name}\n"


def _code_of(outcome: Outcome) -> int:
    from behaviour.report.verdict import FileVerdict, verdict_of

    codes = {FileVerdict.BROKEN: BROKEN, FileVerdict.NOT_DECIDED: NOT_DECIDED}
    return codes.get(verdict_of(outcome), OK)
