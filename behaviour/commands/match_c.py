"""`match-c`: the C held against the definition, loop by loop."""

from __future__ import annotations

from behaviour.commands.answering import (
    BROKEN,
    OK,
    UNREADABLE,
    CommandError,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework match-c", description="Hold the C against the definition.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--compiler", metavar="NAME", default="gcc", help="gcc if left out")
    asked = parser.parse_args(arguments)
    return match_c(asked.spec, asked.compiler)


def match_c(name: str, compiler: str) -> int:
    """Build the C of a file and run it beside the definition; say how much was gone through."""
    from codegen.conform.build import CannotBuildError, ProgramError
    from codegen.conform.match import match
    from codegen.emit import firmware_name
    from codegen.refusals import CannotEmitError, refuse_if_needed

    readable = readable_file(name)
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
        put_out(f"differs  {name}: {problem}\n")
        return BROKEN
    done = f"{report.runs} runs of {report.calls} loops in all"
    taken = f"{report.taken} of {report.total} transitions and cues"
    if report.mismatch is not None:
        put_out(f"differs  {name}: {report.mismatch}\n")
        return BROKEN
    put_out(f"alike  {name}: {done}, through {taken}\n")
    for missed in report.missed:
        put_out(f"   not gone through: {missed}\n")
    return OK
