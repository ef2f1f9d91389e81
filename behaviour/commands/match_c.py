"""`match-c`: the code held against the definition, loop by loop."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    CommandError,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_limit

if TYPE_CHECKING:
    from behaviour.findings import Run
    from behaviour.model import Model
    from codegen.conform.match import LockstepReport
    from codegen.conform.runs import Effort


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework match-c", description="Hold the code against the definition.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument(
        "--as", dest="form", choices=("text", "json"), default="text", help="text if left out"
    )
    parser.add_argument("--compiler", metavar="NAME", default="gcc", help="gcc if left out")
    parser.add_argument(
        "--no-sanitizers", action="store_true", help="for a compiler that has none of them"
    )
    parser.add_argument(
        "--on",
        choices=("uno", "pi"),
        help="compare on a simulated Uno instead, or the Python for a Raspberry Pi at mock pins",
    )
    parser.add_argument(
        "--folder", metavar="DIR", help="with --on: this Arduino folder, with its board and loop"
    )
    parser.add_argument(
        "--simulate", metavar="SECONDS", type=int, default=60, help="with --on: so long; 60"
    )
    add_limit(parser)
    asked = parser.parse_args(arguments)
    from codegen.conform.runs import Effort

    effort = Effort(seconds=asked.limit)
    if asked.on == "uno":
        if asked.form == "json":
            parser.error("`--on uno` has no `--as json` yet")
        return _on_uno(asked.spec, asked.folder, effort, asked.simulate)
    sanitize = not asked.no_sanitizers
    compiler = None if asked.on == "pi" else asked.compiler
    return match_c(asked.spec, compiler, effort, asked.form, sanitize=sanitize)


def match_c(name: str, compiler: str | None, effort: Effort, form: str, *, sanitize: bool) -> int:
    """Run the code of a file beside the definition and say how much was gone through.

    It is C, built by `compiler`, or Python for a Raspberry Pi where that is None.
    """
    from behaviour.report.lockstep import lockstep_object, lockstep_text
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
        with progress(f"comparing {name}"):
            stories = _told(model)
            report = (
                _on_pi(model, source_name, effort, stories)
                if compiler is None
                else match(
                    model,
                    source_name,
                    stories=stories,
                    compiler=compiler,
                    effort=effort,
                    sanitize=sanitize,
                )
            )
    except CannotEmitError as problem:
        raise CommandError(f"`{name}` cannot become firmware: {problem}") from problem
    except CannotBuildError as problem:
        raise CommandError(str(problem)) from problem
    except ProgramError as problem:
        put_out(f"differs  {name}: {problem}\n")
        return BROKEN
    if form == "json":
        put_out(json.dumps(lockstep_object(name, model, report), indent=1) + "\n")
    else:
        put_out(lockstep_text(name, report))
    if not report.is_alike:
        return BROKEN
    return OK if report.is_whole else NOT_DECIDED


def _on_pi(
    model: Model, source_name: str, effort: Effort, stories: Sequence[Run]
) -> LockstepReport:
    from codegen.conform.match import match_on_pi
    from codegen.conform.on_pi import need_packages
    from codegen.conform.runs import runs_of

    need_packages()
    return match_on_pi(model, source_name, runs_of(model, effort, stories))


def _told(model: Model) -> list[Run]:
    """Give the runs that the walkthroughs tell, each as far as it comes."""
    from behaviour.rehearse.stage import run_of
    from behaviour.rehearse.walking import perform

    return [run_of(perform(model, each).moments) for each in model.walkthroughs]


def _on_uno(name: str, folder: str | None, effort: Effort, seconds: int) -> int:
    """Compare on a simulated Uno: what is emitted for one, or an Arduino folder."""
    from behaviour.controllers import UnknownControllerError
    from behaviour.report.lockstep import uno_text
    from codegen.conform.build import CannotBuildError, ProgramError
    from codegen.conform.runs import runs_of
    from codegen.conform.simulator import ChipCrashedError
    from codegen.conform.uno import match_folder, match_on_uno
    from codegen.emit import firmware_name
    from codegen.refusals import CannotEmitError, refuse_if_needed

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    model, source_name = readable.model, readable.source.name
    try:
        refuse_if_needed(model, firmware_name(model, source_name), "host" if folder else "uno")
        with progress(f"comparing {name} on a simulated Uno"):
            runs = runs_of(model, effort).timelines
            asked = (runs, seconds * 1000)
            report = (
                match_on_uno(model, source_name, *asked)
                if folder is None
                else match_folder(model, source_name, Path(folder), *asked)
            )
    except CannotEmitError as problem:
        raise CommandError(f"`{name}` cannot become firmware: {problem}") from problem
    except (CannotBuildError, UnknownControllerError) as problem:
        raise CommandError(str(problem)) from problem
    except (ProgramError, ChipCrashedError) as problem:
        put_out(f"differs  {name}: {problem}\n")
        return BROKEN
    put_out(uno_text(name, report))
    return OK if report.mismatch is None else BROKEN
