"""Torque, inertia and the speed that a supply allows: formulas on plain SI numbers.

Inertia in kg m2, torque in N m, angular speed in rad/s. It knows no drive.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import sqrt, tau

GRAVITY = 9.80665

STALL_SHARE = 2 / 3
"""Common practice: run a stepper at no more than half to two thirds of where it stalled."""

Curve = Sequence[tuple[float, float]]
"""Points of a motor's curve: turns a minute and the torque left at them, the slowest first."""


# --- Inertia ------------------------------------------------------------------------------------


def cylinder_inertia(mass: float, diameter: float) -> float:
    """Give the inertia of a disc or cylinder about its own axis: m d^2 / 8."""
    return mass * diameter * diameter / 8


def carried_inertia(mass: float, diameter: float, at: float) -> float:
    """Give the inertia of a cylinder carried round at a radius, its axis parallel: + m r^2."""
    return cylinder_inertia(mass, diameter) + mass * at * at


def hanging_inertia(mass: float, radius: float) -> float:
    """Give the inertia that a weight on a line stands for at the drum that winds it: m r^2."""
    return mass * radius * radius


def reflected(inertia: float, ratio: float) -> float:
    """Give what an inertia behind a gearing is at the motor: J / ratio^2."""
    return inertia / (ratio * ratio)


# --- Torque -------------------------------------------------------------------------------------


def accelerating_torque(inertia: float, acceleration: float) -> float:
    return inertia * acceleration


def lifting_torque(mass: float, radius: float) -> float:
    return mass * GRAVITY * radius


def torque_at_motor(torque: float, ratio: float, efficiency: float) -> float:
    """Give what a torque behind a gearing asks of the motor."""
    return torque / (ratio * efficiency)


def torque_at_output(torque: float, ratio: float, efficiency: float) -> float:
    """Give what a motor's torque is behind a gearing."""
    return torque * ratio * efficiency


def left_on(curve: Curve, speed: float) -> float | None:
    """Give the torque that a curve has at a speed, between its points; None past its ends."""
    for (slow, at_slow), (fast, at_fast) in pairwise(curve):
        if slow <= speed <= fast:
            return at_slow + (at_fast - at_slow) * (speed - slow) / (fast - slow)
    return None


def effective_torque(parts: Sequence[tuple[float, float]]) -> float:
    """Give the root mean square of torques, each with the time that it lasts."""
    return sqrt(sum(torque * torque * time for torque, time in parts) / sum(t for _, t in parts))


def stopping_energy(torque: float, rpm: float, time: float) -> float:
    """Give the joules that a motor takes up as it slows a load down evenly."""
    return tau / 60 * rpm * torque * time / 2


# --- What the supply allows ---------------------------------------------------------------------


def step_time(inductance: float, current: float, voltage: float) -> float:
    """Give the shortest time of a full step in which the winding's current turns round."""
    return 2 * inductance * current / voltage


def supply_speed(voltage: float, inductance: float, current: float, steps: float) -> float:
    """Give the turns a second up to which a supply can drive a winding's current."""
    return 1 / (step_time(inductance, current, voltage) * steps)


def supply_ceiling(inductance: float) -> float:
    """Give the volts that a supply need not pass: 32 sqrt(L in mH)."""
    return 32 * sqrt(inductance * 1000)


# --- Moves for a given time ---------------------------------------------------------------------


def triangle_for(distance: float, time: float) -> tuple[float, float]:
    """Give the peak speed and the ramp of a triangle that covers a distance in a time."""
    peak = speed_for(distance, time, time / 2)
    return peak, peak / (time / 2)


def thirds_for(distance: float, time: float) -> tuple[float, float]:
    """Give the speed and the ramp of a move of which each third of the time is one part."""
    speed = speed_for(distance, time, time / 3)
    return speed, speed / (time / 3)


def speed_for(distance: float, time: float, ramp_time: float) -> float:
    """Give the speed of a move that covers a distance in a time, of it `ramp_time` at each end."""
    return distance / (time - ramp_time)
