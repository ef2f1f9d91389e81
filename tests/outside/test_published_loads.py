"""Published figures of torque, inertia and what braking gives back.

Each check goes through a function that `tablework numbers` calls. Pounds, ounces and inches are
turned into SI here; their definitions are exact.
"""

from math import pi, tau

import pytest

from behaviour.numbers.torque import (
    accelerating_torque,
    carried_inertia,
    cylinder_inertia,
    effective_torque,
    hanging_inertia,
    left_on,
    lifting_torque,
    reflected,
    stopping_energy,
    torque_at_output,
    triangle_for,
)

POUND, INCH = 0.45359237, 0.0254
LB_IN2 = POUND * INCH * INCH
OZ_IN = POUND / 16 * 9.80665 * INCH


def test_an_inertia_is_brought_to_1000_steps_a_second():
    # Techno (Isel) H834 catalogue, p. 29: 9.2 lb in2, 1.8 degrees, 0.5 s, printed 48.2 oz in
    torque = accelerating_torque(9.2 * LB_IN2, 1000 / 0.5 * pi / 100) / OZ_IN
    assert torque == pytest.approx(23.96, rel=1e-3)


def test_trap_the_catalogue_doubles_its_torque_and_rounds_386_09_over_16_to_24():
    torque = accelerating_torque(9.2 * LB_IN2, 1000 / 0.5 * pi / 100) / OZ_IN
    assert torque == pytest.approx(48.17 / 2 * 24 / 24.13, rel=1e-3)
    assert torque != pytest.approx(48.2, rel=0.1)


def test_a_drum_hoist():
    # the same catalogue, p. 30: 5 lb at 1.5 in, 15 ft/s in 0.5 s; rotor 2.5 and drum 4.5 lb in2
    weight = hanging_inertia(5 * POUND, 1.5 * INCH)
    assert weight / LB_IN2 == pytest.approx(11.25)
    whole = weight + (2.5 + 4.5) * LB_IN2
    assert whole / LB_IN2 == pytest.approx(18.25)
    turns = 15 * 12 / (tau * 1.5)
    assert turns == pytest.approx(19.1, rel=1e-3)
    assert turns * 200 == pytest.approx(3820, rel=1e-3)
    assert lifting_torque(5 * POUND, 1.5 * INCH) / OZ_IN == pytest.approx(80 * 1.5)
    gaining = accelerating_torque(whole, turns * tau / 0.5) / OZ_IN
    assert gaining == pytest.approx(364 / 2 * 24 / 24.13, rel=4e-3)  # doubled there, as above


def test_an_exercise_of_a_textbook():
    # Kissell, Industrial Electronics (2000): 8.2 lb in2, 1.4 degrees, 1000 steps/s in 0.7 s
    torque = accelerating_torque(8.2 * LB_IN2, 1000 / 0.7 * 1.4 * pi / 180) / OZ_IN
    assert torque == pytest.approx(23.85 / 2 * 24 / 24.13, rel=1e-3)


def test_a_disc_and_what_it_is_behind_a_gearing():
    # machinemfg.com, servo motor sizing, case 1: 50 kg, 500 mm; gearing 25
    assert cylinder_inertia(50, 0.5) == pytest.approx(1.5625)
    assert reflected(1.5625, 25) * 1e4 == pytest.approx(25)


def test_trap_the_conveyor_of_that_page_goes_by_both_gearings_squared():
    # case 2 prints 18 kg cm2 with the first gearing alone (10); with both (10 x 2) it is 4.5
    assert reflected(18 * 100, 10 * 2) == pytest.approx(4.5)


def test_a_turntable_with_twelve_loads():
    # robotics.stackexchange.com/q/12592, with loads that lie flat: 0.3475 (0.34 where they stand)
    table = cylinder_inertia(2, 0.5) + 12 * carried_inertia(1, 0.1, 0.15)
    assert table == pytest.approx(0.3475)


def test_an_index_table():
    # Oriental Motor general catalogue, index table, from memory and worked out again
    disc = cylinder_inertia(7.9e3 * pi / 4 * 0.3**2 * 0.005, 0.3)
    mass = 7.9e3 * pi / 4 * 0.04**2 * 0.03
    loads = 12 * carried_inertia(mass, 0.04, 0.125)
    assert disc == pytest.approx(3.14e-2, rel=1e-3)
    assert mass == pytest.approx(0.30, rel=1e-2)
    assert loads == pytest.approx(5.7e-2, rel=1e-2)
    assert disc + loads == pytest.approx(8.8e-2, rel=2e-3)
    # 2778 steps/s of 0.072 degrees gained in 0.1 s; the gearing of 10 squared takes J to the motor
    gained = 2778 / 0.1 * 0.072 * pi / 180
    assert accelerating_torque(disc + loads, gained) == pytest.approx(3.1, rel=1.2e-2)


def test_a_gearing_reflects_inertia_by_its_square_and_torque_by_itself():  # novantaims.com
    assert reflected(1.0, 4) == pytest.approx(1 / 16)
    assert torque_at_output(2.0, 4, 0.9) == pytest.approx(7.2)


def test_a_rotary_triangle_and_its_effective_torque():  # h2wtech.com, rotary motion
    _, acceleration = triangle_for(pi, 0.5)
    assert acceleration == pytest.approx(4 * pi / 0.25)
    torque = accelerating_torque(0.01, acceleration)
    assert effective_torque(((torque, 0.25), (-torque, 0.25), (0, 0.5))) == pytest.approx(
        torque / 2**0.5
    )


def test_what_a_motor_takes_up_as_it_slows_down():  # Omron SmartStep2 manual, 4-4
    assert stopping_energy(1, 1, 1) == pytest.approx(0.0524, rel=1e-3)
    assert stopping_energy(0.5, 3000, 0.2) == pytest.approx(0.05236 * 3000 * 0.5 * 0.2, rel=1e-4)


def test_a_curve_is_straight_between_its_points_and_says_nothing_past_them():
    curve = ((0, 1.9), (300, 1.2), (600, 0.5))
    assert left_on(curve, 180) == pytest.approx(1.48)
    assert left_on(curve, 600.1) is None
