"""One run judged by one rule, as the page on what rules speak of has it; it knows no search.

Strategy: the run is replayed with `step`, and its inputs are read once more through a healthy
filter that presumes nothing. What a loop leaves, and for `whenever` what it finds, is then judged
condition by condition.
"""

from collections.abc import Iterable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise

from behaviour.check.lasting import holding, lasting, shift_of_event
from behaviour.explore.guards import atoms
from behaviour.explore.runs import is_settled
from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Condition,
    Count,
    First,
    HeldFor,
    Model,
    Never,
    Rate,
    Requirement,
    Rule,
    Scope,
    ScopeKind,
    WayBack,
    Whenever,
    conditions,
)
from behaviour.semantics import (
    InputState,
    Look,
    first_reading,
    loops_of,
    next_reading,
)
from behaviour.story import LoopView, Views


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


def breaches(
    model: Model, requirement: Requirement, views: Sequence[LoopView], scope: Scope | None = None
) -> Breaches:
    """Judge a run by a requirement, in its scope if it has one.

    What must come some day, and a `way back`, is never broken by what was seen so far. Raises
    NotKnownError where the file leaves open what is needed.
    """
    sights = Sights(model, views, counts=_asks_for_times(requirement, scope))
    found: Breaches = {}
    for first, whole in _begun_anew(sights, requirement):
        for begins, ends in stretches(whole, scope):
            breached = _judged(whole.part(begins, ends), requirement)
            found.update((first + begins + loop, breach) for loop, breach in breached)
    return found


def until_broken(model: Model, rule: Rule, run: Run, views: Sequence[LoopView]) -> Run | None:
    """Give a run up to the loop in which it breaks a rule, if it does; how is kept (`broken_at`).

    Raises NotKnownError where the file leaves open what is needed.
    """
    broken = breaches(model, rule.requirement, views, rule.scope)
    if not broken:
        return None
    found = run.until(min(broken))
    kept = _kept(model)
    if len(kept) >= MOST_KEPT:
        del kept[next(iter(kept))]
    kept[id(found.stimuli), rule.name] = (found.stimuli, broken[min(broken)])
    return found


def broken_at(model: Model, rule: Rule, run: Run, views: Sequence[LoopView]) -> Breach | None:
    """Tell how a run breaks a rule in its last loop, if it does: no loop hangs on a later one."""
    known = _kept(model).get((id(run.stimuli), rule.name))
    if known is not None and known[0] is run.stimuli:
        return known[1]
    return breaches(model, rule.requirement, views, rule.scope).get(views[-1].loop)


def _kept(model: Model) -> dict[tuple[int, str], tuple[Sequence[Stimulus], Breach]]:
    kept: dict[tuple[int, str], tuple[Sequence[Stimulus], Breach]]
    kept = model.worked_out.setdefault(("broken",), {})
    return kept


MOST_KEPT = 100
"""Of so many runs that broke a rule it is kept how they did."""


GOES_ON = (Never, Always, AtMost)
"""The requirements that go on where the controller starts again; the others begin anew."""


def _begun_anew(sights: "Sights", requirement: Requirement) -> Iterator[tuple[int, "Sights"]]:
    """Cut a run where its controller starts again, with the loop that each part begins in."""
    starts = [view.loop for view in sights.views if view.stimulus.beat is Beat.STARTS]
    if isinstance(requirement, GOES_ON):
        starts = []
    ends = [*starts, len(sights.left)]
    for begins, end in zip([0, *starts], ends, strict=True):
        yield begins, sights.part(begins, end)


def stretches(sights: "Sights", scope: Scope | None) -> Iterator[tuple[int, int]]:
    """List the stretches of a scope: the loop that each begins in, and the one after its last."""
    whole = len(sights.left)
    if scope is None:
        yield 0, whole
        return
    holds = holding(sights.left, scope.condition)
    match scope.kind:
        case ScopeKind.ONCE_BEGUN:
            if True in holds:
                yield holds.index(True), whole
        case ScopeKind.UP_TO:
            ends = holds.index(True) if True in holds else whole
            if ends:
                yield 0, ends
        case ScopeKind.ONLY_WHILE:
            begins = 0
            for inside, loops in groupby(holds):
                ends = begins + len(list(loops))
                if inside:
                    yield begins, ends
                begins = ends


