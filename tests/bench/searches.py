"""Checking in this process: how long it takes, how fast it searches, and what the twin takes.

Seconds are those of the processor, so that what else the machine does is not counted.
"""

import time
from collections.abc import Callable, Sequence
from statistics import median
from typing import TypeVar

from behaviour.check.faulting import Cell
from behaviour.check.run import Limits, check_model
from behaviour.explore.twin import Graph, TooManyStatesError
from behaviour.findings import Outcome
from behaviour.model import Model
from behaviour.pipeline import Checked, Readable, Unreadable, check_source, worksheet_of
from behaviour.source import Source
from tests.bench.at_random import try_at_random
from tests.bench.rows import Row
from tests.expectations import read_expectations
from tests.reading import model_in
from tests.twin.judge import graph_of, judge

Answer = TypeVar("Answer")

MOST_TWIN_STATES = 200_000

A_MINUTE = 60.0


def timed(ask: Callable[[], Answer]) -> tuple[float, Answer]:
    """Give the seconds of the processor that an answer takes, and the answer."""
    began = time.process_time()
    answer = ask()
    return time.process_time() - began, answer


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
    """Measure a failure worksheet, and how many checks of `check` seconds it costs.

    It is made as the command makes it, which collects garbage as seldom as a check does.
    """
    readable = Readable(source, model_in(source))
    most = 10 * A_MINUTE
    took, (sheet, _) = timed(lambda: worksheet_of(readable, most, pairs=False, jobs=1))
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
    walked, graph = timed(lambda: _walked_whole(model))
    twin, met, more = walked, f"stopped at {MOST_TWIN_STATES} states, nothing judged", "or more"
    if graph is not None:
        judged, _ = timed(lambda: judge(model, graph))
        twin, met, more = walked + judged, f"{len(graph.states)} states", ""
    return [
        search,
        Row(f"{model.prop}: twin", twin, "s", met),
        Row(f"{model.prop}: twin to search", twin / searched, "times", more),
    ]


def _walked_whole(model: Model) -> Graph | None:
    """Let the twin visit every state; None where there are too many for it."""
    try:
        return graph_of(model, MOST_TWIN_STATES)
    except TooManyStatesError:
        return None


def at_random_beside(sources: Sequence[Source], seconds: float) -> list[Row]:
    """Measure how much of what is planted the search finds, and what random testing does."""
    searched = tried = 0.0
    found = shown = met = 0
    for source in sources:
        planted, model = read_expectations(source.text), model_in(source)
        took, outcome = timed(lambda model=model: check_model(model, Limits(seconds=A_MINUTE)))
        searched += took
        found += all(
            any(each.is_met_by(f.kind.name, f.place, f.rule) for f in outcome.findings)
            for each in planted
        )
        played = try_at_random(model, planted, seconds)
        tried += played.seconds
        met += played.found
        shown += played.runs > 0
    of = f"of {len(sources)}"
    return [
        Row("found by the search", found, "props", of),
        Row("the search, all of them", searched, "s"),
        Row("found by random testing", met, "props", f"{of}, of {shown} that a run can show"),
        Row("random testing, those that can be shown", tried, "s", f"{seconds:g} s each at most"),
    ]
