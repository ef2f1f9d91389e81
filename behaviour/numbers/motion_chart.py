"""Speed and position over a move, as curves."""

from behaviour.model import Drive
from behaviour.numbers.motion import Motion, Move, move
from behaviour.numbers.results import Chart, Curve

POINTS = 40


def move_chart(drive: Drive, motion: Motion, steps: float, words: str) -> Chart:
    """Draw speed and position over a move."""
    made = move(motion, steps)
    per_turn = float(motion.steps_per_turn)
    times = [made.time * at / POINTS for at in range(POINTS + 1)]
    times = sorted({*times, made.ramp_time, made.ramp_time + made.run_time})
    speeds = tuple((time, _speed_then(made, motion.ramp, time) / per_turn * 60) for time in times)
    places = tuple((time, _place_then(made, motion.ramp, time) / per_turn * 360) for time in times)
    return Chart(
        name=f"{drive.output} {words}".replace(" ", "-"),
        title=f"{drive.output}: a move of {words}",
        across="time in s",
        up="rpm and degrees",
        curves=(Curve("speed in rpm", speeds), Curve("position in degrees", places)),
    )


def _speed_then(made: Move, ramp: float, time: float) -> float:
    return max(min(made.peak, ramp * time, ramp * (made.time - time)), 0.0)


def _place_then(made: Move, ramp: float, time: float) -> float:
    if time <= made.ramp_time:
        return ramp * time * time / 2
    if time <= made.ramp_time + made.run_time:
        return made.ramp_steps + made.peak * (time - made.ramp_time)
    left = made.time - time
    return made.steps - ramp * left * left / 2
