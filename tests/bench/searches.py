"""Checking in this process: how long it takes, how fast it searches, and what the twin takes."""

import time
from collections.abc import Callable
from statistics import median
from typing import TypeVar

from behaviour.check.faulting import Cell, worksheet
from behaviour.check.run import Limits, check_model
from behaviour.explore.twin import TooManyStatesError
from behaviour.findings import Outcome
from behaviour.pipeline import Checked, Unreadable, check_source
from behaviour.source import Source
from tests.bench.rows import Row
from tests.reading import model_in
from tests.twin.judge import graph_of, judge

Answer = TypeVar("Answer")

MOST_TWIN_STATES = 500_000

A_MINUTE = 60.0


def timed(ask: Callable[[], Answer]) -> tuple[float, Answer]:
    """Give the seconds that an answer takes, and the answer."""
    began = time.perf_counter()
    answer = ask()
    return time.perf_counter() - began, answer


def checked(source: Source, seconds: float) -> Outcome:
    """Read and check a file. Raises ValueError where it cannot be read."""
    match check_source(source, seconds):
        case Checked(outcome=outcome):
            return outcome
        case Unreadable(mistakes=mistakes):
            raise ValueError(f"{source.name} cannot be read: {mistakes[0].message}")


def in_process(source: Source, seconds: float, times: int) -> tuple[Row, Outcome]:
    """Measure reading and checking a file here; `seconds` limits each checking."""
    runs = [timed(lambda: checked(source, seconds)) for _ in range(times)]
    outcome = runs[-1][1]
    return Row(source.name, median(took for took, _ in runs), "s", told(outcome)), outcome


def worksheet_rows(source: Source, check: float) -> list[Row]:
    """Measure a failure worksheet, and how many checks of `check` seconds it costs."""
    model = model_in(source)
    took, sheet = timed(lambda: worksheet(model, Limits(seconds=10 * A_MINUTE)))
    open_rows = sum(row.cell is Cell.NOT_DECIDED for row in sheet.rows)
    return [
        Row(f"{source.name}: {len(sheet.rows)} faults", took, "s", f"{open_rows} not decided"),
        Row("times a check", took / check, ""),
    ]


def told(outcome: Outcome) -> str:
    explored = outcome.explored
    end = "" if explored.complete else ", not all is decided"
    return f"{explored.symbolic_states} states{end}"


def states_a_second(name: str, outcome: Outcome) -> Row:
    explored = outcome.explored
    return Row(f"{name}: states a second", explored.symbolic_states / explored.seconds, "")


def against_the_twin(source: Source) -> list[Row]:
    """Measure the search and the twin on one prop, all checks of it, and how they compare."""
    model = model_in(source)
    searched, outcome = timed(lambda: check_model(model, Limits(seconds=A_MINUTE)))
    search = Row(f"{model.prop}: search", searched, "s", told(outcome))
    walked, graph = 0.0, None
    try:
        walked, graph = timed(lambda: graph_of(model, MOST_TWIN_STATES))
    except TooManyStatesError as stop:
        return [Row(search.what, search.figure, "s", f"{search.remark}; the twin met {stop}")]
    judged, _ = timed(lambda: judge(model, graph))
    twin = walked + judged
    return [
        search,
        Row(f"{model.prop}: twin", twin, "s", f"{len(graph.states)} states"),
        Row(f"{model.prop}: twin to search", twin / searched, "times"),
    ]
