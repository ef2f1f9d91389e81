"""What the arguments of the commands share: how they are read, and how a wrong one is told.

It imports nothing but argparse, so that help comes at once.
"""

import argparse
import re
from collections.abc import Sequence
from typing import NoReturn

SECONDS_LIMIT = 60.0
MOST_JOBS = 256

Arguments = Sequence[str]


PLAIN_WORDS = (
    (r"^the following arguments are required: (.*)$", r"missing: \1"),
    (
        r"^argument (-\S+): invalid choice: (`.*`) \(choose from (.*)\)$",
        r"`\1` cannot be \2: there is \3",
    ),
    (r"^argument (-\S+): expected one argument$", r"`\1` needs a word behind it"),
    (r"^argument (-\S+): not allowed with argument (-\S+)$", r"`\1` and `\2` do not go together"),
    (r"^argument (-\S+): ignored explicit argument .*$", r"`\1` takes no word behind it"),
    (r"^argument (-\S+): ", r"`\1`: "),
)
"""What argparse says of wrong arguments, and how we say it."""


class UsageError(Exception):
    """The arguments ask for something that there is not."""


class Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments in one line."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{self._plainly(message)}; `{self.prog} --help` tells more")

    def _plainly(self, message: str) -> str:
        """Say in our words what argparse says in its own."""
        words = message.replace(chr(39), "`")
        for form, plain in PLAIN_WORDS:
            words = re.sub(form, plain, words)
        unknown = re.fullmatch(r"unrecognized arguments: (\S+).*", words)
        return self._unknown(unknown[1]) if unknown else words

    def _unknown(self, argument: str) -> str:
        from behaviour.suggest import nearest

        if not argument.startswith("-"):
            return f"`{argument}` is one too many"
        near = nearest(argument.partition("=")[0], tuple(self._option_string_actions), most=1)
        hint = f": there is `{near[0]}`" if near else ""
        return f"there is no option `{argument}`{hint}"


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


def whole_number(text: str) -> int:
    """Read a number without a point. For an option's `type`."""
    try:
        return int(text)
    except ValueError as problem:
        raise argparse.ArgumentTypeError(
            f"`{text}` is not a whole number, such as `7`"
        ) from problem


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
