"""Something that has but one way to go while nobody does anything: does it come round?

It knows no model. Loops in which nothing but clocks move are passed over. A loop in which something
happens is always played, so a round is seen where one of those comes again; how much earlier it
began is then looked for between them.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Generic, TypeVar

At = TypeVar("At")

MOST_LOOPS = 1_000_000
"""No round is looked for that is longer."""


@dataclass(frozen=True, slots=True)
class Course(Generic[At]):
    """The one way to go from each state: `play` makes a loop.

    `lull` counts the loops that do nothing after one, given what it came from and what it leaves;
    `later` passes so many over. `canonical` is equal for states that behave alike from then on.
    """

    play: Callable[[At], At]
    lull: Callable[[At, At], int]
    later: Callable[[At, int], At]
    canonical: Callable[[At], Hashable]


def comes_round(
    course: Course[At], begin: At, sees: Callable[[int, At], bool], plays: int
) -> tuple[int, int] | None:
    """Go on from a state until it is as it was in an earlier loop.

    Gives that loop and the first one in which it is so again, counted from the beginning. `sees` is
    told each loop that is played, and ends it by answering no. None if it takes more `plays`.
    """
    now, loop = begin, 0
    played = [(0, begin)]
    known = {course.canonical(begin): 0}
    for _ in range(plays):
        before, now = now, course.play(now)
        loop += 1
        if loop > MOST_LOOPS or not sees(loop, now):
            return None
        played.append((loop, now))
        here = course.canonical(now)
        if here in known:
            back = _earliest(course, played, known[here], loop - known[here])
            return back, back + loop - known[here]
        known[here] = loop
        left = course.lull(before, now)
        if left < MOST_LOOPS:  # else all clocks have passed what they are compared with
            now = course.later(now, left)
            loop += left
    return None


def _earliest(course: Course[At], played: list[tuple[int, At]], known: int, length: int) -> int:
    """Find the first loop that is the same `length` loops later; once one is, all later ones are.

    Of the loops that were `played`, those between them are lulls.
    """
    loops = [loop for loop, _ in played]

    def at(loop: int) -> Hashable:
        number = bisect_right(loops, loop) - 1
        first, state = played[number]
        return course.canonical(course.later(state, loop - first))

    return bisect_left(range(known), True, key=lambda loop: at(loop) == at(loop + length))  # noqa: FBT003
