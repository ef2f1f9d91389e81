"""The step generator's intervals."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from behaviour.numbers.motion import Motion, motion_of, move, move_window
from behaviour.numbers.ramp import COUNTS, LEAD, first_interval, intervals, plan
from tests.numbers.drives import carousel

speeds = st.floats(1, 50_000)
ramps = st.floats(0.1, 500_000)
distances = st.integers(1, 2_000)


@given(speeds, ramps, distances)
def test_the_intervals_sum_to_the_time_of_the_move_within_the_stated_error(speed, ramp, steps):
    table = sum(intervals(plan(speed, ramp), steps)) / COUNTS
    time = move(Motion(Fraction(200), speed, ramp), steps).time
    rounding = steps / (2 * COUNTS)
    assert table <= time + rounding + 1e-6
    assert table >= time - 2 * LEAD * first_interval(ramp, 1) - rounding - 1e-6


@given(st.floats(1, 300), st.floats(1, 3_000), distances)
def test_the_steps_of_a_move_are_over_within_its_window(speed, ramp, steps):
    made = carousel(speed=f"{speed:.6f} rpm", ramp=f"{ramp:.6f} rpm/s", tolerance="0 %")
    motion = motion_of(made)
    low, high = move_window(made, steps)
    assert low <= sum(intervals(plan(motion.speed, motion.ramp), steps)) <= high


@given(speeds, ramps, distances)
def test_a_move_has_as_many_intervals_as_steps_and_ends_as_it_began(speed, ramp, steps):
    table = list(intervals(plan(speed, ramp), steps))
    assert len(table) == steps
    assert table[0] >= max(table) - 1 - 1e-4 * table[0]
    off = max(abs(one - other) for one, other in zip(table, table[::-1], strict=True))
    assert off <= 1 + 1e-4 * table[0]


def test_no_interval_is_shorter_than_that_of_full_speed():
    assert min(intervals(plan(4800, 18000), 7200)) == 208


def test_a_drive_that_is_slower_than_its_first_step_has_no_ramp():
    assert list(intervals(plan(10, 1000), 3)) == [100_000] * 3
