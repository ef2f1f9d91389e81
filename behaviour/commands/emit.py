"""`emit`: the firmware."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    OK,
    UNREADABLE,
    CommandError,
    complain,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_limit
from behaviour.commands.bench_values import BENCH, advise, asked_for, differences, show
from behaviour.disk import reason_of

if TYPE_CHECKING:
    from behaviour.pipeline import Readable
    from codegen.emit import EmittedFile
    from codegen.read_back import Differs


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework emit", description="Write the firmware.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--into", metavar="DIR", required=True, help="the folder for its folder")
    parser.add_argument(
        "--controller",
        metavar="NAME",
        required=True,
        help="`host`, or a board: `uno`, `nano`, `mega`, `esp32`, `pico`; `pi` in Python",
    )
    parser.add_argument(
        "--take",
        choices=("file", "bench"),
        help="whose values the settings get where they were edited on the bench",
    )
    parser.add_argument(
        "--force",
        action="store_true",
        help="write generated files that were edited by hand too; what they were is kept beside",
    )
    parser.add_argument(
        "--diff", action="store_true", help="print what would change, and write nothing"
    )
    parser.add_argument("--unchecked", action="store_true", help="do not check the file first")
    add_limit(parser)
    asked = parser.parse_args(arguments)
    seconds = None if asked.unchecked else asked.limit
    how = How(asked.take, force=asked.force, diff=asked.diff)
    return emit(asked.spec, asked.into, asked.controller, seconds, how)


@dataclass(frozen=True, slots=True)
class How:
    """What is done where files were edited: whose values are taken, written over or kept, shown."""

    take: str | None = None
    force: bool = False
    diff: bool = False


def emit(name: str, into: str, controller: str, seconds: float | None, how: How) -> int:
    """Write the firmware of a file, with what was checked in it unless `seconds` is None."""
    from codegen.keep import changes, write_files
    from codegen.regeneration import changed_for

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    _look_up(controller)
    verdicts = () if seconds is None else _checked(readable, controller, seconds)
    files = _emitted(readable, controller, verdicts)
    folder = Path(into, *PurePath(files[0].path).parts[:-1])
    differs = () if controller == "pi" else differences(readable, controller, folder)
    show(differs)
    take = how.take
    if differs and take is None and not how.diff:
        take = asked_for(folder)
        if take is None:
            return BROKEN
    if take == BENCH:
        files = _with_bench(files, differs)
    try:
        if how.diff:
            put_out("".join(changes(Path(into), files, force=how.force)))
            return OK
        before = _headers(folder)
        report = write_files(Path(into), files, force=how.force)
    except OSError as problem:
        raise CommandError(f"`{into}` cannot be written to: {reason_of(problem)}") from problem
    for kept in report.files:
        put_out(f"{kept.done.value:<9}  {kept.path}\n")
    changed = changed_for(before, _headers(folder), _yours(folder, files))
    for message in (*report.messages, *changed, *_still_open(readable, controller)):
        complain(message)
    if take == BENCH and differs:
        advise(readable, differs)
    if controller != "pi":
        _tell_the_coder(readable, controller, Path(into), builds=not report.is_mixed)
    return BROKEN if report.is_mixed else OK


def _headers(folder: Path) -> dict[str, str]:
    """Read the headers of a folder as they stand."""
    return {path.name: path.read_text("utf-8", "replace") for path in sorted(folder.glob("*.h"))}


def _yours(folder: Path, files: tuple[EmittedFile, ...]) -> dict[str, str]:
    """Read the files of a folder that are the user's."""
    from codegen.emit import Whose
    from codegen.keep import text_of

    names = [PurePath(file.path).name for file in files if file.whose is Whose.YOURS]
    return {name: text_of(folder / name) or "" for name in names}


def _look_up(controller: str) -> None:
    from behaviour.controllers import UnknownControllerError
    from behaviour.controllers import controller as look_up

    try:
        look_up(controller)
    except UnknownControllerError as problem:
        raise CommandError(str(problem)) from problem


def _checked(readable: Readable, controller: str, seconds: float) -> tuple[str, ...]:
    """Check a file, and give what is said of that in the firmware's page."""
    from behaviour.pipeline import check
    from behaviour.report.verdict import FileVerdict, verdict_lines, verdict_of

    judged = None if controller == "host" else controller
    outcome = check(readable, seconds, controller=judged).outcome
    verdict, name = verdict_of(outcome), readable.source.name
    if verdict is not FileVerdict.OK:
        other = "" if judged in (None, readable.model.controller) else f" --controller {judged}"
        words = f"`{name}` is {verdict.value}, and so is this firmware"
        complain(f"{words}: `tablework check {name}{other}` tells how")
    return verdict_lines(outcome)


def _emitted(
    readable: Readable, controller: str, verdicts: tuple[str, ...]
) -> tuple[EmittedFile, ...]:
    """Make the files, or say in one line why there are none."""
    from codegen.emit import emit as emitted
    from codegen.refusals import CannotEmitError

    name = readable.source.name
    try:
        return emitted(readable.model, name, controller, verdicts)
    except CannotEmitError as problem:
        raise CommandError(f"`{name}` cannot become firmware: {problem}") from problem


def _still_open(readable: Readable, controller: str) -> tuple[str, ...]:
    """Say which settings are left to the user."""
    if controller != "pi":
        return ()
    from codegen.emit import firmware_name
    from codegen.python.source import open_settings

    model, source_name = readable.model, readable.source.name
    names = open_settings(model, source_name, firmware_name(model, source_name))
    if not names:
        return ()
    return (f"still to be set at the top of the module, before it starts: {', '.join(names)}",)


def _with_bench(
    files: tuple[EmittedFile, ...], differs: tuple[Differs, ...]
) -> tuple[EmittedFile, ...]:
    """Give the settings the values of the bench."""
    from codegen.read_back import with_values

    values = {each.name: each.put for each in differs}
    return tuple(
        replace(file, text=with_values(file.text, values))
        if file.path.endswith("_settings.h")
        else file
        for file in files
    )


def _tell_the_coder(readable: Readable, controller: str, into: Path, *, builds: bool) -> None:
    """Tell what of the folder is still to be done, or what its firmware takes of the chip."""
    from codegen.advice import advice
    from codegen.emit import firmware_name
    from codegen.lower import lower
    from codegen.marks import is_for_another, missing_marks

    model, name = readable.model, readable.source.name
    module = lower(model, name, firmware_name(model, name), controller)
    folder = into / module.prefix
    paths = sorted((*folder.glob("*.c"), *folder.glob("*.ino")))
    found = {path.name: path.read_text("utf-8", "replace") for path in paths}
    for message in advice(module, found):
        complain(message)
    is_done = not any(missing_marks(module, text) for text in found.values())
    if builds and is_done and not is_for_another(module, found.get(f"{module.prefix}_board.c", "")):
        put_out(_sizes(controller, folder))


def _sizes(controller: str, folder: Path) -> str:
    """Say what the firmware takes of its chip, where it can be built here."""
    from behaviour.report.lockstep import sizes_text
    from codegen.conform.arduino import TARGETS, sizes_for
    from codegen.conform.build import CannotBuildError

    if controller not in TARGETS:
        return ""
    try:
        with progress(f"building for {controller}"):
            return sizes_text(controller, TARGETS[controller], sizes_for(controller, folder))
    except CannotBuildError as problem:
        lines = str(problem).splitlines()
        wrong = next((line for line in lines if "error:" in line), lines[0])
        complain(f"what it takes of the chip is not known: {wrong.strip()}")
        return ""
