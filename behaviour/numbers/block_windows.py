"""The windows of a drive's moves, and how it comes to rest: what the checks take from here."""

from behaviour.model import Drive
from behaviour.numbers.figures import Missing, combined, figures_of
from behaviour.numbers.loads import weight_torque
from behaviour.numbers.motion import motion_of, move_window, passing_window, steps_per_turn
from behaviour.numbers.ramp import COUNTS, LEAD, steps_to_speed
from behaviour.numbers.results import (
    HEAVY,
    KINEMATICS,
    MOVED,
    Given,
    Lacking,
    Result,
    assumed,
    from_file,
    result,
    taken,
    worked_out,
)
from behaviour.numbers.stopping import (
    Stop,
    Stopping,
    angular_speed,
    holding_energy,
    stop,
    turning_energy,
)


def windows(
    drive: Drive,
    words: str,
    made: Result | Lacking,
    d: Given | Missing,
    v: Given | Missing,
    a: Given | Missing,
) -> list[Result | Lacking]:
    """Give the shortest and longest time of a move, and of going through while driven."""
    steps = combined(lambda given: given.value, d)
    moved = combined(lambda each: move_window(drive, each), steps)
    passed = combined(lambda each: passing_window(drive, each), steps)
    share = from_file(figures_of(drive), "tolerance", "%", "p", "tolerance")
    time = taken(made, "t")
    counts = assumed("f", float(COUNTS), "1/s", "counts of the timer a second", "microseconds")
    lead = assumed("q", 2 * LEAD, "", "what two ramps are early", "its stated error")
    gains = combined(
        lambda motion, each: each >= steps_to_speed(motion.speed, motion.ramp),
        motion_of(drive),
        steps,
    )
    slowest = "d / v + v / (2 * a)" if gains is True else "sqrt(2 * d / a)"
    least, most = "max(1 - p / 100, 0)", "(1 + p / 100)"
    early = f"max(t - q * sqrt(2 / a) - d / (2 * f), 0) * {least}"
    late = f"(t + d / (2 * f)) * {most}"
    going = f"time of going through {words} while driven"
    moving = f"time of a move of {words} as the generator makes it"
    return [
        _end(f"shortest {moving}", moved, 0, early, [time, a, d, counts, lead, share]),
        _end(f"longest {moving}", moved, 1, late, [time, d, counts, share]),
        _end(f"shortest {going}", passed, 0, f"d / v * {least}", [d, v, share]),
        _end(f"longest {going}", passed, 1, f"({slowest}) * {most}", [d, v, a, share]),
    ]


def _end(
    says: str,
    window: tuple[int, int] | Missing,
    end: int,
    formula: str,
    given: list[Given | Missing],
) -> Result | Lacking:
    value = combined(lambda each: each[end] / 1e6, window)
    return result(says, value, "s", formula, given, f"{KINEMATICS}; whole microseconds outwards")


# --- Coming to rest -----------------------------------------------------------------------------


def stop_result(drive: Drive, rate: Result | Lacking, ramp: Result | Lacking) -> Result | Lacking:
    """Give how long a drive goes on once it is set to rest."""
    figures, stopped = figures_of(drive), stop(drive)
    share = from_file(figures, "tolerance", "%", "p", "tolerance")
    formula, given = _how_it_stops(drive, stopped, taken(rate, "v"), taken(ramp, "a"))
    words = combined(
        lambda each, turn: (
            f"it {each.how.value}: up to {each.steps:.0f} steps, "
            f"{each.steps / float(turn) * 360:.3g} degrees"
        ),
        stopped,
        steps_per_turn(drive),
    )
    return result(
        f"longest time that {drive.output} goes on once it is set to rest",
        combined(lambda each: each.time, stopped),
        "s",
        f"{formula} * (1 + p / 100)",
        [*given, share],
        "kinematics and energy balance",
        advice="" if isinstance(words, Missing) else words,
    )


def _how_it_stops(
    drive: Drive, stopped: Stop | Missing, v: Given | Missing, a: Given | Missing
) -> tuple[str, list[Given | Missing]]:
    figures = figures_of(drive)
    if isinstance(stopped, Missing):
        return "t", []
    energy = combined(
        lambda joules: worked_out(
            "E", joules, "J", "energy of what turns", figures, *HEAVY, *MOVED
        ),
        turning_energy(drive),
    )
    match stopped.how:
        case Stopping.RAMP:
            return "v / a", [v, a]
        case Stopping.HELD:
            holds = combined(
                lambda joules: assumed("H", joules, "J", "what the motor holds", "worked out"),
                holding_energy(drive),
            )
            return "1 / v", [v, energy, holds]
        case Stopping.RUNS_ON:
            w = combined(
                lambda each: worked_out("w", each, "rad/s", "speed of the output", figures, *MOVED),
                angular_speed(drive),
            )
            friction = from_file(figures, "load.friction", "N m", "F", "friction at the output")
            weight = assumed("W", weight_torque(drive), "N m", "a weight's pull", "0 if none hangs")
            return "2 * E / (w * (F - W))", [energy, w, friction, weight]
