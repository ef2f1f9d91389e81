"""The benchmarks can be run: their figures are sane and print, whatever the times are."""

import re

import pytest

from behaviour.source import Source
from tests.bench.cousins import COUSINS
from tests.bench.firmware import taken
from tests.bench.processes import processes, run_process
from tests.bench.rows import Row, figure, table
from tests.bench.searches import against_the_twin, at_random_beside, in_process, states_a_second

TINY = Source(
    "tiny.yaml",
    """\
language: 1
prop: Tiny lamp
loop: 10 ms
inputs:
  knob: {kind: button, steady: 20 ms}
outputs:
  lamp: {kind: lamp, values: [dark, bright]}
regions:
  lamp_post:
    begins: dark
    states:
      dark: {leave: [{when: knob becomes pressed, go: bright}]}
      bright: {set: {lamp: bright}, leave: [{after: 50 ms, go: dark}]}
rules:
  - {name: it goes out, while: lamp is bright, at most: 50 ms}
""",
)


def test_a_tiny_prop_makes_rows_that_print():
    row, outcome = in_process(TINY, 10, 2)
    speed = states_a_second(TINY.name, outcome)

    assert row.figure > 0
    assert outcome.explored.complete
    assert speed.figure == outcome.explored.symbolic_states / outcome.explored.seconds
    first, second = table([row, speed]).splitlines()
    states = outcome.explored.symbolic_states
    assert re.fullmatch(rf"tiny\.yaml +[0-9.]+ s +{states} states", first)
    assert re.fullmatch(r"tiny\.yaml: states a second +[0-9.]+", second)


def test_the_ratio_to_the_twin_is_that_of_the_two_times():
    search, twin, ratio = against_the_twin(TINY)

    assert ratio.figure == twin.figure / search.figure
    assert (search.unit, twin.unit, ratio.unit) == ("s", "s", "times")
    assert re.fullmatch(r"[1-9][0-9]* states", twin.remark)


def test_a_whole_process_is_timed_and_its_memory_counted():
    helped = run_process(["--help"])
    refused = run_process(["no-such-command"])

    assert (helped.status, refused.status) == (0, 2)
    assert helped.seconds > 0
    # an interpreter takes some megabytes, and printing help no gigabyte
    assert 2**21 < helped.most_bytes < 2**30


def test_a_process_is_told_by_its_median_and_its_most_memory():
    seconds, memory = processes("help", ["--help"], 2)

    assert (seconds.unit, memory.unit) == ("s", "MiB")
    assert seconds.remark == "median of 2, exit 0"
    assert 2 < memory.figure < 1024


def test_a_file_that_cannot_be_read_is_not_measured():
    with pytest.raises(ValueError, match=r"broken\.yaml cannot be read"):
        in_process(Source("broken.yaml", "language: 1\n"), 10, 1)


@pytest.mark.parametrize("cousin", COUSINS, ids=lambda each: each.text.splitlines()[1])
def test_every_cousin_of_the_carousel_can_be_checked(cousin):
    _, outcome = in_process(cousin, 60, 1)

    assert {verdict.answer.value for verdict in outcome.rules} == {"holds"}


def test_what_the_carousels_firmware_takes_is_measured():
    rows = {row.what: row for row in taken("specs/confetti-carousel.yaml", simulated_ms=100)}

    assert 0 < rows["uno, all of it"].figure <= 6144
    assert 0 < rows["AVR, behaviour alone"].figure <= 2560
    assert 0 < rows["Cortex-M0+, behaviour alone"].figure <= 2560
    assert 0 < rows["longest loop on a simulated Uno"].figure < 150
    assert rows["uno, all of it"].remark.endswith(" of memory")


def test_random_testing_finds_what_one_press_shows_and_only_what_a_run_can_show():
    shown = Source(
        "# shown", "# must find: rule-broken\n" + TINY.text.replace("most: 50 ms", "most: 40 ms")
    )
    hidden = Source("# hidden", "# must find: dead-end\n" + TINY.text)
    found, _, met, _ = at_random_beside([shown, hidden], 10)

    assert (found.figure, met.figure) == (1, 1)
    assert (found.remark, met.remark) == ("of 2", "of 2, of 1 that a run can show")


def test_figures_have_three_digits_that_count():
    assert [figure(number) for number in (0.0304, 1.5, 23.456, 4211.7)] == [
        "0.030",
        "1.500",
        "23.46",
        "4212",
    ]


def test_a_table_has_its_figures_below_each_other():
    rows = [Row("short", 1, "s"), Row("a longer one", 250, "times", "of two")]

    assert table(rows).splitlines() == [
        "short              1.000 s",
        "a longer one         250 times  of two",
    ]
