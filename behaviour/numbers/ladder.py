"""The limits of a drive found on the bench rung by rung, and what follows from a filled-in sheet.

Speed first, at half the ramp; then the ramp, at the file's speed. It knows no file format.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import floor, log10
from typing import Literal

from behaviour.model import Drive
from behaviour.numbers.figures import Missing, combined
from behaviour.numbers.motion import Motion, motion_of
from behaviour.numbers.torque import STALL_SHARE

SPEEDS = (0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0)
RAMPS = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0)
GENTLE = 0.5
"""The share of the file's ramp at which speeds are tried."""

Tries = Literal["speed", "ramp"]

LOOK_FOR = (
    "at each rung let it go through ten moves of a station or a turn, the load as it will be",
    "ok: it arrives where it should each time, and sounds even",
    "rough: it hums, knocks or shakes, or arrives with a jerk: a resonance, or near a limit",
    "stalled: it stands and buzzes, or arrives short; switch off at once, and stop that part there",
    "stop also where the motor is too hot to hold, or a belt or a cable moves that should not",
)


class Outcome(Enum):
    OK = "ok"
    ROUGH = "rough"
    STALLED = "stalled"


@dataclass(frozen=True, slots=True)
class Rung:
    """One trial: the speed of the output in rpm, and its ramp in rpm/s."""

    number: int
    tries: Tries
    speed: float
    ramp: float


@dataclass(frozen=True, slots=True)
class Climbed:
    """A rung with what was seen there; `outcome` is None where it was not tried."""

    rung: Rung
    outcome: Outcome | None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """What a part of the ladder found: the first rung that stalled, the last that was ok before.

    `setting` is what to run at, with the margin of common practice.
    """

    tries: Tries
    unit: str
    stalled: float | None
    ran: float | None
    setting: float | None
    words: str


def ladder(drive: Drive) -> tuple[Rung, ...] | Missing:
    """Give the rungs of a drive, whose speed and ramp must be known roughly."""
    return combined(lambda motion: _rungs(*_in_turns(motion)), motion_of(drive))


def _in_turns(motion: Motion) -> tuple[float, float]:
    per_minute = 60 / float(motion.steps_per_turn)
    return motion.speed * per_minute, motion.ramp * per_minute


def _rungs(speed: float, ramp: float) -> tuple[Rung, ...]:
    speeds = [("speed", speed * share, ramp * GENTLE) for share in SPEEDS]
    ramps = [("ramp", speed, ramp * share) for share in RAMPS]
    return tuple(
        Rung(number, "speed" if tries == "speed" else "ramp", rounded(at), rounded(gained))
        for number, (tries, at, gained) in enumerate([*speeds, *ramps], 1)
    )


def limits(climbed: Sequence[Climbed]) -> tuple[Limit, ...]:
    """Work out what a filled-in ladder says of speed and of ramp."""
    return (
        _limit("speed", "rpm", [each for each in climbed if each.rung.tries == "speed"]),
        _limit("ramp", "rpm/s", [each for each in climbed if each.rung.tries == "ramp"]),
    )


def _limit(tries: Tries, unit: str, climbed: Sequence[Climbed]) -> Limit:
    stalls = [_value(each) for each in climbed if each.outcome is Outcome.STALLED]
    stalled = min(stalls, default=None)
    below = [each for each in climbed if stalled is None or _value(each) < stalled]
    ran = max((_value(each) for each in below if each.outcome is Outcome.OK), default=None)
    if ran is None:
        return Limit(tries, unit, stalled, ran, None, "no rung was ok: nothing follows from it")
    share = STALL_SHARE
    most = share * (stalled if stalled is not None else ran)
    setting = rounded_down(min(ran, most))
    rough = [_value(each) for each in below if each.outcome is Outcome.ROUGH]
    words = (
        f"stalled at {stalled:g} {unit}; {setting:g} {unit} is no more than two thirds of it"
        if stalled is not None
        else f"not seen to stall up to {ran:g} {unit}, which is as much as is known; "
        f"{setting:g} {unit} is two thirds of it"
    )
    if rough:
        words += f"; keep away from {', '.join(f'{each:g}' for each in rough)} {unit}: rough there"
    if stalled is not None and any(
        each.outcome is Outcome.OK and _value(each) > stalled for each in climbed
    ):
        words += "; it ran at more than that: a resonance, or a mistake in the sheet"
    return Limit(tries, unit, stalled, ran, setting, words)


def _value(climbed: Climbed) -> float:
    rung = climbed.rung
    return rung.speed if rung.tries == "speed" else rung.ramp


def rounded(value: float) -> float:
    """Round to three digits that count."""
    return float(f"{value:.3g}")


def rounded_down(value: float) -> float:
    """Round down to two digits that count, so that a margin only grows."""
    if value <= 0:
        return 0.0
    finest: float = 10.0 ** (floor(log10(value)) - 1)
    return rounded(floor(value / finest + 1e-9) * finest)


def lines_for_the_file(found: Sequence[Limit], day: str) -> tuple[str, ...]:
    """Write what was found as lines of the drive."""
    origin = f"known: measured, on: {day}" if day else "known: measured"
    lines = [
        f"{limit.tries}: {{value: {limit.setting:g} {limit.unit}, {origin}}}"
        for limit in found
        if limit.setting is not None
    ]
    lines += [
        f"stalled: {{value: {limit.stalled:g} {limit.unit}, {origin}}}"
        for limit in found
        if limit.tries == "speed" and limit.stalled is not None
    ]
    return tuple(lines)
