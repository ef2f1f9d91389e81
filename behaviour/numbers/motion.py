"""How a stepper's output moves: its steps, the time and shape of a move, its windows.

A step is one pulse to the driver, so a microstep of the motor. Speeds are in steps a second, ramps
in steps a second each second, times in seconds; only a window is in whole microseconds, rounded
outwards. What a file does not give comes back as `Missing`. It knows no region and no loop.
"""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import ceil, floor, sqrt

from behaviour.model import Drive, Micros, Quantity
from behaviour.numbers.figures import Missing, combined, figures_of, known
from behaviour.numbers.measures import exact, measured
from behaviour.numbers.ramp import COUNTS, LEAD, first_interval, gaining_steps, steps_to_speed

_COUNTS_STEPS = frozenset({"steps/s", "steps/s2"})
"""The units of speed and ramp that count steps and no turns."""

_ROUNDING = 1e-3
"""Microseconds by which a window is wider than worked out, for what floating figures lose."""


@dataclass(frozen=True, slots=True)
class Motion:
    """A drive's numbers as its moves need them; `steps_per_turn` is for a turn of the output."""

    steps_per_turn: Fraction
    speed: float
    ramp: float


class Shape(Enum):
    """How the speed of a move goes; the value says it."""

    TRAPEZOID = "gains speed, runs, and slows down"
    TRIANGLE = "gains speed and slows down before it is at full speed"


@dataclass(frozen=True, slots=True)
class Move:
    """A move of `steps` from rest to rest: `ramp_time` to gain speed and as much to lose it."""

    steps: float
    shape: Shape
    peak: float
    ramp_steps: float
    ramp_time: float
    run_time: float

    @property
    def time(self) -> float:
        return 2 * self.ramp_time + self.run_time


# --- Steps --------------------------------------------------------------------------------------


def steps_per_turn(drive: Drive) -> Fraction | Missing:
    """Count the steps of one turn of the output: full steps x microsteps x gearing."""
    return combined(
        lambda steps: steps * microsteps(drive) * gearing(drive), figures_of(drive).exact("steps")
    )


def microsteps(drive: Drive) -> Fraction:
    """Give the driver's steps for one full step; 1 where the file says nothing."""
    return known(figures_of(drive).exact("microsteps"), Fraction(1))


def gearing(drive: Drive) -> Fraction:
    """Give the motor's turns for one turn of the output; 1 where the file says nothing."""
    figures = figures_of(drive)
    teeth = combined(
        lambda driven, driving: driven / driving,
        figures.exact(f"gearing.{drive.output}"),
        figures.exact("gearing.motor"),
    )
    return known(teeth, known(figures.exact("gearing"), Fraction(1)))


def steps_per_station(drive: Drive) -> Fraction | Missing:
    """Count the steps from one station to the next; it need not be whole."""
    stations = figures_of(drive).exact("stations.count")
    return combined(lambda turn, count: turn / count, steps_per_turn(drive), stations)


def steps_of(drive: Drive, distance: Quantity) -> Fraction | Missing:
    """Count the steps of a distance such as `60 deg`, `1 station`, or `35 steps`.

    The count need not be whole: whoever moves rounds it, and `stations` tells what that costs.
    """
    number = exact(distance)
    match distance.unit:
        case "step" | "steps":
            return number
        case "station" | "stations":
            return combined(lambda station: number * station, steps_per_station(drive))
        case "turn" | "turns":
            return combined(lambda turn: number * turn, steps_per_turn(drive))
        case "deg":
            return combined(lambda turn: number * turn / 360, steps_per_turn(drive))
        case _:
            turns = Fraction(measured(distance, "turn"))
            return combined(lambda turn: turns * turn, steps_per_turn(drive))


def past_steps(drive: Drive, direction: str) -> Fraction | Missing:
    """Count the steps from the switch's edge on to the station, in a direction of the motor."""
    return figures_of(drive).exact(f"stations.past.{direction}")


