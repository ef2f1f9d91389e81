"""A prop that has but one way to go while nobody does anything: does it come round?

It knows no mechanism and no random time. Loops in which nothing but clocks move are passed over
(`lulls.py`). A loop in which something happens is always played, so a round is seen where one of
those comes again; how much earlier it began is then looked for between them.
"""

from bisect import bisect_left, bisect_right
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

    Gives that loop and the first one in which it is so again, counted from the beginning. `sees` is
    told each loop that is played, and ends it by answering no. None if it takes more `plays`.
    """
    lulls, now, loop = Lulls(model), begin, 0
    played = [(0, begin)]
    known = {canonical(begin): 0}
    for _ in range(plays):
        before, now = now, step(model, now, raw, {})
        loop += 1
        if loop > MOST_LOOPS or not sees(loop, now):
            return None
        played.append((loop, now))
        here = canonical(now)
        if here in known:
            back = _earliest(lulls, canonical, played, known[here], loop - known[here])
            return back, back + loop - known[here]
        known[here] = loop
        left = lulls.left(before, now)
        if left < MOST_LOOPS:  # else all clocks have passed what they are compared with
            now = lulls.later(now, left)
            loop += left
    return None


def _earliest(
    lulls: Lulls,
    canonical: Canonical,
    played: list[tuple[int, PropState]],
    known: int,
    length: int,
) -> int:
    """Find the first loop that is the same `length` loops later; once one is, all later ones are.

    Of the loops that were `played`, those between them are lulls.
    """
    loops = [loop for loop, _ in played]

    def at(loop: int) -> PropState:
        number = bisect_right(loops, loop) - 1
        first, state = played[number]
        return canonical(lulls.later(state, loop - first))

    return bisect_left(range(known), True, key=lambda loop: at(loop) == at(loop + length))  # noqa: FBT003
