"""What each command does: read, ask the rooms below, print, and give the exit code.

Each command imports only the rooms that it needs.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from behaviour.disk import DiskError, read_source, read_text, reason_of, write_whole

if TYPE_CHECKING:
    from behaviour.draw.render import PictureFormat
    from behaviour.findings import Outcome
    from behaviour.pipeline import Checked, Readable, Unreadable
    from behaviour.report.paint import Paint

OK, BROKEN, UNREADABLE, NOT_DECIDED = 0, 1, 2, 3
PROGRESS_EVERY = 1.0
"""Seconds between two looks at the clock that are shown."""

WORST_FIRST = (UNREADABLE, BROKEN, NOT_DECIDED, OK)


class CommandError(Exception):
    """A command cannot do what it was asked for; the message is one line that says why."""


# --- check --------------------------------------------------------------------------------------


def check_as_text(names: Sequence[str], seconds: float, *, notes: bool, jobs: int = 1) -> int:
    """Check files one after the other, printing each as soon as it is done."""
    from behaviour.pipeline import Checked, Unreadable
    from behaviour.report.text import closing_text, mistakes_text, outcome_text

    codes, models, paint = [], [], _paint()
    for result in _check_each(names, seconds, jobs):
        match result:
            case DiskError():
                _complain(str(result))
                codes.append(UNREADABLE)
            case Unreadable(source=source, mistakes=mistakes):
                _print(mistakes_text(source, mistakes, paint) + "\n")
                codes.append(UNREADABLE)
            case Checked(source=source, model=model, outcome=outcome):
                _print(outcome_text(source, model, outcome, notes=notes, paint=paint) + "\n")
                codes.append(_code_of(outcome))
                models.append(model)
    if models:
        _print(closing_text(models))
    return _worst(codes)


def check_as_json(names: Sequence[str], seconds: float, jobs: int = 1) -> int:
    """Check files and print one object for one file, an array for several."""
    from behaviour.pipeline import Checked, Unreadable
    from behaviour.report.json import JsonObject, mistakes_object, outcome_object

    codes: list[int] = []
    told: list[JsonObject] = []
    for result in _check_each(names, seconds, jobs):
        match result:
            case DiskError():
                _complain(str(result))
                codes.append(UNREADABLE)
            case Unreadable(source=source, mistakes=mistakes):
                told.append(mistakes_object(source, mistakes))
                codes.append(UNREADABLE)
            case Checked(source=source, model=model, outcome=outcome):
                told.append(outcome_object(source, model, outcome))
                codes.append(_code_of(outcome))
    if len(names) > 1:
        _print(json.dumps(told, indent=1) + "\n")
    elif told:
        _print(json.dumps(told[0], indent=1) + "\n")
    return _worst(codes)


def _check_each(
    names: Sequence[str], seconds: float, jobs: int
) -> Iterator[DiskError | Unreadable | Checked]:
    from behaviour.pipeline import check_source

    for name in names:
        try:
            source = read_source(name)
        except DiskError as problem:
            yield problem
        else:
            with _progress(f"checking {name}"):
                result = check_source(source, seconds, jobs)
            yield result


@contextmanager
def _progress(what: str) -> Iterator[None]:
    """Show on a terminal how long something has been going on, once it has for a while."""
    if not sys.stderr.isatty():
        yield
        return
    done, began = threading.Event(), time.monotonic()

    def show() -> None:
        while not done.wait(PROGRESS_EVERY):
            sys.stderr.write(f"\r{what} ... {time.monotonic() - began:.0f} s")
            sys.stderr.flush()
        if time.monotonic() - began >= PROGRESS_EVERY:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    watcher = threading.Thread(target=show, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()


def _code_of(outcome: Outcome) -> int:
    from behaviour.report.verdict import FileVerdict, verdict_of

    codes = {FileVerdict.BROKEN: BROKEN, FileVerdict.NOT_DECIDED: NOT_DECIDED}
    return codes.get(verdict_of(outcome), OK)


def _worst(codes: Sequence[int]) -> int:
    return min(codes, key=WORST_FIRST.index)


# --- faults ---------------------------------------------------------------------------------------


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

    readable = _readable(name)
    if readable is None:
        return UNREADABLE
    source, model = readable.source, readable.model
    with _progress(f"judging {name} with one thing wrong at a time"):
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
            paint = _paint() if out is None else PLAIN
            text = worksheet_text.worksheet_text(source, model, sheet, took, paint)
    if out is None:
        _print(text)
    else:
        write_whole(out, text.encode())
        _print(f"written: {out}\n")
    return {Cell.BROKEN: BROKEN, Cell.NOT_DECIDED: NOT_DECIDED}.get(sheet.cell, OK)


# --- draw ---------------------------------------------------------------------------------------


def picture_format(out: str | None) -> PictureFormat:
    """Tell from the name of a file which kind of picture is meant; SVG where it does not say."""
    match PurePath(out or "").suffix.lower():
        case ".png":
            return "png"
        case ".dot" | ".gv":
            return "dot"
        case ".svg" | "":
            return "svg"
        case other:
            raise CommandError(f"`{other}` is no kind of picture here: use .svg, .png or .dot")


def draw(name: str, form: PictureFormat, out: str | None, seconds: float | None) -> int:
    """Draw the states of a file, with its findings laid on them unless `seconds` is None."""
    from behaviour.draw.render import CannotDrawError, render
    from behaviour.draw.state_diagram import dot_text
    from behaviour.findings import Finding, Severity

    if form == "png" and out is None and sys.stdout.isatty():
        raise CommandError("a PNG is not for a terminal: say where it goes with `--out FILE.png`")
    readable = _readable(name)
    if readable is None:
        return UNREADABLE
    findings: tuple[Finding, ...] = ()
    if seconds is not None:
        from behaviour.pipeline import check

        told = check(readable, seconds).outcome.findings
        findings = tuple(finding for finding in told if finding.severity is not Severity.NOTE)
    try:
        picture = render(dot_text(readable.model, findings), form)
    except CannotDrawError as problem:
        raise CommandError(str(problem)) from problem
    for complaint in picture.complaints:
        _complain(f"`dot` says: {complaint}")
    if out is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(picture.data)
    else:
        write_whole(out, picture.data)
        _print(f"drawn: {out}\n")
    return OK


# --- emit ---------------------------------------------------------------------------------------


def emit(name: str, into: str, controller: str, seconds: float | None) -> int:
    """Write the firmware of a file, with what was checked in it unless `seconds` is None."""
    from behaviour.report.verdict import FileVerdict, verdict_lines, verdict_of
    from codegen.controllers import UnknownControllerError
    from codegen.emit import emit as emitted
    from codegen.keep import write_files
    from codegen.refusals import CannotEmitError

    readable = _readable(name)
    if readable is None:
        return UNREADABLE
    verdicts: tuple[str, ...] = ()
    if seconds is not None:
        from behaviour.pipeline import check

        outcome = check(readable, seconds).outcome
        verdicts = verdict_lines(outcome)
        if verdict_of(outcome) is not FileVerdict.OK:
            _complain(
                f"`{name}` is {verdict_of(outcome).value}: `tablework check {name}` tells how"
            )
    try:
        files = emitted(readable.model, readable.source.name, controller, verdicts)
        report = write_files(Path(into), files)
    except UnknownControllerError as problem:
        raise CommandError(str(problem)) from problem
    except CannotEmitError as problem:
        raise CommandError(f"`{name}` cannot become firmware: {problem}") from problem
    except OSError as problem:
        raise CommandError(f"`{into}` cannot be written to: {reason_of(problem)}") from problem
    for kept in report.files:
        _print(f"{kept.done.value:<9}  {kept.path}\n")
    for message in report.messages:
        _complain(message)
    return BROKEN if report.is_mixed else OK


# --- match-c ------------------------------------------------------------------------------------


def match_c(name: str, compiler: str) -> int:
    """Build the C of a file and run it beside the definition; say how much was gone through."""
    from codegen.conform.build import CannotBuildError, ProgramError
    from codegen.conform.match import match
    from codegen.emit import firmware_name
    from codegen.refusals import CannotEmitError, refuse_if_needed

    readable = _readable(name)
    if readable is None:
        return UNREADABLE
    model, source_name = readable.model, readable.source.name
    try:
        refuse_if_needed(model, firmware_name(model, source_name))
        report = match(model, source_name, compiler=compiler)
    except CannotEmitError as problem:
        raise CommandError(f"`{name}` cannot become firmware: {problem}") from problem
    except CannotBuildError as problem:
        raise CommandError(str(problem)) from problem
    except ProgramError as problem:
        _print(f"differs  {name}: {problem}\n")
        return BROKEN
    done = f"{report.runs} runs of {report.calls} loops in all"
    taken = f"{report.taken} of {report.total} transitions and cues"
    if report.mismatch is not None:
        _print(f"differs  {name}: {report.mismatch}\n")
        return BROKEN
    _print(f"alike  {name}: {done}, through {taken}\n")
    for missed in report.missed:
        _print(f"   not gone through: {missed}\n")
    return OK


# --- rehearse -----------------------------------------------------------------------------------


def rehearse(name: str, story_name: str) -> int:
    """Play every story of a check's JSON again and say whether each ends as it claims."""
    from behaviour.rehearse.replaying import rehearse as play
    from behaviour.rehearse.told import StoryFormError, read_stories

    readable = _readable(name)
    if readable is None:
        return UNREADABLE
    codes = []
    try:
        for story in read_stories(read_text(story_name)):
            played = play(readable.model, story)
            codes.append(BROKEN if played.differs else OK)
            words = (
                f"differs  {story.name}: {played.differs}"
                if played.differs
                else f"as told  {story.name}: {played.ends}"
            )
            _print(f"{words}\n")
    except StoryFormError as problem:
        raise CommandError(f"`{story_name}` cannot be played: {problem}") from problem
    return _worst(codes)