def _judged(sights: "Sights", requirement: Requirement) -> Iterable[tuple[int, Breach]]:
    model = sights.model
    match requirement:
        case Never(condition=condition, limit=None):
            return dict.fromkeys(_loops_with(sights, condition, wanted=True), Breach()).items()
        case Always(condition=condition):
            return dict.fromkeys(_loops_with(sights, condition, wanted=False), Breach()).items()
        case AtMost(condition=condition, limit=limit):
            return _at_most(sights, condition, loops_of(model, limit))
        case AtLeast(condition=condition, limit=limit):
            return _at_least(sights, condition, loops_of(model, limit))
        case Never(condition=condition, limit=limit):
            return _never_for(sights, condition, 0 if limit is None else loops_of(model, limit))
        case Whenever(limit=limit) if limit is not None:
            return _whenever(sights, requirement, loops_of(model, limit))
        case First():
            return _first(sights, requirement)
        case Count():
            return _count(sights, requirement)
        case Rate(condition=condition, most=most, limit=limit):
            return _rate(sights, condition, most, loops_of(model, limit))
        case Whenever() | WayBack():
            return ()


def pending(
    model: Model, requirement: Whenever, views: Sequence[LoopView], scope: Scope | None = None
) -> list[bool]:
    """Tell for each loop of a run whether it leaves something unanswered."""
    sights = Sights(model, views)
    found = [False] * len(views)
    for first, whole in _begun_anew(sights, requirement):
        for begins, ends in stretches(whole, scope):
            part = whole.part(begins, ends)
            waits = False
            for loop, (asked, left) in enumerate(zip(part.found(), part.left, strict=True)):
                waits = (waits or asked.holds(requirement.trigger)) and not left.holds(
                    requirement.response
                )
                found[first + begins + loop] = waits
    return found


def _asks_for_times(requirement: Requirement, scope: Scope | None) -> bool:
    asked = (*conditions(requirement), None if scope is None else scope.condition)
    return any(isinstance(atom, HeldFor) for each in asked for atom in atoms(each))


class Sights:
    """What a rule sees of each loop of a run: as the loop leaves things, and as it finds them.

    Loops that look alike are one look. Where nobody `counts` for how long an input has been as it
    is, those look alike in which nothing changes. What regions count in them is not looked at.
    """

    def __init__(self, model: Model, views: Sequence[LoopView], *, counts: bool = True) -> None:
        self.model = model
        self.views = tuple(views.still() if isinstance(views, Views) else views)
        self.inputs = tuple(_really_there(model, self.views, counts=counts))
        self.loops = range(len(views))

    @cached_property
    def left(self) -> list[Look]:
        """Give what each loop leaves."""
        return self._looks([(loop, loop) for loop in self.loops])

    def found(self) -> list[Look]:
        """Give each loop's inputs with all else as it found it; power-up finds what it leaves."""
        return self._looks(
            [
                (loop, loop if self.views[loop].stimulus.beat is Beat.STARTS else loop - 1)
                for loop in self.loops
            ]
        )

    def part(self, begins: int, ends: int) -> "Sights":
        """Give some loops of the run alone, each as it is seen in the whole."""
        found = copy(self)
        left = self.left
        found.left, found.loops = left[begins:ends], self.loops[begins:ends]
        return found

    def _looks(self, pairs: Iterable[tuple[int, int]]) -> list[Look]:
        """Give how loops are seen, all but their inputs as another loop has left it."""
        found: list[Look] = []
        last: Look | None = None
        shown: object = None
        for loop, at in pairs:
            view, real_before = self.views[max(at, 0)], self.views[max(at - 1, 0)].real
            seen = (id(view.state), id(view.stimulus), id(self.views[loop].state))
            if last is None or self.inputs[loop] is not last.inputs or (seen, real_before) != shown:
                shown = (seen, real_before)
                look = self._look(loop, at, at - 1)
                if last is None or not _is_like(look, last):
                    last = look
            found.append(last)
        return found

    def _look(self, loop: int, at: int, before: int) -> Look:
        view, earlier = self.views[max(at, 0)], self.views[max(before, 0)]
        return Look(
            self.model,
            self.inputs[loop],
            view.state.counters,
            tuple([region.leaf for region in view.state.regions]),
            view.real,
            earlier.real,
            view.stimulus.mechanism,
            self.views[loop].state.done,
        )


