"""What a drive turns and what resists it, from its figures. It knows no move."""

from fractions import Fraction
from itertools import count

from behaviour.model import Drive
from behaviour.numbers.figures import Missing, combined, figures_of, known
from behaviour.numbers.measures import factor, measured
from behaviour.numbers.motion import gearing, microsteps
from behaviour.numbers.torque import Curve, carried_inertia, hanging_inertia, lifting_torque


def load_inertia(drive: Drive) -> float | Missing:
    """Give the load's inertia at the output: as it is given, or worked out from its parts."""
    figures = figures_of(drive)
    turning = figures.measured("load.inertia", "kg m2")
    if isinstance(turning, Missing) and (drive_parts := _parts(drive)):
        turning = sum(drive_parts)
    hanging = combined(
        hanging_inertia,
        figures.measured("load.hangs.mass", "kg"),
        figures.measured("load.hangs.radius", "m"),
    )
    return combined(lambda inertia: inertia + known(hanging, 0.0), turning)


def _parts(drive: Drive) -> list[float]:
    """List the inertia of each part of the load, those that are there several times together."""
    figures, found = figures_of(drive), []
    for number in count(1):
        path = f"load.parts.{number}"
        mass = figures.measured(f"{path}.mass", "kg")
        if isinstance(mass, Missing):
            break
        diameter = known(figures.measured(f"{path}.diameter", "m"), 0.0)
        at = known(figures.measured(f"{path}.at", "m"), 0.0)
        times = float(known(figures.exact(f"{path}.count"), Fraction(1)))
        found.append(times * carried_inertia(mass, diameter, at))
    return found


def rotor_inertia(drive: Drive) -> float:
    """Give the rotor's own inertia; 0 where the file does not give it."""
    return known(figures_of(drive).measured("rotor.inertia", "kg m2"), 0.0)


def inertia_at_output(drive: Drive) -> float | Missing:
    """Give all inertia at the output: the load's, and the rotor's x gearing^2."""
    rotor = rotor_inertia(drive) * float(gearing(drive)) ** 2
    return combined(lambda load: load + rotor, load_inertia(drive))


def weight_torque(drive: Drive) -> float:
    """Give the torque at the output that a hanging weight pulls with; 0 where nothing hangs."""
    figures = figures_of(drive)
    pull = combined(
        lifting_torque,
        figures.measured("load.hangs.mass", "kg"),
        figures.measured("load.hangs.radius", "m"),
    )
    return known(pull, 0.0)


def efficiency(drive: Drive) -> float:
    """Give what the gearing leaves of the torque; all of it where the file says nothing."""
    return known(figures_of(drive).measured("efficiency", "%"), 100.0) / 100


def curve_of(drive: Drive) -> Curve | Missing:
    """Give the motor's curve in turns a minute and N m."""
    if not drive.torque:
        return Missing((f"{drive.output}.torque",))
    return [
        (_rpm(drive, speed.number, speed.unit), measured(torque, "N m"))
        for speed, torque in drive.torque
    ]


def _rpm(drive: Drive, number: float, unit: str) -> float:
    if unit != "steps/s":
        return number * factor(unit, "rpm")
    figures = figures_of(drive)
    steps = known(figures.exact("steps"), Fraction(200)) * microsteps(drive)
    return number * 60 / float(steps)
