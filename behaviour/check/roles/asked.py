"""starts-unasked: what starts without a fresh press.

A press is a `start` or `hold_to_run` that becomes anything but its first value. It lasts until it
is used up: by a loop in which a stop or reset is active or a guard not safe (as the controller is
told), or in which an interlock of its region brings the hazard to rest. A press in the loop in
which the hazard leaves rest counts, unless that very loop uses it up. Asked only where the file
has a `start` or `hold_to_run`.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.check.roles.seeing import (
    active,
    counts,
    is_stopped_by_interlock,
    leaves_rest,
    pressed,
)
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit
from behaviour.explore.situations import Moment, Next, going
from behaviour.model import Condition, Input, Or, Output

UNASKED, ASKED = 0, 1


@dataclass(frozen=True, slots=True)
class Asked:
    """Breaks when a hazard leaves rest and no press lasts; `ended` is what uses one up."""

    output: Output
    at: int
    owner: str
    pressed: Condition
    ended: Condition

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        del number
        return (going(BREACH if leaves_rest(moment, self.at, self.output) else UNASKED),)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        if place == BREACH:
            return (going(BREACH),)
        asked = place == ASKED or bool(moment.left.judge(self.pressed))
        asked = asked and not counts(moment, self.ended)
        if not asked and leaves_rest(moment, self.at, self.output):
            return (going(BREACH),)
        stopped = is_stopped_by_interlock(moment, self.at, self.output, self.owner)
        return (going(ASKED if asked and not stopped else UNASKED),)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


def asked(
    output: Output, at: int, owner: str, starts: Iterable[Input], ends: Iterable[Input]
) -> Asked:
    """Watch a hazard with its number and region, the inputs that start and those that end."""
    return Asked(output, at, owner, Or(tuple(map(pressed, starts))), Or(tuple(map(active, ends))))
