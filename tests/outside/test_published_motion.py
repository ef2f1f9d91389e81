"""Published figures of stepper motion: ramps, step delays, rates, moves, speed limits.

Each check goes through a function that `tablework numbers` calls, to the tolerance of its source.

Left out, since no prop has such a part or we have no such number: Austin's recursion with 2c/2n
(A5) and his change of slope in mid-ramp (A9); the scaled constants of one maker's chip library
(AVR446, C3, C4); rack and pinion (D3); conveyor (D6); ball screw (D9); registers of one maker's
chip (E8).
"""

from math import pi, sqrt

import pytest

from behaviour.numbers import ramp
from behaviour.numbers.motion import (
    Motion,
    Shape,
    move,
    step_rate,
    steps_of,
    steps_per_turn,
    time_from_rest,
)
from behaviour.numbers.torque import (
    speed_for,
    step_time,
    supply_ceiling,
    supply_speed,
    thirds_for,
    triangle_for,
)
from tests.numbers.drives import drive, quantity

TIMER = 1_000_000
STEP = pi / 100  # 1.8 degrees
TEN_RAD = 10 / STEP  # a ramp of 10 rad/s2 in steps


def close(value: float, rel: float):
    return pytest.approx(value, rel=rel)


# --- D. Austin, Generate stepper-motor speed profiles in real time, 2005 ------------------------


def test_300_rpm_of_a_200_step_motor_is_an_interval_of_1000_counts():  # eq. 1, 2
    rate = step_rate(drive(steps="200", speed="300 rpm"))
    assert ramp.interval_at(rate, TIMER) == pytest.approx(1000)
    assert ramp.speed_at(1000, TIMER) == pytest.approx(rate)


def test_exact_intervals_are_the_first_by_differences_of_roots():  # eq. 6 to 8
    first = ramp.first_interval(TEN_RAD, TIMER)
    assert first == pytest.approx(TIMER * sqrt(2 * STEP / 10))
    assert ramp.exact_interval(7, TEN_RAD, TIMER) == pytest.approx(first * (sqrt(8) - sqrt(7)))


RATIOS = (
    (1, 0.4142, 0.6000, 0.4485),
    (2, 0.7673, 0.7778, 0.0136),
    (3, 0.8430, 0.8462, 0.00370),
    (4, 0.8810, 0.8824, 0.00152),
    (5, 0.9041, 0.9048, 7.66e-4),
    (6, 0.9196, 0.9200, 4.41e-4),
    (10, 0.9511, 0.9512, 9.42e-5),
    (100, 0.9950, 0.9950, 9.38e-8),
    (1000, 0.9995, 0.9995, 9.37e-11),
)


@pytest.mark.parametrize(("n", "exact", "followed", "error"), RATIOS)
def test_the_recursion_is_as_near_the_exact_ratios_as_table_1_has_it(n, exact, followed, error):
    one, other = (ramp.exact_interval(place, TEN_RAD, TIMER) for place in (n, n - 1))
    assert one / other == pytest.approx(exact, abs=5e-5)
    assert ramp.followed(1.0, n) == pytest.approx(followed, abs=5e-5)
    off = ramp.followed(1.0, n) * other / one - 1
    assert off == close(error, 4e-3)  # three printed digits


def test_the_first_interval_is_shortened_to_0_676():  # eq. 15, and 0.4056 where c0 stays exact
    assert ramp.FIRST_SHARE == 0.676
    assert ramp.followed(0.676, 1) == pytest.approx(0.4056)
    made = ramp.plan(1e5, TEN_RAD)
    assert made.first / ramp.PART == close(0.676 * TIMER * sqrt(2 * STEP / 10), 1e-6)


def test_120_rpm_in_a_second_takes_200_steps():
    assert 120 / 60 * 2 * pi == close(12.566, 1e-4)
    assert ramp.steps_to_speed(400, 400) == 200


