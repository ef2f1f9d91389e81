"""One run judged by one rule, as the page on what rules speak of has it; it knows no search.

Strategy: the run is replayed with `step`, and its inputs are read once more through a healthy
filter that presumes nothing. What a loop leaves, and for `whenever` what it finds, is then judged
condition by condition.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from behaviour.check.lasting import lasting, shift_of_event
from behaviour.model import (
    Always,
    AtMost,
    Condition,
    Model,
    Never,
    Requirement,
    Time,
    Unknown,
    WayBack,
    Whenever,
)
from behaviour.semantics import InputState, Look, NotKnownError, first_reading, next_reading
from behaviour.story import LoopView


@dataclass(frozen=True, slots=True)
class Breach:
    """How a rule is broken in a loop; all in loops.

    `lasted` is how long it has gone on, of which `sensing` was needed to know of it, and `allowed`
    how long it may. `too_slow` is a time that was over before it could be known.
    """

    lasted: int = 1
    sensing: int = 0
    allowed: int = 0
    too_slow: bool = False


Breaches = dict[int, Breach]
"""Each loop of a run in which a rule is broken, or has been since and still is."""


def breaches(model: Model, requirement: Requirement, views: Sequence[LoopView]) -> Breaches:
    """Judge a run by a requirement. A `way back` is never broken by one run alone.

    Raises NotKnownError where the file leaves open what is needed.
    """
    sights = Sights(model, views)
    match requirement:
        case Never(condition=condition, limit=None):
            return dict.fromkeys(_loops_with(sights, condition, wanted=True), Breach())
        case Always(condition=condition):
            return dict.fromkeys(_loops_with(sights, condition, wanted=False), Breach())
        case AtMost(condition=condition, limit=limit):
            return dict(_at_most(sights, condition, loops_of(model, limit)))
        case Never(condition=condition, limit=limit):
            allowed = 0 if limit is None else loops_of(model, limit)
            return dict(_never_for(sights, condition, allowed))
        case Whenever():
            return dict(_whenever(sights, requirement))
        case WayBack():
            return {}


def loops_of(model: Model, time: Time) -> int:
    """Count a time in loops, rounded up. Raises NotKnownError where the file leaves it open."""
    if isinstance(time, Unknown):
        raise NotKnownError(time)
    return model.loops_up(time)


class Sights:
    """What a rule sees of each loop of a run: as the loop leaves things, and as it finds them."""

    def __init__(self, model: Model, views: Sequence[LoopView]) -> None:
        self.model, self.views = model, views
        self.inputs = tuple(_really_there(model, views))
        self.left = [self._look(loop, loop, loop - 1) for loop in range(len(views))]

    def found(self) -> list[Look]:
        """Give each loop's inputs with all else as it found it; loop 0 finds what it leaves."""
        return [self._look(loop, loop - 1, loop - 2) for loop in range(len(self.views))]

    def _look(self, loop: int, at: int, before: int) -> Look:
        view, earlier = self.views[max(at, 0)], self.views[max(before, 0)]
        return Look(
            self.model,
            self.inputs[loop],
            view.state.counters,
            tuple(region.leaf for region in view.state.regions),
            view.state.outputs,
            earlier.state.outputs,
            view.stimulus.mechanism,
        )


def _really_there(model: Model, views: Sequence[LoopView]) -> Iterator[tuple[InputState, ...]]:
    now: tuple[InputState, ...] = ()
    for view in views:
        if view.loop == 0:
            now = tuple(
                first_reading(model, item, raw, presume=False)
                for item, raw in zip(model.inputs, view.stimulus.raw, strict=True)
            )
        else:
            now = tuple(
                next_reading(model, item, last, raw, 1)
                for item, last, raw in zip(model.inputs, now, view.stimulus.raw, strict=True)
            )
        yield now


# --- Each kind of rule --------------------------------------------------------------------------


def _loops_with(sights: Sights, condition: Condition, *, wanted: bool) -> Iterator[int]:
    return (loop for loop, look in enumerate(sights.left) if look.holds(condition) is wanted)


def _at_most(sights: Sights, condition: Condition, allowed: int) -> Iterator[tuple[int, Breach]]:
    lasted = 0
    for loop, look in enumerate(sights.left):
        lasted = lasted + 1 if look.holds(condition) else 0
        if lasted > allowed:
            yield loop, Breach(lasted, 0, allowed)


def _never_for(sights: Sights, condition: Condition, allowed: int) -> Iterator[tuple[int, Breach]]:
    """Break where it lasts too long, or had done so before the inputs in it could count."""
    held = False
    for loop, now in enumerate(lasting(sights.model, condition, sights.left)):
        if not held and now.before > allowed:
            yield loop, Breach(now.before, now.before, allowed, too_slow=True)
        elif now.since is not None and now.really is not None and loop - now.since >= allowed:
            yield loop, Breach(loop - now.since + 1, now.really - now.since, allowed)
        held = now.holds


def _whenever(sights: Sights, rule: Whenever) -> Iterator[tuple[int, Breach]]:
    """Break where no answer comes in time from the earliest loop that still waits for one."""
    model, allowed = sights.model, loops_of(sights.model, rule.limit)
    found = sights.found()
    waits: int | None = None
    known = 0
    held = False
    for loop, now in enumerate(lasting(model, rule.trigger, found)):
        too_slow = False
        if now.since is not None:
            shift = shift_of_event(model, rule.trigger, found[loop])
            asked = min(loop - shift, loop if held else now.since)
            if waits is None or asked < waits:
                waits, known = asked, loop
                too_slow = loop - waits > allowed
        if waits is not None and too_slow:
            yield loop, Breach(loop - waits, known - waits, allowed, too_slow=True)
        if sights.left[loop].holds(rule.response):
            waits = None
        elif waits is not None and loop - waits >= allowed and not too_slow:
            yield loop, Breach(loop - waits + 1, known - waits, allowed)
        held = now.holds
