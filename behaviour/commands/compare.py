"""`compare`: a recording from the bench held against the behaviour."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import PurePath
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    NOT_DECIDED,
    OK,
    UNREADABLE,
    CommandError,
    paint_of_terminal,
    progress,
    put_out,
    readable_file,
    worst,
)
from behaviour.commands.arguments import Arguments, Parser, add_limit, add_maps
from behaviour.commands.recordings import captures_of
from behaviour.disk import write_whole
from behaviour.wording import duration

if TYPE_CHECKING:
    from behaviour.bench.capture import Capture
    from behaviour.bench.comparing import Comparison
    from behaviour.bench.following import Tolerance
    from behaviour.model import Micros, Model
    from behaviour.pipeline import Readable

LATE = 2
"""Loops left out in a row of a trace, whose own lines can make a loop late: up to 3 loop times."""


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser(
        "tablework compare",
        description="Hold a recording from the bench against the behaviour: a waveform (VCD), a "
        "table (CSV), or the trace that the firmware prints.",
    )
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("recording", metavar="FILE", help="the recording")
    parser.add_argument(
        "--as", dest="form", choices=("text", "json"), default="text", help="text if left out"
    )
    add_maps(parser)
    parser.add_argument(
        "--power-up",
        metavar="TIME",
        type=_time,
        action="append",
        help="when in the recording the controller is switched on; if left out, where it begins; "
        "may stand several times",
    )
    parser.add_argument(
        "--boot",
        metavar="TIME",
        type=_time,
        help="how long after that its first loop may come; one loop, or `boot` of the file",
    )
    parser.add_argument(
        "--slack",
        metavar="TIME",
        type=_time,
        help="how far a moment of the recording may be off; a fifth of a loop",
    )
    parser.add_argument(
        "--clocks",
        metavar="PERCENT",
        type=_percent,
        default=1.0,
        help="how far the controller's clock may be off; 1",
    )
    parser.add_argument(
        "--late",
        metavar="LOOPS",
        type=_loops,
        help="how many loops in a row may be left out; 2 for a trace, else 0",
    )
    parser.add_argument(
        "--picture", metavar="FILE", help="draw the first difference and what lies around it"
    )
    add_limit(parser)
    asked = parser.parse_args(arguments)
    if asked.picture is not None:
        _refuse_other_forms(asked.picture)
    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    return compared(asked, readable)


def compared(asked: argparse.Namespace, readable: Readable) -> int:
    """Compare each power-up of a recording, and print what comes of it."""
    from behaviour.bench.capture import CaptureError
    from behaviour.pipeline import compare
    from behaviour.report.comparison_data import comparison_object
    from behaviour.report.comparison_text import comparison_text
    from behaviour.semantics import NotKnownError

    model = readable.model
    found: list[tuple[str, Comparison]] = []
    try:
        for name, capture in _from_each_power_up(asked, model):
            tolerance = _tolerance(asked, model, capture)
            with progress(f"comparing {name}"):
                found.append((name, compare(readable, capture, tolerance, asked.limit)))
    except CaptureError as problem:
        raise CommandError(f"`{asked.recording}` cannot be compared: {problem}") from problem
    except NotKnownError as problem:
        raise CommandError(f"what happens in it is open: {problem}") from problem
    if asked.form == "json":
        told = [comparison_object(model, asked.spec, name, each) for name, each in found]
        put_out(json.dumps(told[0] if len(told) == 1 else told, indent=1) + "\n")
    else:
        paint = paint_of_terminal()
        put_out("\n".join(comparison_text(model, name, each, paint) for name, each in found))
    if asked.picture is not None:
        _draw(model, asked.picture, found)
    return worst([_code(each) for _, each in found])


def _from_each_power_up(asked: argparse.Namespace, model: Model) -> Iterator[tuple[str, Capture]]:
    """Give each part of the recording that begins at a power-up, with its name."""
    captures = captures_of(model, asked.recording, asked.map)
    for capture in captures:
        times = [capture.begins] if asked.power_up is None else sorted(asked.power_up)
        for begins, ends in pairwise([*times, capture.ends]):
            name = asked.recording
            if len(captures) > 1:
                name += f", from the power-up in line {capture.line}"
            elif len(times) > 1:
                name += f", from the power-up at {duration(begins)}"
            yield name, replace(capture, begins=begins, ends=ends)


def _tolerance(asked: argparse.Namespace, model: Model, capture: Capture) -> Tolerance:
    from behaviour.bench.following import Tolerance
    from behaviour.rehearse.stage import boot_loops

    return Tolerance(
        slack=model.loop // 5 if asked.slack is None else asked.slack,
        clocks=round(asked.clocks * 10_000),
        late=asked.late if asked.late is not None else LATE if capture.counted else 0,
        boot=boot_loops(model) * model.loop if asked.boot is None else asked.boot,
    )


def _code(told: Comparison) -> int:
    if told.is_broken:
        return BROKEN
    return NOT_DECIDED if told.followed.open else OK


def _refuse_other_forms(out: str) -> None:
    from behaviour.commands.draw import picture_form

    form = picture_form(out)
    if form not in ("svg", "png", "pdf"):
        raise CommandError(f"a recording is drawn as .svg, .png or .pdf, and not as .{form}")


def _draw(model: Model, out: str, found: list[tuple[str, Comparison]]) -> None:
    from behaviour.commands.draw import picture_form
    from behaviour.draw.render import CannotDrawError
    from behaviour.draw.sheet import on_pages
    from behaviour.draw.timing.recorded import difference_chart
    from behaviour.draw.writing import written

    name, told = next(((n, t) for n, t in found if t.followed.mismatches), found[0])
    picture = difference_chart(model, told, PurePath(name).name)
    try:
        write_whole(out, written(picture, on_pages(picture), picture_form(out)))
    except CannotDrawError as problem:
        raise CommandError(str(problem)) from problem


# --- Arguments ----------------------------------------------------------------------------------


def _time(text: str) -> Micros:
    from behaviour.units import Unreadable, read_time

    time = read_time(text)
    if isinstance(time, Unreadable):
        raise argparse.ArgumentTypeError(time.why)
    return time


def _percent(text: str) -> float:
    try:
        share = float(text.removesuffix("%"))
    except ValueError:
        share = -1.0
    if not 0 <= share <= 50:  # noqa: PLR2004
        raise argparse.ArgumentTypeError(f"`{text}` is not a share of a clock, such as `1`")
    return share


def _loops(text: str) -> int:
    if not text.isdecimal() or int(text) > 100:  # noqa: PLR2004
        raise argparse.ArgumentTypeError(f"`{text}` is not a number of loops, such as `2`")
    return int(text)
