"""Stretches of loops in which a prop does nothing but count, so that nobody need play them.

It knows the model alone. A loop that did nothing is followed by such loops, as long as inputs read
the same, until a clock comes to a number that something compares it with.
"""

from collections.abc import Sequence

from behaviour.explore.dues import Dues
from behaviour.findings import Stimulus
from behaviour.model import Model
from behaviour.semantics import InputState, PropState, RegionState, power_up, step


class Lulls:
    """The lulls of one model."""

    def __init__(self, model: Model) -> None:
        self.dues = Dues(model)

    def left(self, before: PropState, now: PropState) -> int:
        """Count the loops after `now` that do nothing if inputs read as they do in it.

        None, unless that loop too did nothing since `before`.
        """
        is_same = (before.outputs, before.done) == (now.outputs, now.done)
        return self.dues.until_due(now) - 1 if is_same and is_quiet(now) else 0

    def later(self, now: PropState, loops: int) -> PropState:
        """Give the prop after so many loops of a lull."""
        if not loops:
            return now
        inputs = tuple(
            [
                InputState(steady, raw, run + loops, since + loops, became)
                for steady, raw, run, since, became in now.inputs
            ]
        )
        regions = tuple(
            [
                RegionState(leaf, cue, tuple([timer + loops for timer in timers]), draws, fired)
                for leaf, cue, timers, draws, fired in now.regions
            ]
        )
        return PropState(inputs, now.counters, regions, now.outputs, now.beyond, now.done)


def played(model: Model, stimuli: Sequence[Stimulus]) -> PropState:
    """Give the prop at the end of a run with nothing wrong, without playing its lulls."""
    lulls, loop = Lulls(model), 1
    now = power_up(model, stimuli[0].raw, dict(stimuli[0].draws))
    while loop < len(stimuli):
        given = stimuli[loop]
        before, now = now, step(model, now, given.raw, dict(given.draws))
        loop += 1
        left = 0 if given.draws else lulls.left(before, now)
        passed = alike(stimuli, loop, loop + left)
        now = lulls.later(now, passed)
        loop += passed
    return now


def alike(items: Sequence[object], begin: int, end: int) -> int:
    """Count the items from `begin` on, up to `end` or the last, that are as the one before them."""
    given, at, end = items[begin - 1], begin, min(end, len(items))
    while at < end:
        part = items[at : min(at + AT_ONCE, end)]
        if part.count(given) < len(part):
            several = enumerate(part)
            return at - begin + next(n for n, x in several if x is not given and x != given)
        at += len(part)
    return max(end - begin, 0)


AT_ONCE = 512
"""So many items are compared at once."""


def is_quiet(prop: PropState) -> bool:
    """Tell whether a loop did nothing: no region moved on, and no input became anything."""
    return all(region.fired is None for region in prop.regions) and not any(
        item.became for item in prop.inputs
    )
