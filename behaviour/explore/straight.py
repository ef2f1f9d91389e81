"""A prop that has but one way to go while nobody does anything: does it come round?

It knows no mechanism and no random time. Loops in which nothing but clocks move are passed over
(`lulls.py`); what is the same again is looked for where something has happened, and where it began.
"""

from collections.abc import Callable

from behaviour.explore.lulls import Lulls
from behaviour.model import Model
from behaviour.semantics import PropState, step

MOST_LOOPS = 1_000_000
"""No round is looked for that is longer."""

Canonical = Callable[[PropState], PropState]
"""Gives the state that behaves like another in every later loop, with the smallest clocks."""


def comes_round(
    model: Model,
    begin: PropState,
    raw: tuple[str, ...],
    canonical: Canonical,
    sees: Callable[[int, PropState], bool],
    plays: int,
) -> tuple[int, int] | None:
    """Go on from a state with the inputs held at `raw` until it is as it was in an earlier loop.

    Gives that loop and the one in which it is so again, counted from the beginning. `sees` is told
    each loop that is played, and ends it by answering no. None if it takes more `plays`.
    """
    lulls, now, loop = Lulls(model), begin, 0
    start = canonical(begin)
    known = {start: 0}
    for _ in range(plays):
        before, now = now, step(model, now, raw, {})
        loop += 1
        if loop > MOST_LOOPS or not sees(loop, now):
            return None
        here = canonical(now)
        if here in known:
            return known[here], loop
        known[here] = loop
        left = lulls.left(before, now)
        passed = _until(start, here)
        if 0 < passed <= left and canonical(lulls.later(now, passed)) == start:
            return 0, loop + passed
        now = lulls.later(now, left)
        loop += left
    return None


def _until(start: PropState, here: PropState) -> int:
    """Count the loops after which the clocks of a lull may have come to those of `start`."""
    if [now.leaf for now in start.regions] != [now.leaf for now in here.regions]:
        return 0
    return max((a - b for a, b in zip(_clocks(start), _clocks(here), strict=True)), default=0)


def _clocks(prop: PropState) -> list[int]:
    inputs = [clock for now in prop.inputs for clock in (now.run, now.since)]
    return [*inputs, *(timer for now in prop.regions for timer in now.timers)]
