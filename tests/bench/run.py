"""Prints how fast this machine checks: figures and ratios, and no verdict on them.

Run it from the top of the project, as `python -m tests.bench.run` or `python tests/bench/run.py`.
`--seconds 20` limits the checking of each demo prop, `--times 5` says how often each whole process
is run for its median (`--help` twice as often), and `--random 5` for how many seconds each faulty
prop is played at random. It takes some ten minutes. Seconds in this process are those of the
processor; those of whole processes are by the clock, and nothing else should run beside them.
"""

import argparse
import sys
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.bench.rows import Row

ROOT = Path(__file__).parent.parent.parent

CAROUSEL = "specs/confetti-carousel.yaml"

LARGER = ("specs/fog-cannon.yaml", "specs/lantern-wheel.yaml")
"""Props with more states than the carousel, on which the search is held against the twin too."""


def main(arguments: list[str] | None = None) -> None:
    """Measure everything, and print each part of the table as soon as it is there."""
    if str(ROOT) not in sys.path:
        sys.path.insert(0, str(ROOT))
    from tests.bench.rows import table

    parser = argparse.ArgumentParser(description="Prints how fast this machine checks.")
    parser.add_argument("--seconds", type=float, default=20, help="for each demo prop")
    parser.add_argument("--times", type=int, default=5, help="runs of each whole process")
    parser.add_argument("--random", type=float, default=5, help="seconds of random testing each")
    chosen = parser.parse_args(arguments)
    parts = chain(whole(chosen.times), here(chosen.seconds, chosen.times), compared(chosen.random))
    for title, rows in parts:
        print(f"{title}\n{table(rows)}\n", flush=True)


def whole(times: int) -> "Iterator[tuple[str, list[Row]]]":
    """Measure whole processes, as long as this one is small."""
    from tests.bench.processes import processes
    from tests.bench.rows import Row

    checks = processes(f"tablework check {CAROUSEL}", ["check", CAROUSEL], times)
    faults = processes(f"tablework faults {CAROUSEL}", ["faults", CAROUSEL], times)
    ratio = Row("its worksheet, times a check", faults[0].figure / checks[0].figure, "")
    yield (
        "Whole processes",
        [*processes("tablework --help", ["--help"], 2 * times), *checks, *faults, ratio],
    )


def here(seconds: float, times: int) -> "Iterator[tuple[str, list[Row]]]":
    """Measure checking in this process."""
    from tests.bench.firmware import taken
    from tests.bench.rows import Row
    from tests.bench.searches import (
        in_process,
        states_a_second,
        worksheet_rows,
    )
    from tests.reading import SPECS, source_of

    row, outcome = in_process(source_of(CAROUSEL), seconds, times)
    yield "The carousel in process", [row, states_a_second(CAROUSEL, outcome)]
    yield "The worksheet of the carousel", worksheet_rows(source_of(CAROUSEL), row.figure)
    names = [str(path.relative_to(ROOT)) for path in SPECS]
    demos = [in_process(source_of(name), seconds, times)[0] for name in names]
    middle = Row("median of the demo props", median(row.figure for row in demos), "s")
    yield "Each demo prop in process", [*demos, middle]
    yield "Forty states in four regions", [drawn(), reported(seconds)]
    yield "The carousel's firmware", taken(CAROUSEL)
    yield "As regions, inputs and times grow", grown(seconds)


def compared(seconds: float) -> "Iterator[tuple[str, list[Row]]]":
    """Measure the search beside the twin, and beside random testing."""
    from tests.bench.cousins import COUSINS
    from tests.bench.searches import against_the_twin, at_random_beside
    from tests.reading import FAULTY, source_of

    against = (*COUSINS, *map(source_of, (CAROUSEL, *LARGER)))
    yield "Against the twin", [row for source in against for row in against_the_twin(source)]
    faulty = [source_of(str(path.relative_to(ROOT))) for path in FAULTY]
    yield "Random testing of the faulty props", at_random_beside(faulty, seconds)


def drawn() -> "Row":
    """Measure the diagram of a prop of forty states in four regions."""
    from time import perf_counter

    from behaviour.draw.states import diagram
    from behaviour.draw.svg import svg
    from tests.bench.rows import Row
    from tests.draw.many_states import many_states

    model, began = many_states(4, 10), perf_counter()
    svg(diagram(model).sheet())
    return Row("laid out, painted and written as SVG", perf_counter() - began, "s")


def reported(seconds: float) -> "Row":
    """Measure the report of that prop, its checking apart."""
    from time import perf_counter

    from behaviour.check.run import Limits, check_model
    from behaviour.report.report_html import Material, report_html
    from behaviour.source import Source
    from tests.bench.rows import Row
    from tests.draw.many_states import many_states

    model = many_states(4, 10)
    outcome = check_model(model, Limits(seconds=seconds))
    began = perf_counter()
    report_html(Material(Source("forty.yaml", ""), model, outcome))
    return Row("the report, once it is checked", perf_counter() - began, "s")


def grown(seconds: float) -> "list[Row]":
    """Measure props of any size, and how the cost grows with the size."""
    from tests.bench.rows import Row
    from tests.bench.scale import show, side_by_side
    from tests.bench.searches import in_process

    sizes = (2, 4, 8, 16)
    rows = [in_process(side_by_side(count), seconds, 1)[0] for count in sizes]
    each = [row.figure / count for row, count in zip(rows, sizes, strict=True)]
    rows.append(Row("a region of 16 against one of 2", each[-1] / each[0], ""))
    shows = [in_process(show(times), 3 * seconds, 1)[0] for times in (1, 10)]
    ratio = Row("times ten times as long", shows[1].figure / shows[0].figure, "")
    return [*rows, *shows, ratio]


if __name__ == "__main__":
    main()