def _is_like(look: Look, other: Look) -> bool:
    return look.inputs is other.inputs and look[2:] == other[2:]


def _really_there(
    model: Model, views: Sequence[LoopView], *, counts: bool
) -> Iterator[tuple[InputState, ...]]:
    now: tuple[InputState, ...] = ()
    last: tuple[str, ...] = ()
    is_still = False
    for view in views:
        true = view.true
        if view.loop == 0:
            now = tuple(
                [
                    first_reading(model, item, raw, presume=False)
                    for item, raw in zip(model.inputs, true, strict=True)
                ]
            )
        elif counts or not is_still or true != last:
            now = tuple(
                [
                    next_reading(model, item, was, raw, 1)
                    for item, was, raw in zip(model.inputs, now, true, strict=True)
                ]
            )
            is_still = is_settled(now)
        last = true
        yield now


# --- Each kind of rule --------------------------------------------------------------------------


def _loops_with(sights: Sights, condition: Condition, *, wanted: bool) -> Iterator[int]:
    holds = holding(sights.left, condition)
    return (loop for loop, is_so in enumerate(holds) if is_so is wanted)


def _at_most(sights: Sights, condition: Condition, allowed: int) -> Iterator[tuple[int, Breach]]:
    lasted = 0
    for loop, is_so in enumerate(holding(sights.left, condition)):
        lasted = lasted + 1 if is_so else 0
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


def _at_least(sights: Sights, condition: Condition, least: int) -> Iterator[tuple[int, Breach]]:
    """Break in the loop in which a stretch is over too soon."""
    lasted = 0
    for loop, is_so in enumerate(holding(sights.left, condition)):
        if is_so:
            lasted += 1
        else:
            if 0 < lasted < least:
                yield loop, Breach(lasted, 0, least)
            lasted = 0


def _first(sights: Sights, rule: First) -> Iterator[tuple[int, Breach]]:
    """Break where what must come second holds, and what must come first has not since it must."""
    waits, was_since = rule.since is None, False
    for loop, look in enumerate(sights.left):
        since = rule.since is not None and look.holds(rule.since)
        waits = (waits or (since and not was_since)) and not look.holds(rule.condition)
        was_since = since
        if waits and look.holds(rule.before):
            yield loop, Breach()


def _beginnings(sights: Sights, condition: Condition) -> list[int]:
    holds = [False, *holding(sights.left, condition)]
    return [loop for loop, (was, now) in enumerate(pairwise(holds)) if now and not was]


def _count(sights: Sights, rule: Count) -> Iterator[tuple[int, Breach]]:
    """Break where it begins once too often since counting last began anew."""
    anew = [0, *([] if rule.since is None else _beginnings(sights, rule.since))]
    begun = _beginnings(sights, rule.condition)
    for loop in begun:
        last = max(each for each in anew if each <= loop)
        times = sum(last <= each <= loop for each in begun)
        if times > rule.most:
            yield loop, Breach(times, 0, rule.most)


def _rate(
    sights: Sights, condition: Condition, most: int, apart: int
) -> Iterator[tuple[int, Breach]]:
    """Break where it begins, and the last `most` beginnings before are too near to it."""
    begun = _beginnings(sights, condition)
    for at, loop in enumerate(begun):
        if at >= most and loop - begun[at - most] < apart:
            yield loop, Breach(loop - begun[at - most], 0, apart)


def _whenever(sights: Sights, rule: Whenever, allowed: int) -> Iterator[tuple[int, Breach]]:
    """Break where no answer comes in time from the earliest loop that still waits for one."""
    model = sights.model
    found = sights.found()
    answered = holding(sights.left, rule.response)
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
        if answered[loop]:
            waits = None
        elif waits is not None and loop - waits >= allowed and not too_slow:
            yield loop, Breach(loop - waits + 1, known - waits, allowed)
        held = now.holds
