"""`emit`: the firmware."""

from __future__ import annotations

from pathlib import Path

from behaviour.commands.answering import (
    BROKEN,
    OK,
    UNREADABLE,
    CommandError,
    complain,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_limit
from behaviour.disk import reason_of


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework emit", description="Write the firmware in C.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--into", metavar="DIR", required=True, help="the folder for its folder")
    parser.add_argument("--controller", metavar="NAME", required=True, help="`host`, so far")
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

        outcome = check(readable, seconds).outcome
        verdicts = verdict_lines(outcome)
        if verdict_of(outcome) is not FileVerdict.OK:
            verdict = verdict_of(outcome).value
            words = f"`{name}` is {verdict}, and so is this firmware"
            complain(f"{words}: `tablework check {name}` tells how")
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
    return BROKEN if report.is_mixed else OK
