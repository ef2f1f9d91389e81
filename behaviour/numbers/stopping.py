"""How far and how long an output goes on after its value went to rest: a rest is no standstill.

It knows what is set and how heavy the load is, and no region.
"""

from dataclasses import dataclass
from enum import Enum
from math import tau

from behaviour.model import Drive
from behaviour.numbers.figures import Missing, combined, figures_of, known
from behaviour.numbers.loads import curve_of, inertia_at_output, weight_torque
from behaviour.numbers.motion import (
    Motion,
    microsteps,
    motion_of,
    step_rate,
    steps_per_turn,
    tolerance_of,
)

FULL_STEPS_OF_A_PULL = 4
"""Full steps of a two-phase motor from one place that holds the rotor to the next like it."""


class Stopping(Enum):
    """How an output comes to rest; the value says it."""

    RAMP = "slows down as it gained speed"
    HELD = "is held by the motor within a step, as long as its driver stays on"
    RUNS_ON = "may run on, as if the driver had let go, until friction has stopped it"


@dataclass(frozen=True, slots=True)
class Stop:
    """The most steps, and the longest time in seconds, that an output goes on once set to rest."""

    how: Stopping
    steps: float
    time: float


def stop(drive: Drive) -> Stop | Missing:
    """Give how an output stops from its full speed, with its tolerance counted in.

    With `ramp_down: yes` it slows down as it gained speed. Without, no further step is made: the
    motor surely holds what turns where its energy is less than one pull takes up; else what turns
    may run on until friction, less a weight that pulls, has taken its energy, and then settles
    within one more pull. In between the pulls give back what they take, so the time is at most
    that of friction alone.
    """
    if drive.ramp_down:
        return combined(_slowing, motion_of(drive), tolerance_of(drive))
    return combined(
        lambda energy, tolerance: _at_once(drive, energy, tolerance),
        turning_energy(drive),
        tolerance_of(drive),
    )


def _slowing(motion: Motion, tolerance: float) -> Stop:
    speed, ramp, more = motion.speed, motion.ramp, 1 + tolerance
    return Stop(Stopping.RAMP, speed * speed / (2 * ramp) * more, speed / ramp * more)


def _at_once(drive: Drive, energy: float, tolerance: float) -> Stop | Missing:
    more = 1 + tolerance
    takes = 0.0 if weight_torque(drive) else known(holding_energy(drive), 0.0)
    if energy * more * more <= takes:
        return combined(lambda rate: Stop(Stopping.HELD, 1.0, more / rate), step_rate(drive))
    friction = combined(
        lambda friction: friction - weight_torque(drive),
        figures_of(drive).measured("load.friction", "N m"),
    )
    if not isinstance(friction, Missing) and friction <= 0:
        return Missing((f"{drive.output}.load.friction",))
    return combined(
        lambda turn, angular, torque: Stop(
            Stopping.RUNS_ON,
            (energy / torque / tau * float(turn) + _steps_of_a_pull(drive)) * more * more,
            2 * energy / (angular * torque) * more,
        ),
        steps_per_turn(drive),
        angular_speed(drive),
        friction,
    )


def _steps_of_a_pull(drive: Drive) -> float:
    return float(FULL_STEPS_OF_A_PULL * microsteps(drive))


def angular_speed(drive: Drive) -> float | Missing:
    """Give the speed of the output in radians a second."""
    return combined(
        lambda rate, turn: rate / float(turn) * tau, step_rate(drive), steps_per_turn(drive)
    )


def turning_energy(drive: Drive) -> float | Missing:
    """Give the energy of all that turns, at full speed, in joules: 1/2 J w^2."""
    return combined(
        lambda inertia, angular: inertia * angular * angular / 2,
        inertia_at_output(drive),
        angular_speed(drive),
    )


def holding_energy(drive: Drive) -> float | Missing:
    """Give the energy that the motor at rest surely takes up before it slips, in joules.

    Its torque goes as the sine of the angle, steps/4 times a turn; of a rotor that lags by a
    quarter of that, (holding torque) / (steps/4) is left of the hill.
    """
    curve = curve_of(drive)
    still = [] if isinstance(curve, Missing) else [left for speed, left in curve if speed == 0]
    holding = still[0] if still else Missing((f"{drive.output}.torque",))
    return combined(
        lambda steps, torque: torque / (float(steps) / FULL_STEPS_OF_A_PULL),
        figures_of(drive).exact("steps"),
        holding,
    )