# --- explain ------------------------------------------------------------------------------------


def explain(name: str | None) -> int:
    """Print what a finding means; without a name, list the names with a line each."""
    from behaviour.findings import KIND, KINDS, NOT_CHECKED_YET

    if name is None:
        width = max(len(kind.name) for kind in KINDS)
        lines = [
            f"{kind.name:<{width}}  {kind.severity.value:<8}  {kind.summary}" for kind in KINDS
        ]
        _print("\n".join(lines) + "\n")
        return OK
    if name in NOT_CHECKED_YET:
        raise CommandError(f"`{name}` is not checked yet, so there is nothing to explain")
    if name not in KIND:
        from behaviour.suggest import nearest

        near = nearest(name, KIND, most=1)
        hint = f"there is `{near[0]}`" if near else "`tablework explain` lists them all"
        raise CommandError(f"there is no finding `{name}`: {hint}")
    from importlib.resources import files

    _print(files("behaviour.explanations").joinpath(f"{name}.md").read_text(encoding="utf-8"))
    return OK


# --- Small --------------------------------------------------------------------------------------


def _readable(name: str) -> Readable | None:
    """Read a file, or tell its mistakes beside what the command prints."""
    from behaviour.pipeline import Readable, read
    from behaviour.report.text import mistakes_text

    result = read(read_source(name))
    if isinstance(result, Readable):
        return result
    sys.stderr.write(mistakes_text(result.source, result.mistakes))
    return None


def _paint() -> Paint:
    from behaviour.report.paint import Paint

    is_wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return Paint(on=is_wanted and sys.stdout.isatty())


def _print(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


def _complain(words: str) -> None:
    sys.stderr.write(f"tablework: {words}\n")
