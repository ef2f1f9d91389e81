"""The command line: help, which command is meant, and what becomes of faults.

Strategy: nothing is imported before a command is known to be wanted, so that help comes at
once; each command is a module of `commands` that takes its arguments itself. What is wrong with
the world is one line and exit 2; what is wrong with us is one line, exit 70, and a file with the
traceback.
"""

import errno
import os
import sys
from collections.abc import Sequence
from importlib import import_module

OK, UNREADABLE = 0, 2
OUR_FAULT, INTERRUPTED, BROKEN_PIPE = 70, 130, 141

NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""How a system says that what is printed, into a file or on a disk, has no room there."""

HELP = """\
usage: tablework COMMAND ...

Write down how a motorised prop behaves, find its logic faults before anything is flashed,
and get the firmware.

at the table   new NAME           a first file to change, from a pattern; --pattern, --schema
               check SPEC...      every finding; --as text|json|sarif|junit, --picture DIR
               tell SPEC          the behaviour in plain sentences to sign; --as markdown|html|pdf
               draw SPEC          the states as a picture, with --timing RUN a run,
                                  with --wiring the terminal strip;
                                  --as svg|png|pdf|dot|vcd|scxml, --out FILE
               table SPEC         each state by each happening, every blank; --as markdown|html|csv
               faults SPEC        what one thing going wrong does; --as text|json|csv|html, --pairs
               rehearse SPEC      play it by hand; --walkthroughs, --coverage, --script, --story
               explain FINDING    what a finding means, with a bad and a good example
for the code   emit SPEC          the firmware in C; --into DIR, --controller NAME
                                  --controller pi: a Python module for a Raspberry Pi
               match-c SPEC       the C held against the definition, loop by loop
                                  --on pi: the Python, at mock pins
on the bench   numbers SPEC       motion, torque, power, stations, noise; --as text|json|html
               bench SPEC         what to try, to print; --ladder DRIVE, --results FILE
               compare SPEC FILE  a recording from the bench against the behaviour; --map, --picture
               card SPEC          one page for whoever runs the show; --as markdown|html
               report SPEC        everything on one page of HTML; --out FILE, --faults
               sweep SPEC NAME=.. which rules hold at which values; --as text|csv|json

`tablework COMMAND --help` tells more of one. Exit codes: 0 all is well, 1 something is broken,
2 something cannot be read, 3 something is not decided.
"""

HELP_WORDS = ("--help", "-h", "help")

COMMANDS = (
    "new",
    "check",
    "tell",
    "draw",
    "table",
    "faults",
    "rehearse",
    "explain",
    "emit",
    "match-c",
    "numbers",
    "bench",
    "compare",
    "card",
    "report",
    "sweep",
)
"""The commands; the module of one has its name, with `_` for `-`."""


def main(arguments: Sequence[str] | None = None) -> int:
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
    except OSError as problem:
        if problem.errno not in NO_ROOM or problem.filename is not None:
            return _our_fault(problem)
        _drop_output()
        _say(f"what is printed finds no room: {os.strerror(problem.errno).lower()}")
        return UNREADABLE
    except Exception as fault:  # noqa: BLE001 - the outermost frame: here our own faults end
        return _our_fault(fault)
    return code


def _run(arguments: Sequence[str]) -> int:
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    if len(arguments) > 1 and arguments[0] in HELP_WORDS:
        arguments = (arguments[1], "--help")
    if not arguments or arguments[0] in HELP_WORDS:
        sys.stdout.write(HELP)
        return OK
    if arguments[0] in ("--version", "-V"):
        from importlib.metadata import version

        sys.stdout.write(f"tablework {version('tablework')}\n")
        return OK
    if arguments[0] not in COMMANDS:
        _say(_unknown_command(arguments[0]))
        return UNREADABLE
    from behaviour.commands.answering import CommandError
    from behaviour.commands.arguments import UsageError
    from behaviour.disk import DiskError

    try:
        command = import_module(f"behaviour.commands.{arguments[0].replace('-', '_')}")
        code: int = command.run(arguments[1:])
    except (UsageError, CommandError, DiskError) as problem:
        _say(str(problem))
        return UNREADABLE
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else OK
    return code


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
