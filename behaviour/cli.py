"""The command line: arguments, help, and what becomes of faults. `commands` does the work.

Strategy: nothing but argparse is imported before a command is known to be wanted, so that help
comes at once. What is wrong with the world is one line and exit 2; what is wrong with us is one
line, exit 70, and a file with the traceback.
"""

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from typing import NoReturn

OK, UNREADABLE = 0, 2
OUR_FAULT, INTERRUPTED, BROKEN_PIPE = 70, 130, 141
SECONDS_LIMIT = 60.0
MOST_JOBS = 256
FAULTS_LIMIT = 10 * SECONDS_LIMIT

HELP = """\
usage: tablework COMMAND ...

Write down how a motorised prop behaves, find its logic faults before anything is flashed,
and get the firmware.

at the table   check SPEC...      every finding; --as text|json, --notes, --limit SECONDS
               draw SPEC          the states as a picture; --as svg|png|dot, --out FILE
               faults SPEC        what one thing going wrong does; --as text|json|csv|html, --pairs
               rehearse SPEC      play a story of a check again; --story FILE
               explain FINDING    what a finding means, with a bad and a good example
for the code   emit SPEC          the firmware in C; --into DIR, --controller host
               match-c SPEC       the C held against the definition, loop by loop

`tablework COMMAND --help` tells more of one. Exit codes: 0 all is well, 1 something is broken,
2 something cannot be read, 3 something is not decided.
"""

Arguments = Sequence[str]


class UsageError(Exception):
    """The arguments ask for something that there is not."""


class Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments in one line."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message.replace(chr(39), '`')}; `{self.prog} --help` tells more")


def main(arguments: Arguments | None = None) -> int:
    """Run one command and give its exit code."""
    try:
        code = _run(sys.argv[1:] if arguments is None else arguments)
        sys.stdout.flush()
    except KeyboardInterrupt:
        _say("stopped by Ctrl-C before it was done")
        return INTERRUPTED
    except BrokenPipeError:
        _drop_output()
        return BROKEN_PIPE
    except Exception as fault:  # noqa: BLE001 - the outermost frame: here our own faults end
        return _our_fault(fault)
    return code


def _run(arguments: Arguments) -> int:
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    if not arguments or arguments[0] in ("--help", "-h", "help"):
        sys.stdout.write(HELP)
        return OK
    if arguments[0] not in COMMANDS:
        _say(_unknown_command(arguments[0]))
        return UNREADABLE
    from behaviour.commands import CommandError
    from behaviour.disk import DiskError

    try:
        return COMMANDS[arguments[0]](arguments[1:])
    except (UsageError, CommandError, DiskError) as problem:
        _say(str(problem))
        return UNREADABLE
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else OK


# --- The arguments of each command --------------------------------------------------------------


def _check(arguments: Arguments) -> int:
    parser = Parser("tablework check", description="Check behaviour files and tell what is found.")
    parser.add_argument("specs", metavar="SPEC", nargs="+", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("text", "json"), default="text")
    parser.add_argument("--notes", action="store_true", help="tell the notes as well")
    _add_jobs(parser, "1 if left out")
    _add_limit(parser)
    asked = parser.parse_args(arguments)
    from behaviour import commands

    if asked.form == "json":
        return commands.check_as_json(asked.specs, asked.limit, asked.jobs or 1)
    return commands.check_as_text(asked.specs, asked.limit, notes=asked.notes, jobs=asked.jobs or 1)


