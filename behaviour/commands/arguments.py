"""What the arguments of the commands share: how they are read, and how a wrong one is told.

It imports nothing but argparse, so that help comes at once.
"""

import argparse
from collections.abc import Sequence
from typing import NoReturn

SECONDS_LIMIT = 60.0
MOST_JOBS = 256

Arguments = Sequence[str]


class UsageError(Exception):
    """The arguments ask for something that there is not."""


class Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments in one line."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message.replace(chr(39), '`')}; `{self.prog} --help` tells more")


def add_limit(parser: Parser, usual: float = SECONDS_LIMIT) -> None:
    parser.add_argument(
        "--limit",
        metavar="SECONDS",
        type=_seconds,
        default=usual,
        help=f"how long to search before saying `not decided`; {usual:g} if left out",
    )


def add_jobs(parser: Parser, usual: str) -> None:
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_jobs,
        help=f"how many things to look through side by side; {usual}",
    )


def add_maps(parser: Parser) -> None:
    parser.add_argument(
        "--map",
        metavar="CHANNEL=NAME",
        action="append",
        default=[],
        help="what a channel of a recording is: `D0=lid`, or `D4=lamp.green` for a line that is "
        "high while it is green (`D4=!lamp.green`: low); may stand several times",
    )


def add_controller(parser: Parser, help_: str) -> None:
    parser.add_argument("--controller", metavar="NAME", type=_controller, help=help_)


def _controller(text: str) -> str:
    from behaviour.controllers import UnknownControllerError, controller

    try:
        return controller(text).name
    except UnknownControllerError as problem:
        raise argparse.ArgumentTypeError(str(problem)) from problem


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