# --- Speed --------------------------------------------------------------------------------------


def step_rate(drive: Drive) -> float | Missing:
    """Give the steps a second at the drive's speed."""
    return combined(
        lambda speed: _in_steps(drive, speed, "turn/s"), figures_of(drive).needed("speed")
    )


def ramp_rate(drive: Drive) -> float | Missing:
    """Give the steps a second that the drive gains each second."""
    return combined(
        lambda ramp: _in_steps(drive, ramp, "turn/s2"), figures_of(drive).needed("ramp")
    )


def motion_of(drive: Drive) -> Motion | Missing:
    """Give what every move of a drive needs, or everything that is missing for it at once."""
    return combined(Motion, steps_per_turn(drive), step_rate(drive), ramp_rate(drive))


def _in_steps(drive: Drive, quantity: Quantity, unit: str) -> float | Missing:
    if quantity.unit in _COUNTS_STEPS:
        return quantity.number
    return combined(lambda turn: measured(quantity, unit) * float(turn), steps_per_turn(drive))


# --- Moves --------------------------------------------------------------------------------------


def move(motion: Motion, steps: float) -> Move:
    """Give the shape and time of a move from rest to rest.

    With d steps, speed v and ramp a: where d is at least v^2/a it takes d/v + v/a, else
    2 sqrt(d/a) with the peak sqrt(d a).
    """
    speed, ramp = motion.speed, motion.ramp
    gaining = steps_to_speed(speed, ramp)
    if steps >= 2 * gaining:
        running = max(steps - 2 * gaining, 0.0) / speed
        return Move(steps, Shape.TRAPEZOID, speed, gaining, speed / ramp, running)
    peak = sqrt(steps * ramp)
    gaining = gaining_steps(steps, ramp, ramp)
    return Move(steps, Shape.TRIANGLE, peak, gaining, sqrt(steps / ramp), 0.0)


def time_from_rest(motion: Motion, steps: float) -> float:
    """Give the time to gain speed from rest and go on through `steps`, without slowing down."""
    speed, ramp = motion.speed, motion.ramp
    if steps >= steps_to_speed(speed, ramp):
        return steps / speed + speed / (2 * ramp)
    return sqrt(2 * steps / ramp)


# --- Windows ------------------------------------------------------------------------------------


def move_window(drive: Drive, steps: float) -> tuple[Micros, Micros] | Missing:
    """Give the shortest and longest time of a move by distance, from rest to rest.

    Counted in is what the step generator is off: its ramps are a little early, and each interval
    is a whole count.
    """
    return combined(
        lambda motion, tolerance: _window(*_made(motion, steps), tolerance),
        motion_of(drive),
        tolerance_of(drive),
    )


def _made(motion: Motion, steps: float) -> tuple[float, float]:
    time, off = move(motion, steps).time, steps / (2 * COUNTS)
    early = 2 * LEAD * first_interval(motion.ramp, 1)
    return max(time - early - off, 0.0), time + off


def passing_window(drive: Drive, steps: float) -> tuple[Micros, Micros] | Missing:
    """Give the shortest and longest time in which an output that is driven goes through `steps`.

    It may be at full speed when that begins, or at rest; it does not slow down for the end.
    """
    return combined(
        lambda motion, tolerance: _window(
            steps / motion.speed, time_from_rest(motion, steps), tolerance
        ),
        motion_of(drive),
        tolerance_of(drive),
    )


def tolerance_of(drive: Drive) -> float | Missing:
    """Give the share by which times may differ from what is worked out."""
    return combined(lambda percent: percent / 100, figures_of(drive).measured("tolerance", "%"))


def _window(shortest: float, longest: float, tolerance: float) -> tuple[Micros, Micros]:
    low = floor(shortest * max(1 - tolerance, 0.0) * 1e6 - _ROUNDING)
    return max(low, 0), ceil(longest * (1 + tolerance) * 1e6 + _ROUNDING)
