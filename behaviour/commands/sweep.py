"""`sweep`: which rules hold at which values of a setting or of a drive's figure."""

from __future__ import annotations

import argparse
import json
from itertools import product

from behaviour.commands.answering import (
    NOT_DECIDED,
    OK,
    UNREADABLE,
    CommandError,
    form_for,
    paint_of_terminal,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_jobs, add_limit
from behaviour.disk import write_whole

MOST_POINTS = 1000
FORMS = ("text", "csv", "json")


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser(
        "tablework sweep",
        description="Check a file at several values of a setting, or of a figure such as "
        "`drum.speed`, and say which rules hold where.",
    )
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument(
        "values",
        metavar="NAME=VALUES",
        nargs="+",
        help='the values to try: `jam_time="200 ms, 300 ms"`, or from one to another by steps, '
        '`jam_time="200 ms to 600 ms by 100 ms"`; of several names, each with each',
    )
    parser.add_argument("--as", dest="form", choices=FORMS, help="else as `--out` ends, or text")
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    add_jobs(parser, "one a core if left out")
    add_limit(parser)
    asked = parser.parse_args(arguments)
    return swept(asked, form_for(asked.form, asked.out, FORMS))


def swept(asked: argparse.Namespace, form: str) -> int:
    """Check at every point, and print what holds where. Broken is what is asked for, and ends with
    0; what is not decided somewhere ends with 3.
    """
    from behaviour.jobs import all_cores
    from behaviour.language.otherwise import CannotTryError, text_of
    from behaviour.pipeline import sweep
    from behaviour.report.paint import PLAIN
    from behaviour.report.sweep_forms import sweep_csv, sweep_object, sweep_text

    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    source, model = readable.source, readable.model
    try:
        named = [_named(text) for text in asked.values]
        for name, _ in named:
            text_of(source, model, name)
    except CannotTryError as problem:
        raise CommandError(str(problem)) from problem
    names = [name for name, _ in named]
    points = list(product(*(values for _, values in named)))
    if len(points) > MOST_POINTS:
        raise CommandError(f"that are {len(points)} points: {MOST_POINTS} are the most")
    with progress(f"checking {asked.spec} at {len(points)} points"):
        tried = sweep(readable, names, points, asked.limit, asked.jobs or all_cores())
    match form:
        case "json":
            text = json.dumps(sweep_object(source, model, names, tried), indent=1) + "\n"
        case "csv":
            text = sweep_csv(names, tried)
        case _:
            paint = paint_of_terminal() if asked.out is None else PLAIN
            text = sweep_text(source, model, names, tried, paint)
    if asked.out is None:
        put_out(text)
    else:
        write_whole(asked.out, text.encode())
        put_out(f"written: {asked.out}\n")
    outcomes = [point.outcome for point in tried if point.outcome is not None]
    return OK if all(outcome.explored.complete for outcome in outcomes) else NOT_DECIDED


def _named(text: str) -> tuple[str, tuple[str, ...]]:
    from behaviour.language.otherwise import CannotTryError, values_of

    name, _, values = text.partition("=")
    if not values.strip():
        example = f'{name.strip() or "NAME"}="200 ms, 300 ms"'
        raise CannotTryError(f"`{text}` says no values: write them as `{example}`")
    return name.strip(), values_of(values)
