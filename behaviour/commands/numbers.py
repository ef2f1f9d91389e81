"""`numbers`: motion, torque, power, stations and noise, each result with its formula."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import PurePath
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    OK,
    UNREADABLE,
    CommandError,
    form_for,
    paint_of_terminal,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_limit, add_maps
from behaviour.disk import make_folder, write_whole
from behaviour.model import Quantity
from behaviour.units import Dimension, Figure, read_figure

if TYPE_CHECKING:
    from behaviour.bench.capture import Capture
    from behaviour.bench.noise import Noise
    from behaviour.model import Model
    from behaviour.numbers.results import Block
    from behaviour.pipeline import Readable

DISTANCES = (Dimension.ANGLE, Dimension.STATIONS, Dimension.STEPS)
FORMS = ("text", "json", "html")


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework numbers", description="The numbers behind a behaviour.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=FORMS, help="else as `--out` ends, or text")
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--charts", metavar="FOLDER", help="write each chart as an SVG there")
    parser.add_argument(
        "--move",
        metavar="DISTANCE",
        type=_distance,
        action="append",
        default=[],
        help="a move to work out, such as `60 deg`; may stand several times",
    )
    parser.add_argument(
        "--capture",
        metavar="FILE",
        action="append",
        default=[],
        help="measure bounce and interference in a recording from the bench (.vcd, .csv); may "
        "stand several times",
    )
    add_maps(parser)
    add_limit(parser)
    asked = parser.parse_args(arguments)
    asked.form = form_for(asked.form, asked.out, FORMS)
    return numbers(asked)


def numbers(asked: argparse.Namespace) -> int:
    """Work the numbers of a file out, and print them or write them to a file."""
    from behaviour.numbers.block_noise import with_advised_filters
    from behaviour.numbers.sheet import numbers_of
    from behaviour.report.chart import chart_svg
    from behaviour.report.numbers_data import numbers_object
    from behaviour.report.numbers_html import numbers_html
    from behaviour.report.numbers_text import numbers_text
    from behaviour.report.paint import PLAIN

    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    source, model, out = readable.source, readable.model, asked.out
    if asked.move and not model.drives:
        raise CommandError(f"`{asked.spec}` has no `drives`, and so nothing to move")
    if asked.charts is not None:
        make_folder(asked.charts)
    noise = _measured(model, asked)
    disturbed = _with_noise(model, noise)
    blocks = numbers_of(disturbed, tuple(asked.move))
    if noise:
        blocks = (*blocks[:-1], with_measured(blocks[-1], model, noise))
    advised = with_advised_filters(disturbed)
    if advised != disturbed:
        with progress(f"checking {asked.spec} with other filters"):
            blocks = (*blocks[:-1], with_rules(blocks[-1], readable, advised, asked.limit))
    match asked.form:
        case "json":
            text = json.dumps(numbers_object(source, model, blocks), indent=1) + "\n"
        case "html":
            text = numbers_html(source, model, blocks)
        case _:
            paint = paint_of_terminal() if out is None else PLAIN
            text = numbers_text(source, model, blocks, paint)
    if out is None:
        put_out(text)
    else:
        write_whole(out, text.encode())
        put_out(f"written: {out}\n")
    for chart in (each for block in blocks for each in block.charts if asked.charts is not None):
        path = str(PurePath(asked.charts) / f"{chart.name}.svg")
        write_whole(path, chart_svg(chart).encode())
        put_out(f"written: {path}\n")
    return OK


def _measured(model: Model, asked: argparse.Namespace) -> tuple[Noise, ...]:
    """Measure what the recordings have of bounce and interference."""
    if not asked.capture:
        return ()
    from behaviour.bench.capture import CaptureError
    from behaviour.bench.noise import noise_of
    from behaviour.commands.recordings import captures_of

    captures: list[Capture] = []
    for name in asked.capture:
        try:
            captures += captures_of(model, name, asked.map)
        except CaptureError as problem:
            raise CommandError(f"`{name}` cannot be measured: {problem}") from problem
        if captures[-1].counted:
            raise CommandError(
                f"`{name}` is a trace, which tells of inputs only what has passed their filters: "
                "record the wires themselves"
            )
    return noise_of(model, captures)


def _with_noise(model: Model, noise: tuple[Noise, ...]) -> Model:
    if not noise:
        return model
    from behaviour.bench.noise import with_noise

    return with_noise(model, noise)


def with_measured(block: Block, model: Model, noise: tuple[Noise, ...]) -> Block:
    """Put what was measured before what follows from it."""
    from behaviour.report.noise import UNSEEN, noise_table

    return replace(
        block,
        tables=(noise_table(model, noise), *block.tables),
        remarks=(*block.remarks, UNSEEN),
    )


def with_rules(noise: Block, readable: Readable, advised: Model, seconds: float) -> Block:
    """Add to the noise whether each rule still holds with the filters as advised."""
    from behaviour.numbers.results import Table
    from behaviour.pipeline import check

    now = check(readable, seconds).outcome.rules
    then = check(replace(readable, model=advised), seconds).outcome.rules
    rows = tuple(
        (one.name, one.answer.value, other.answer.value)
        for one, other in zip(now, then, strict=True)
    )
    head = ("rule", "now", "with the filters advised")
    table = Table("whether the rules hold, as `check` finds it", head, rows)
    return replace(noise, tables=(table, *noise.tables))


def _distance(text: str) -> Quantity:
    figure = read_figure(text)
    if not isinstance(figure, Figure) or figure.dimension not in DISTANCES or figure.number <= 0:
        raise argparse.ArgumentTypeError(f"`{text}` is not a distance, such as `60 deg`")
    return Quantity(number=figure.number, unit=figure.unit)
