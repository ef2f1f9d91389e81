"""The step generator: the intervals between steps as speed is gained and lost.

After D. Austin, Generate stepper-motor speed profiles in real time (2005): exactly, the n-th
interval is c0 (sqrt(n+1) - sqrt(n)); each is worked out from the one before as
c - 2 c / (4 n + 1), and a shorter first interval makes up for what that misses. Intervals are
whole numbers of counts; inside, they have eight bits more. Emitted C does the same, step by step.
It knows no drive: speeds are in steps a second, ramps in steps a second each second.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

COUNTS = 1_000_000
"""Counts a second of the timer that the intervals are for: microseconds."""

PART = 256
"""The finest part of a count that is kept inside."""

FIRST_SHARE = 0.676
"""What of the exact first interval is taken, so that all later ones come out right (eq. 15)."""

LEAD = 0.37
"""How much earlier a ramp ends than worked out exactly, at most, in exact first intervals."""

LONGEST = (1 << 31) - (1 << 16)
"""The longest interval, in 1/256 counts, that the firmware can reckon with in 32 bits."""


@dataclass(frozen=True, slots=True)
class StepPlan:
    """The first and the shortest interval, in 1/256 counts: all that the generator must know."""

    first: int
    shortest: int


def plan(speed: float, ramp: float) -> StepPlan:
    """Give the plan of a generator with its timer at `COUNTS`."""
    return StepPlan(
        first=round(FIRST_SHARE * first_interval(ramp, COUNTS) * PART),
        shortest=round(interval_at(speed, COUNTS)) * PART,
    )


def intervals(made: StepPlan, steps: int) -> Iterator[int]:
    """Give the intervals, in counts, of a move of `steps` from rest to rest.

    `level` is how many steps it takes to come to rest. A step before which more steps than that
    are left gains speed, one with as many keeps it, one with fewer loses it.
    """
    level, interval = 0, max(made.first, made.shortest)
    for left in range(steps, 0, -1):
        if left > level and (level == 0 or interval > made.shortest):
            interval = next_interval(interval, level) if level else interval
            level += 1
        elif left < level:
            interval = next_interval(interval, -level + 1)
            level -= 1
        yield (max(interval, made.shortest) + PART // 2) // PART


def next_interval(interval: int, place: int) -> int:
    """Give the interval at a place of the ramp from the one before (eq. 13), rounded.

    Places count from 0 at rest; to lose speed they are negative, and count up (`losing_place`).
    """
    by = 4 * place + 1
    if by > 0:
        return interval - (2 * interval + by // 2) // by
    return interval + (2 * interval + -by // 2) // -by


# --- The same, exactly --------------------------------------------------------------------------


def interval_at(speed: float, counts: float) -> float:
    """Give the counts between two steps at a speed (eq. 1)."""
    return counts / speed


def speed_at(interval: float, counts: float) -> float:
    """Give the speed of an interval (eq. 2)."""
    return counts / interval


def first_interval(ramp: float, counts: float) -> float:
    """Give the first interval from rest, exactly (eq. 7)."""
    return counts * sqrt(2 / ramp)


def exact_interval(place: int, ramp: float, counts: float) -> float:
    """Give the interval at a place of the ramp, exactly (eq. 8)."""
    return first_interval(ramp, counts) * (sqrt(place + 1) - sqrt(place))


def followed(interval: float, place: float) -> float:
    """Give the interval at a place from the one before, not rounded (eq. 13)."""
    return interval - 2 * interval / (4 * place + 1)


def ramp_between(before: float, after: float, counts: float) -> float:
    """Give the ramp that two intervals, one after the other, stand for (eq. 3)."""
    return 2 * counts * counts * (before - after) / (before * after * (before + after))


def steps_to_speed(speed: float, ramp: float) -> float:
    """Give the steps that it takes to gain a speed from rest, or to lose it (eq. 16)."""
    return speed * speed / (2 * ramp)


def gaining_steps(steps: float, gaining: float, losing: float) -> float:
    """Give the steps in which a move that never gets to full speed gains it (eq. 19)."""
    return steps * losing / (gaining + losing)


def other_place(place: float, ramp: float, other: float) -> float:
    """Give the place at which the same speed stands on a ramp of another slope (eq. 17).

    A slope below 0 is one on which speed is lost.
    """
    return ramp * (place + 0.5) / other - 0.5
