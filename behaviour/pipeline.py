"""From a file's text to what is known of it: read, then check. The table of contents.

It knows neither disks nor terminals: text comes in, facts go out.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from behaviour.check.faulting import Worksheet, worksheet
from behaviour.check.run import Limits, check_model
from behaviour.jobs import run_all
from behaviour.language.load import read_model
from behaviour.language.otherwise import written_otherwise
from behaviour.results import Checked, Readable, Tried, Unreadable
from behaviour.source import Source

if TYPE_CHECKING:
    from behaviour.bench.capture import Capture
    from behaviour.bench.comparing import Comparison
    from behaviour.bench.following import Tolerance

__all__ = [
    "Checked",
    "Readable",
    "Tried",
    "Unreadable",
    "check",
    "check_source",
    "compare",
    "read",
    "sweep",
    "worksheet_of",
]


def read(source: Source) -> Unreadable | Readable:
    """Read a file's text into a model, or into all of its mistakes."""
    with _seldom_collecting():
        model, mistakes = read_model(source)
    if model is None:
        return Unreadable(source, mistakes)
    return Readable(source, model)


def check(
    readable: Readable, seconds: float, jobs: int = 1, controller: str | None = None
) -> Checked:
    """Check what was read, for at most about so many seconds, in so many jobs.

    Pins are judged for `controller`, or for the one that the file names.
    """
    model = replace(readable.model, controller=controller or readable.model.controller)
    with _seldom_collecting():
        outcome = check_model(model, Limits(seconds=seconds), jobs)
    return Checked(readable.source, readable.model, outcome)


def worksheet_of(
    readable: Readable, seconds: float, *, pairs: bool, jobs: int
) -> tuple[Worksheet, float]:
    """Judge what was read with things wrong, and give the worksheet and the seconds it took."""
    began = time.monotonic()
    with _seldom_collecting():
        sheet = worksheet(readable.model, Limits(seconds=seconds), pairs=pairs, jobs=jobs)
    return sheet, time.monotonic() - began


def sweep(
    readable: Readable,
    names: Sequence[str],
    points: Sequence[tuple[str, ...]],
    seconds: float,
    jobs: int,
) -> tuple[Tried, ...]:
    """Check a file once for each point, a text for each of some values, so many at a time."""
    tasks = [partial(_tried, readable, tuple(names), point, seconds) for point in points]
    return tuple(run_all(tasks, jobs))


def _tried(
    readable: Readable, names: tuple[str, ...], point: tuple[str, ...], seconds: float
) -> Tried:
    texts = dict(zip(names, point, strict=True))
    result = check_source(written_otherwise(readable.source, readable.model, texts), seconds)
    if isinstance(result, Checked):
        return Tried(point, result.outcome)
    mistake = result.mistakes[0]
    return Tried(point, None, f"line {mistake.at.span.line}: {mistake.message}")


def compare(
    readable: Readable, capture: Capture, tolerance: Tolerance, seconds: float
) -> Comparison:
    """Hold a recording against what was read. Raises CaptureError and NotKnownError."""
    from behaviour.bench.comparing import compare

    with _seldom_collecting():
        return compare(readable.model, capture, tolerance, seconds)


@contextmanager
def _seldom_collecting() -> Iterator[None]:
    """Look for unreachable rounds of objects seldom: a search makes many objects and few rounds.

    What it made counts as old at the end, so that it is not all looked through at once.
    """
    before = gc.get_threshold()
    gc.set_threshold(2_000_000, 50, 50)
    try:
        yield
    finally:
        gc.freeze()
        gc.unfreeze()
        gc.set_threshold(*before)


def check_source(
    source: Source, seconds: float, jobs: int = 1, controller: str | None = None
) -> Unreadable | Checked:
    """Read a file's text and check it; a file that cannot be read is not checked."""
    result = read(source)
    return check(result, seconds, jobs, controller) if isinstance(result, Readable) else result
