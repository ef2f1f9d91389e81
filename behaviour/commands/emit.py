"""`emit`: the firmware."""

from __future__ import annotations

from pathlib import Path
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
from behaviour.disk import reason_of

if TYPE_CHECKING:
    from behaviour.pipeline import Readable


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework emit", description="Write the firmware in C.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--into", metavar="DIR", required=True, help="the folder for its folder")
    parser.add_argument(
        "--controller",
        metavar="NAME",
        required=True,
        help="`host`, or a board: `uno`, `nano`, `mega`, `esp32`, `pico`",
    )
    parser.add_argument("--unchecked", action="store_true", help="do not check the file first")
    add_limit(parser)
    asked = parser.parse_args(arguments)
    seconds = None if asked.unchecked else asked.limit
    return emit(asked.spec, asked.into, asked.controller, seconds)


def emit(name: str, into: str, controller: str, seconds: float | None) -> int:
    """Write the firmware of a file, with what was checked in it unless `seconds` is None."""
    from behaviour.controllers import UnknownControllerError
    from behaviour.report.verdict import FileVerdict, verdict_lines, verdict_of
    from codegen.emit import emit as emitted
    from codegen.keep import write_files
    from codegen.refusals import CannotEmitError

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    verdicts: tuple[str, ...] = ()
    if seconds is not None:
        from behaviour.pipeline import check

        outcome = check(readable, seconds, controller=controller).outcome
        verdicts = verdict_lines(outcome)
        if verdict_of(outcome) is not FileVerdict.OK:
            complain(f"`{name}` is {verdict_of(outcome).value}: `tablework check {name}` tells how")
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
        put_out(f"{kept.done.value:<9}  {kept.path}\n")
    for message in report.messages:
        complain(message)
    _tell_the_coder(readable, controller, Path(into))
    return BROKEN if report.is_mixed else OK


def _tell_the_coder(readable: Readable, controller: str, into: Path) -> None:
    """Tell what of the folder is still to be done, or what its firmware takes of the chip."""
    from codegen.advice import advice
    from codegen.emit import firmware_name
    from codegen.lower import lower
    from codegen.marks import is_for_another, missing_marks

    model, name = readable.model, readable.source.name
    module = lower(model, name, firmware_name(model, name), controller)
    folder = into / module.prefix
    found = {path.name: path.read_text("utf-8", "replace") for path in sorted(folder.glob("*.c"))}
    for message in advice(module, found):
        complain(message)
    board_file = found.get(f"{module.prefix}_board.c", "")
    if not missing_marks(module, board_file) and not is_for_another(module, board_file):
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
        complain(f"its size is not known: {problem}")
        return ""
