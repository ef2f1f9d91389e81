"""Steps, moves, windows and stops of a drive."""

from fractions import Fraction
from math import isfinite, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.numbers.figures import Missing
from behaviour.numbers.motion import (
    Motion,
    Shape,
    motion_of,
    move,
    move_window,
    passing_window,
    past_steps,
    step_rate,
    steps_of,
    steps_per_turn,
    time_from_rest,
)
from behaviour.numbers.stopping import Stopping, stop
from tests.numbers.drives import carousel, drive, quantity

sizes = st.floats(1e-6, 1e9)
motions = st.builds(Motion, st.just(Fraction(200)), sizes, sizes)


def test_steps_of_a_turn_are_full_steps_by_microsteps_by_gearing():
    assert steps_per_turn(carousel()) == 7200
    assert steps_per_turn(drive(steps="200")) == 200


def test_gearing_may_be_given_as_teeth():
    geared = drive(steps="200", gearing__motor="20 teeth", gearing__drum="90 teeth")
    assert steps_per_turn(geared) == 900


def test_speeds_come_in_turns_angles_or_steps():
    for speed in ("40 rpm", "240 deg/s", "4800 steps/s"):
        assert step_rate(carousel(speed=speed)) == pytest.approx(4800)
    assert step_rate(carousel(speed="1 rad/s")) == pytest.approx(7200 / (2 * pi))


def test_a_distance_is_counted_exactly():
    assert steps_of(carousel(), quantity("60 deg")) == 1200
    assert steps_of(carousel(), quantity("1 station")) == 1200
    assert steps_of(carousel(), quantity("35 steps")) == 35
    assert steps_of(carousel(stations__count="7"), quantity("2 stations")) == Fraction(14400, 7)
    assert past_steps(carousel(), "reverse") == 12


def test_what_is_missing_is_asked_for_by_name_and_only_where_it_is_needed():
    bare = drive(speed="40 rpm")
    assert steps_of(bare, quantity("35 steps")) == 35
    assert steps_of(bare, quantity("1 station")) == Missing(("drum.steps", "drum.stations.count"))
    assert motion_of(bare) == Missing(("drum.steps", "drum.ramp"))
    assert move_window(bare, 10) == Missing(("drum.steps", "drum.ramp", "drum.tolerance"))


def test_a_station_of_the_carousel_takes_as_long_as_worked_out_by_hand():
    motion = motion_of(carousel())
    assert isinstance(motion, Motion)
    assert (motion.speed, motion.ramp) == (pytest.approx(4800), pytest.approx(18000))
    station = move(motion, 1200)  # 4800^2 / 18000 = 1280 steps would be needed for full speed
    assert station.shape is Shape.TRIANGLE
    assert station.time == pytest.approx(2 * (1200 / 18000) ** 0.5)
    turn = move(motion, 7200)
    assert turn.shape is Shape.TRAPEZOID
    assert (turn.ramp_steps, turn.ramp_time) == (
        pytest.approx(640),
        pytest.approx(0.26667, rel=1e-4),
    )
    assert turn.time == pytest.approx(7200 / 4800 + 4800 / 18000)


def test_a_window_reaches_from_full_speed_to_a_start_from_rest_and_is_rounded_outwards():
    low, high = passing_window(carousel(), 1200)
    assert low == 212_499  # 1200 / 4800 = 0.25 s, less 15 %, whole microseconds outwards
    assert high == 440_834  # 0.25 + 4800 / 36000 = 0.38333 s, and 15 %


def test_the_window_of_a_move_counts_in_what_the_generator_is_off():
    low, high = move_window(carousel(tolerance="0 %"), 7200)
    assert high == 1_770_267  # 1.766667 s, and half a microsecond for each step
    assert low == 1_755_266  # less also 2 x 0.37 sqrt(2 / 18000)


def test_with_a_ramp_down_the_drum_stops_as_it_gained_speed():
    stopped = stop(carousel(ramp_down=True, tolerance="0 %"))
    assert stopped.how is Stopping.RAMP
    assert (stopped.steps, stopped.time) == (pytest.approx(640), pytest.approx(0.26667, rel=1e-4))


def test_a_light_load_is_held_within_a_step():
    stopped = stop(carousel(load__inertia="0.0001 kg m2", tolerance="0 %"))
    assert (stopped.how, stopped.steps, stopped.time) == (
        Stopping.HELD,
        1.0,
        pytest.approx(1 / 4800),
    )


def test_a_heavy_load_may_run_on_until_friction_has_stopped_it():
    # 1/2 x 0.02 x 4.18879^2 = 0.17546 J; 0.3 N m take it up in 0.58487 rad, in 0.27925 s;
    # the motor takes up 1.9 / 50 = 0.038 J
    stopped = stop(carousel(tolerance="0 %"))
    assert stopped.how is Stopping.RUNS_ON
    assert stopped.time == pytest.approx(0.27925, rel=1e-4)
    assert stopped.steps == pytest.approx(0.58487 / (2 * pi) * 7200 + 32, rel=1e-4)


def test_stopping_asks_for_the_load_only_where_the_steps_end_at_once():
    weightless = drive(steps="200", speed="60 rpm", ramp="60 rpm/s", tolerance="10 %")
    assert stop(weightless) == Missing(("drum.load.inertia",))
    slowing = drive(steps="200", speed="60 rpm", ramp="60 rpm/s", tolerance="10 %", ramp_down=True)
    assert stop(slowing).time == pytest.approx(1.1)


@given(motions, sizes, sizes)
def test_a_longer_move_takes_longer_and_no_time_is_negative(motion, one, more):
    short, far = move(motion, one), move(motion, one + more)
    assert isfinite(far.time)
    assert 0 <= short.time <= far.time * (1 + 1e-12)
    assert 0 <= time_from_rest(motion, one) <= short.time * (1 + 1e-12)


@given(motions, sizes, sizes)
def test_splitting_a_move_never_makes_it_shorter(motion, one, other):
    whole = move(motion, one + other).time
    assert move(motion, one).time + move(motion, other).time >= whole * (1 - 1e-12)


angles = st.floats(1e-3, 1e5).map(lambda degrees: f"{degrees:.6f} deg")
drives = st.builds(
    lambda speed, ramp, tolerance: carousel(
        speed=f"{speed:.6f} rpm", ramp=f"{ramp:.6f} rpm/s", tolerance=f"{tolerance} %"
    ),
    st.floats(1e-3, 1e4),
    st.floats(1e-3, 1e6),
    st.integers(0, 99),
)


@given(drives, angles, angles)
def test_both_ends_of_a_window_grow_with_the_angle_and_none_is_negative(made, one, more):
    near, on = steps_of(made, quantity(one)), steps_of(made, quantity(more))
    for window in (move_window, passing_window):
        (low, high), (later_low, later_high) = window(made, near), window(made, near + on)
        assert 0 <= low <= high
        assert low <= later_low
        assert high <= later_high


@given(drives, angles, angles)
def test_a_move_in_two_parts_is_not_over_before_the_window_of_the_whole_begins(made, one, other):
    first, second = steps_of(made, quantity(one)), steps_of(made, quantity(other))
    low, _ = move_window(made, first + second)
    assert move_window(made, first)[1] + move_window(made, second)[1] >= low


@given(motions, sizes)
def test_the_area_under_the_speed_is_the_distance(motion, steps):
    made = move(motion, steps)
    assert made.peak * (made.ramp_time + made.run_time) == pytest.approx(steps, rel=1e-9)
    assert made.peak <= motion.speed * (1 + 1e-12)
