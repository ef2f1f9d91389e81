"""How fast a motor may turn: what the supply drives through its windings, and where it stalled."""

from behaviour.model import Drive, Model
from behaviour.numbers.block_power import pack_of
from behaviour.numbers.figures import Figures, Missing, combined
from behaviour.numbers.measures import measured
from behaviour.numbers.results import (
    COMMON,
    Lacking,
    Result,
    assumed,
    from_file,
    result,
)
from behaviour.numbers.torque import STALL_SHARE, step_time, supply_ceiling, supply_speed

L_OVER_R = "time for a winding's current to turn round: t = 2 L I / V"


def supply_limits(model: Model, figures: Figures, rpm: Result | Lacking) -> list[Result | Lacking]:
    """Give how fast a step can be, and the motor, before its current falls short."""
    inductance = from_file(figures, "winding.inductance", "H", "L", "inductance of a winding")
    current = from_file(figures, "winding.current", "A", "I", "current of a winding")
    steps = from_file(figures, "steps", "", "n", "full steps of the motor")
    pack = pack_of(model)
    volts = combined(lambda each: assumed("V", each[0], "V", "the pack, empty", "worked out"), pack)
    turn = combined(
        lambda v, henry, i: step_time(henry.value, i.value, v.value) * 1e6,
        volts,
        inductance,
        current,
    )
    speed = combined(
        lambda parts, n: supply_speed(parts[0], parts[1], parts[2], n.value) * 60,
        combined(lambda v, henry, i: (v.value, henry.value, i.value), volts, inductance, current),
        steps,
    )
    fast = not isinstance(speed, Missing) and isinstance(rpm, Result) and rpm.value > speed
    ceiling = combined(lambda each: supply_ceiling(each.value), inductance)
    return [
        result(
            "shortest full step at the rated current",
            turn,
            "us",
            "2 * L * I / V * 1e6",
            [volts, inductance, current],
            L_OVER_R,
        ),
        result(
            "motor speed up to which the supply drives the rated current",
            speed,
            "rpm",
            "60 * V / (2 * L * I * n)",
            [volts, inductance, current, steps],
            L_OVER_R,
            advice="the motor is to turn faster than that: it has less torque than its curve"
            if fast
            else "",
            weight="doubtful" if fast else "plain",
        ),
        result(
            "supply that heats the motor without making it faster",
            ceiling,
            "V",
            "32 * sqrt(L * 1000)",
            [inductance],
            "a driver maker's rule, from memory",
        ),
    ]


def stall_limit(drive: Drive, figures: Figures) -> list[Result | Lacking]:
    """Say how fast it may run after it was seen to stall; nothing where that was not seen."""
    stalled = figures.quantity("stalled")
    if stalled is None or stalled.unit == "steps/s":
        return []
    seen = from_file(figures, "stalled", "rpm", "S", f"{drive.output} was seen to stall")
    limit = STALL_SHARE * measured(stalled, "rpm")
    speed = figures.quantity("speed")
    is_fast = (
        speed is not None and speed.unit != "steps/s" and measured(speed, "rpm") > limit + 1e-9
    )
    return [
        result(
            f"fastest that {drive.output} should run",
            limit,
            "rpm",
            "2 / 3 * S",
            [seen],
            COMMON,
            advice="the file asks for more" if is_fast else "half of it is better still",
            weight="doubtful" if is_fast else "plain",
        )
    ]