def _draw(arguments: Arguments) -> int:
    parser = Parser("tablework draw", description="Draw the states, with findings laid on them.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("svg", "png", "dot"))
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--unchecked", action="store_true", help="do not look for findings first")
    _add_limit(parser)
    asked = parser.parse_args(arguments)
    from behaviour import commands

    form = asked.form or commands.picture_format(asked.out)
    return commands.draw(asked.spec, form, asked.out, None if asked.unchecked else asked.limit)


def _emit(arguments: Arguments) -> int:
    parser = Parser("tablework emit", description="Write the firmware in C.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--into", metavar="DIR", required=True, help="the folder for its folder")
    parser.add_argument("--controller", metavar="NAME", required=True, help="`host`, so far")
    parser.add_argument("--unchecked", action="store_true", help="do not check the file first")
    _add_limit(parser)
    asked = parser.parse_args(arguments)
    from behaviour import commands

    seconds = None if asked.unchecked else asked.limit
    return commands.emit(asked.spec, asked.into, asked.controller, seconds)


def _match_c(arguments: Arguments) -> int:
    parser = Parser("tablework match-c", description="Hold the C against the definition.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--compiler", metavar="NAME", default="gcc", help="gcc if left out")
    asked = parser.parse_args(arguments)
    from behaviour import commands

    return commands.match_c(asked.spec, asked.compiler)


def _faults(arguments: Arguments) -> int:
    parser = Parser("tablework faults", description="Judge every rule with one thing wrong.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("text", "json", "csv", "html"))
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--pairs", action="store_true", help="two things wrong at a time as well")
    _add_jobs(parser, "one a core if left out")
    _add_limit(parser, FAULTS_LIMIT)
    asked = parser.parse_args(arguments)
    from behaviour import commands

    form = asked.form or commands.worksheet_format(asked.out)
    return commands.faults(
        asked.spec, form, asked.out, asked.limit, pairs=asked.pairs, jobs=asked.jobs
    )


def _explain(arguments: Arguments) -> int:
    parser = Parser("tablework explain", description="Explain a finding; without a name, list all.")
    parser.add_argument("name", metavar="FINDING", nargs="?", help="such as `dead-end`")
    asked = parser.parse_args(arguments)
    from behaviour import commands

    return commands.explain(asked.name)


def _rehearse(arguments: Arguments) -> int:
    parser = Parser("tablework rehearse", description="Play the stories of a check once more.")
    parser.add_argument("spec", metavar="SPEC", help="the behaviour file that was checked")
    parser.add_argument("--story", metavar="FILE", required=True, help="from `check --as json`")
    asked = parser.parse_args(arguments)
    from behaviour import commands

    return commands.rehearse(asked.spec, asked.story)


def _add_limit(parser: Parser, usual: float = SECONDS_LIMIT) -> None:
    parser.add_argument(
        "--limit",
        metavar="SECONDS",
        type=_seconds,
        default=usual,
        help=f"how long to search before saying `not decided`; {usual:g} if left out",
    )


def _add_jobs(parser: Parser, usual: str) -> None:
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_jobs,
        help=f"how many things to look through side by side; {usual}",
    )


def _jobs(text: str) -> int:
    if not text.isdecimal() or not 0 < int(text) <= MOST_JOBS:
        raise argparse.ArgumentTypeError(f"`{text}` is not a number of jobs, such as `2`")
    return int(text)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds < float("inf"):
        raise argparse.ArgumentTypeError(f"`{text}` is not a number of seconds, such as `60`")
    return seconds


COMMANDS: dict[str, Callable[[Arguments], int]] = {
    "check": _check,
    "draw": _draw,
    "faults": _faults,
    "rehearse": _rehearse,
    "emit": _emit,
    "match-c": _match_c,
    "explain": _explain,
}


# --- What becomes of faults ---------------------------------------------------------------------


def _unknown_command(command: str) -> str:
    from behaviour.suggest import nearest

    near = nearest(command, COMMANDS, most=1)
    hint = f"there is `{near[0]}`" if near else "`tablework --help` lists them"
    return f"there is no command `{command}`: {hint}"


def _say(words: str) -> None:
    sys.stderr.write(f"tablework: {words}\n")


def _drop_output() -> None:
    """Let nothing more be written to a pipe that nobody reads, also not when Python ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _our_fault(fault: Exception) -> int:
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", prefix="tablework-fault-", suffix=".txt", encoding="utf-8", delete=False
    ) as file:
        file.write("".join(traceback.format_exception(fault)))
    _say(f"this is a fault of tablework itself, not of your file; what happened is in {file.name}")
    return OUR_FAULT