def test_the_199th_and_200th_interval_are_those_of_table_2():
    # 0.676 is rounded, which is 3e-5 here: the source's own tolerance is taken as 1e-4
    table = list(ramp.intervals(ramp.plan(1e5, TEN_RAD), 1000))
    assert table[198] == close(2813.067, 3e-4)  # and whole counts
    assert table[199] == close(2806.008, 3e-4)
    interval = 0.676 * ramp.first_interval(TEN_RAD, TIMER)
    for place in range(1, 199):
        interval = ramp.followed(interval, place)
    assert interval == close(2813.067, 1e-4)
    assert ramp.followed(interval, 199) == close(2806.008, 1e-4)


def test_slowing_down_at_another_slope_goes_on_from_its_place_on_the_ramp():  # table 2, 10 to -20
    place = ramp.other_place(199, 10, -20)
    assert place == pytest.approx(-100.25)
    interval = ramp.followed(2806.008, place + 1)
    assert interval == close(2820.180, 1e-6)
    assert ramp.followed(interval, place + 2) == close(2834.568, 1e-6)


def test_trap_the_misprint_of_table_2_is_not_repeated():
    # 10 to 5 at step 200: n = 398.5; printed c200 is 2803.498, where the recursion gives 2802.498
    place = ramp.other_place(199, 10, 5)
    assert place == pytest.approx(398.5)
    interval = ramp.followed(2806.008, place + 1)
    assert interval == close(2802.498, 1e-6)
    assert ramp.followed(interval, place + 2) == close(2799.001, 1e-6)


def test_two_intervals_tell_the_ramp_that_they_stand_for():  # eq. 3
    assert ramp.ramp_between(2813.067, 2806.008, TIMER) * STEP == close(10, 1e-4)


def test_a_short_move_slows_down_from_the_step_that_its_slopes_give():  # eq. 17, 19
    assert ramp.gaining_steps(500, 10, 20) == close(333, 2e-3)


# --- Step-delay data files of idubrov/stepgen (MIT/Apache-2.0) ----------------------------------

FILES = ramp.plan(800, 1000)


def test_the_first_delays_are_those_of_the_files():
    first = [30232, 18139, 14108, 11938, 10533, 9530, 8768, 8163, 7668, 7254, 6900]
    assert list(ramp.intervals(FILES, 1000))[:11] == first


def test_a_move_of_ten_steps_is_that_of_the_file():
    half = [30232, 18139, 14108, 11938, 10533]
    assert list(ramp.intervals(FILES, 10)) == half + half[::-1]


def test_a_move_of_a_thousand_steps_is_that_of_the_file():
    delays = list(ramp.intervals(FILES, 1000))
    assert (len(delays), min(delays)) == (1000, 1250)
    assert (delays.count(1250), delays.index(1250)) == (360, 320)
    assert sum(delays) == close(2_019_832, 2e-6)  # the files keep 16 bits more: 2 us of 2 s


def test_the_trapezoid_of_that_move_is_a_little_longer_than_the_file():
    made = move(Motion(200, 800, 1000), 1000)
    assert (made.time, made.ramp_steps) == (pytest.approx(2.05), pytest.approx(320))
    assert 2.019832 / made.time == close(0.985, 1e-3)


def test_a_move_of_a_hundred_steps_is_a_triangle_as_in_the_file():
    delays = list(ramp.intervals(FILES, 100))
    assert (sum(delays), min(delays)) == (602_250, 3178)
    made = move(Motion(200, 800, 1000), 100)
    assert made.shape is Shape.TRIANGLE
    assert made.time == close(0.6325, 1e-4)


def test_the_hundredth_delay_is_2242():
    assert list(ramp.intervals(FILES, 1000))[99] == 2242


# --- Atmel AVR446, Linear speed control of stepper motor, 2006 ----------------------------------


def test_step_n_comes_at_the_root_of_2_n_over_the_ramp():  # C1
    assert time_from_rest(Motion(200, 1e6, 1000), 50) == pytest.approx(sqrt(2 * 50 / 1000))


def test_the_set_up_of_avr446_is_that_of_the_ramp():  # C2
    alpha, omega, accel = STEP, 12.0, 30.0
    speed, slope = omega / alpha, accel / alpha
    assert ramp.interval_at(speed, TIMER) == pytest.approx(alpha * TIMER / omega)
    assert ramp.steps_to_speed(speed, slope) == pytest.approx(omega**2 / (2 * alpha * accel))
    assert ramp.gaining_steps(300, 30, 60) == pytest.approx(300 * 60 / 90)
    lost = ramp.other_place(ramp.steps_to_speed(speed, slope) - 0.5, accel, -60)
    assert lost + 0.5 == pytest.approx(-ramp.steps_to_speed(speed, slope) * accel / 60)


