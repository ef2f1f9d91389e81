"""Time in the firmware: late loops, calls within a loop, the rollover, clocks that never wrap."""

from collections.abc import Iterator

import pytest

from behaviour.model import Model
from behaviour.semantics import PropState
from codegen.conform.build import Program, built
from codegen.conform.lockstep import first_mismatch
from codegen.conform.timeline import ROLLOVER, Call, Dice, Timeline, first_call, next_call
from tests.making import becomes, button, held, prop, region, state, way

DAY_MS = 24 * 60 * 60 * 1000

CLOCK = prop(
    region(
        "clock",
        state("soon", leave=[way("later", after=1000)]),
        state("later", leave=[way("much_later", after=40 * DAY_MS)]),
        state("much_later", leave=[way("soon", held("b", "pressed", 49 * DAY_MS))]),
    ),
    region(
        "edge",
        state("up", leave=[way("down", becomes("b", "pressed"))]),
        state("down", leave=[way("up", becomes("b", "released"))]),
    ),
    inputs=[button("b", steady=50)],
)


@pytest.fixture(scope="module")
def program() -> Iterator[Program]:
    with built(CLOCK, "clock.yaml", sanitize=True) as found:
        yield found


def played(begin_ms: int, moments: list[tuple[int, str]]) -> Timeline:
    """Call the firmware at each moment after power-up with what the button reads."""
    dice = Dice(CLOCK, lambda _, low, __: low)
    calls = [first_call(CLOCK, begin_ms, ("released",), dice)]
    begun_ms = begin_ms
    for after_ms, raw in moments:
        call = next_call(CLOCK, calls[-1], begun_ms, begin_ms + after_ms, (raw,), dice)
        begun_ms += call.loops * 10
        calls.append(call)
    return Timeline("played", tuple(calls))


def clock_of(call: Call) -> str:
    return name_of(CLOCK, call.leaves, 0)


def name_of(model: Model, state: PropState, at: int) -> str:
    return model.regions[at].states[state.regions[at].leaf].name


@pytest.mark.parametrize("before_ms", [0, 1, 9, 10, 500, 995, 1000, 1009, 5000])
def test_a_second_is_a_second_right_across_the_rollover(program: Program, before_ms: int) -> None:
    timeline = played(ROLLOVER - before_ms, [(ms, "released") for ms in range(10, 1100, 10)])
    assert [clock_of(call) for call in timeline.calls[:101]] == ["soon"] * 100 + ["later"]
    assert first_mismatch(CLOCK, program, [timeline]) is None


def test_calls_within_a_loop_do_nothing_and_lose_no_time(program: Program) -> None:
    timeline = played(7, [(ms, "released") for ms in range(1, 1050, 3)])
    turned = next(call.now_ms for call in timeline.calls if clock_of(call) == "later")
    assert turned - 7 == 1000
    assert sum(call.loops == 0 for call in timeline.calls) > 200
    assert first_mismatch(CLOCK, program, [timeline]) is None


def test_a_late_loop_counts_all_the_time_that_went_by(program: Program) -> None:
    timeline = played(0, [(10, "released"), (999, "released"), (1000, "released")])
    assert [call.loops for call in timeline.calls] == [0, 1, 98, 1]
    assert [clock_of(call) for call in timeline.calls] == ["soon", "soon", "soon", "later"]
    assert first_mismatch(CLOCK, program, [timeline]) is None


def test_a_filter_counts_skipped_loops_only_if_both_samples_agree(program: Program) -> None:
    jumps = played(0, [(10, "released"), (100, "pressed"), (110, "pressed"), (150, "pressed")])
    assert [name_of(CLOCK, call.leaves, 1) for call in jumps.calls] == ["up"] * 4 + ["down"]
    stands = played(0, [(10, "pressed"), (60, "pressed")])
    assert [name_of(CLOCK, call.leaves, 1) for call in stands.calls] == ["up", "up", "down"]
    assert first_mismatch(CLOCK, program, [jumps, stands]) is None


def test_clocks_that_stand_for_months_never_wrap(program: Program) -> None:
    months = [(1000 + day * 20 * DAY_MS, "pressed") for day in range(12)]
    timeline = played(ROLLOVER - 5, months)
    names = [clock_of(call) for call in timeline.calls]
    round_again = ["soon", "later", "later", "much_later"]
    assert names == [*round_again, "much_later", *round_again, *round_again]
    assert first_mismatch(CLOCK, program, [timeline]) is None