# --- Rates, ratios, moves -----------------------------------------------------------------------


def test_steps_for_a_degree():  # E1, a forum's figures
    one = steps_of(drive(steps="200", microsteps="16", gearing="2"), quantity("1 deg"))
    assert float(one) == close(17.777777, 1e-6)


@pytest.mark.parametrize(("steps", "rpm"), [("500", "120 rpm"), ("1000", "60 rpm")])
def test_a_thousand_steps_a_second_in_turns_a_minute(steps, rpm):  # E2, a motor maker
    assert step_rate(drive(steps=steps, speed=rpm)) == pytest.approx(1000)


def test_600_rpm_of_40_steps_a_turn_is_a_step_in_2_5_ms():  # E3, a processor maker's forum
    rate = step_rate(drive(steps="40", speed="600 rpm"))
    assert rate == pytest.approx(400)
    assert ramp.interval_at(rate, 1000) == pytest.approx(2.5)


def test_trap_4000_pulses_of_2000_a_turn_are_2_turns_a_second_and_not_20():
    assert step_rate(drive(steps="2000", speed="120 rpm")) == pytest.approx(4000)


def test_a_triangle_peaks_at_twice_the_mean_speed():  # E4, linearmotiontips.com
    assert triangle_for(100, 2) == (100, 100)
    assert triangle_for(7, 0.5) == (pytest.approx(2 * 7 / 0.5), pytest.approx(4 * 7 / 0.25))


def test_a_move_by_thirds():  # E5, from memory, as linearmotiontips.com has it
    assert thirds_for(100, 2) == (pytest.approx(75), pytest.approx(112.5))


def test_a_move_is_a_trapezoid_from_v_squared_over_a_on():  # E6, kinematics
    motion = Motion(200, 100, 50)
    at_limit, below = move(motion, 200), move(motion, 199.99)
    assert (at_limit.time, at_limit.shape) == (pytest.approx(4), Shape.TRAPEZOID)
    assert (below.peak, below.shape) == (pytest.approx(sqrt(199.99 * 50)), Shape.TRIANGLE)


def test_the_step_rate_of_a_driver_sheet():  # E7, SLVSA73 8.2.2.1, from memory
    assert step_rate(drive(steps="200", microsteps="8", speed="120 rpm")) == pytest.approx(
        120 / 60 * 360 / 1.8 * 8
    )


def test_a_degree_that_is_a_share_of_a_step_is_kept_exactly():  # D8, a motor maker's index table
    table = drive(steps="5000")  # 0.072 degrees a pulse
    pulses = float(steps_of(table, quantity("30 deg")))
    assert pulses == close(417, 1e-3)
    assert speed_for(pulses, 0.25, 0.1) == close(2780, 1e-3)
    assert speed_for(pulses, 0.25, 0.1) / float(steps_per_turn(table)) * 60 == close(33.4, 2e-3)


# --- What a supply allows -----------------------------------------------------------------------


def test_a_winding_turns_its_current_round_in_2_l_i_over_v():  # F1, daycounter.com; F2, askiv.com
    assert step_time(0.010, 0.010, 12) == close(16.67e-6, 1e-3)
    assert supply_speed(12, 0.010, 0.010, 1000) == close(60, 1e-3)


@pytest.mark.parametrize(("volts", "rpm"), [(24, 338), (25.2, 355), (33.6, 474)])
def test_the_speed_of_a_common_motor_on_three_supplies(volts, rpm):  # F4, computed
    assert supply_speed(volts, 0.0038, 2.8, 200) * 60 == close(rpm, 2e-3)
    assert 1 / step_time(0.0038, 2.8, 24) == close(1128, 1e-3)


def test_the_supply_that_is_enough():  # F5, a driver maker's rule, from memory
    assert supply_ceiling(0.0038) == close(62, 1e-2)
