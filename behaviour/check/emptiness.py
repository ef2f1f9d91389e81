"""`empty-rule`: rules that hold only because what they wait for never happens.

A rule that does hold is asked once more, for each part that it waits for, whether that ever comes
about where the rule is in force.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

from behaviour.check.asking import Asking
from behaviour.check.awaiting import Awaited, awaited_by
from behaviour.check.judging import Sights, stretches
from behaviour.check.ordering import PENDING, Pending
from behaviour.check.recalling import inside, recalling
from behaviour.check.seeking import name_of
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.walks import walked
from behaviour.check.watches import in_scope, unsettled
from behaviour.check.watching import BREACH, Simple
from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.cone import cone
from behaviour.explore.reach import reach
from behaviour.explore.search import Goal
from behaviour.explore.situations import Question, Situation, Watch
from behaviour.explore.walking.finds import Spot
from behaviour.explore.walking.strides import Snapshot
from behaviour.explore.walking.trail import Trail
from behaviour.findings import Answer, Finding, Run, Verdict
from behaviour.model import (
    Condition,
    InState,
    Is,
    Model,
    Or,
    Region,
    Rule,
)
from behaviour.semantics import Look, NotKnownError, settings
from behaviour.story import replay
from behaviour.wording import condition_words

FEW_RUNS, LONG = 2, 200
"""How many runs to likely looks are replayed before much is searched, and how many loops one of
them may have."""

LITTLE, FEW_STATES = 24, 300
"""How many states the first search looks at, which is as soon made as a run is replayed, and how
many the short one before a short walk is tried."""


class _Trails:
    """The runs of a short walk, as rules see them, replayed only as far as they are needed."""

    def __init__(self, asking: Asking) -> None:
        self._asking = asking
        self._seen: list[Sights] = []
        self._left: list[Run] | None = None
        self._few: dict[int, tuple[Trail, Sights]] = {}

    def soon_show(self, awaited: Awaited, *, at_end: bool = False) -> bool:
        """Tell whether it is seen in the runs to a few looks of the walk of a region.

        What that region hangs on must be all that is asked for. With `at_end` only runs are looked
        at that end in such a look.
        """
        model = self._asking.model
        asked = (awaited.condition, None if awaited.scope is None else awaited.scope.condition)
        names = _names(cone(model, conditions=asked).model)
        for region in model.regions:
            part = _region_part(model, region)
            if names <= _names(part):
                spots = walked(self._asking, part, may_stall=False).spots
                with suppress(NotKnownError):
                    few = _likely(part, spots, awaited.condition, at_end=at_end)
                    few.sort(key=lambda trail: id(trail) not in self._few)
                    return any(is_in(self._replayed(part, trail), awaited) for trail in few)
        return False

    def _replayed(self, part: Model, trail: Trail) -> Sights:
        key = id(trail)
        if key not in self._few:
            self._few[key] = trail, Sights(part, replay(part, trail.run()))
        return self._few[key][1]

    def __iter__(self) -> Iterator[Sights]:
        yield from self._seen
        if self._left is None:
            self._left = _trails(walked(self._asking, self._asking.model, may_stall=False).values())
        while self._left:
            run = self._left.pop(0)
            self._seen.append(Sights(self._asking.model, replay(self._asking.model, run)))
            yield self._seen[-1]


def _likely(
    part: Model, spots: Iterable[Spot], condition: Condition, *, at_end: bool
) -> list[Trail]:
    """Choose runs of a walk that may show a condition: the shortest ones to where it holds.

    Last comes a long one, on which much happens, if they need not end so.
    """
    ends = [spot.here for spot in spots if spot.here.trail.length <= LONG]
    ends.sort(key=lambda here: here.trail.length)
    good = [here for here in ends if _left_by(part, here).holds(condition)]
    return [here.trail for here in (*good[:FEW_RUNS], *(() if at_end else ends[-1:]))]


def _left_by(part: Model, here: Snapshot) -> Look:
    return here.look(part)._replace(done=here.prop.done)


def _region_part(model: Model, region: Region) -> Model:
    """Give the part of a prop that a region depends on, which is walked in any case."""
    return cone(model, regions=(region.name,)).model


def _names(part: Model) -> set[str]:
    return {*part.region_index, *part.mechanism_index}


def _trails(runs: Iterable[Run]) -> list[Run]:
    """Leave out runs that others begin with, and give the shortest first."""
    kept: list[Run] = []
    for run in sorted(set(runs), key=lambda each: len(each.stimuli), reverse=True):
        if not any(other.stimuli[: len(run.stimuli)] == run.stimuli for other in kept):
            kept.append(run)
    return kept[::-1]


def check_empty(asking: Asking, judged: Sequence[Verdict]) -> Told:
    """List the rules that hold and wait for what never happens."""
    verdict = Verdicts("empty-rule")
    findings: list[Finding] = []
    known: dict[Awaited, bool] = {}
    trails = _Trails(asking)
    holding = {each.name for each in judged if each.answer is Answer.HOLDS}
    for rule in asking.model.rules:
        if rule.name in holding:
            verdict.decide(lambda rule=rule: _is_empty(asking, rule, known, trails, findings))  # type: ignore[misc]
    return Told((verdict.verdict(),), tuple(findings))


def _is_empty(
    asking: Asking,
    rule: Rule,
    known: dict[Awaited, bool],
    trails: _Trails,
    findings: list[Finding],
) -> bool:
    for awaited in awaited_by(rule):
        if awaited not in known:
            known[awaited] = _is_soon_seen(asking, awaited, trails) or _happens(asking, awaited)
        if not known[awaited]:
            findings.append(_finding(asking.model, rule, awaited))
            return True
    return False


def _is_soon_seen(asking: Asking, awaited: Awaited, trails: _Trails) -> bool:
    """Look for it among what a short walk met, in the runs of the walk, and in a short search.

    It nearly always happens, so the prop itself is searched first, and its sketches if that does
    not end. Before all runs are replayed, the walk tries for it.
    """
    if _is_met(asking, awaited) or (awaited.scope and trails.soon_show(awaited, at_end=True)):
        return True
    with suppress(LimitError):
        return _happens_in(_with_few(asking, LITTLE), awaited)
    if trails.soon_show(awaited):
        return True
    for search in (_happens_in, _happens):
        with suppress(LimitError):
            return search(_with_few(asking, FEW_STATES), awaited)
    return _is_tried(asking, awaited) or any(is_in(sights, awaited) for sights in trails)


def _with_few(asking: Asking, states: int) -> Asking:
    budget = Budget(states, asking.budget.seconds, whole=asking.budget)
    return replace(asking, budget=budget)


def _is_tried(asking: Asking, awaited: Awaited) -> bool:
    """Tell whether a walk comes upon what is waited for, or does by going straight for it."""
    if awaited.scope is not None or not awaited.found:
        return False
    walks, name = (
        walked(asking, asking.model, may_stall=False),
        name_of(asking.model, awaited.condition),
    )
    return name in walks or walks.attempt(name) is not None


def _is_met(asking: Asking, awaited: Awaited) -> bool:
    """Tell whether a short walk met what is waited for, or a state that is, or sets, it.

    A motor moves in the loop after one in which it is driven.
    """
    model, condition = asking.model, awaited.condition
    if awaited.scope is not None:
        return False
    is_sought = awaited.found and any(_region_part(model, each) is model for each in model.regions)
    if is_sought and name_of(model, condition) in walked(asking, model, may_stall=False):
        return True
    match condition:
        case InState(region=name, state=number, negated=negated) if name in model.region_index:
            region = model.region[name]
            entered = _entered(asking, region)
            return any(region.contains(number, state) != negated for state in entered)
        case InState(region=name, state=state, negated=negated) if name in model.mechanisms:
            motor = model.mechanisms[name].motion_of
            if not motor or negated or state == model.mechanisms[name].begins:
                return False
            driven = Is(motor, (model.output[motor].rest,), negated=True)
            return _is_met(asking, awaited._replace(condition=driven))
        case Is(name=name, values=values, negated=negated) if name in model.owner:
            rest = None if model.output[name].keeps else model.output[name].rest
            region = model.region[model.owner[name]]
            return rest is not None and any(
                (settings(region, state, cue).get(name, rest) in values) != negated
                for state, cues in _entered(asking, region).items()
                for cue in range(cues + 1)
            )
        case _:
            return False


def _entered(asking: Asking, region: Region) -> dict[int, int]:
    """Map the leaves that a short walk has entered to how many of their cues it surely met.

    Those are all, if what is at their end was met.
    """
    part = _region_part(asking.model, region)
    met = walked(asking, part, may_stall=False)
    return {
        leaf.number: len(leaf.cues)
        if leaf.end is not None and ("taken", region.name, leaf.end.number) in met
        else 0
        for leaf in region.states
        if not leaf.children and ("state", region.name, leaf.number) in met
    }


def is_in(sights: Sights, awaited: Awaited) -> bool:
    for begins, ends in stretches(sights, awaited.scope):
        part = sights.part(begins, ends)
        looks = part.found() if awaited.found else part.left
        if any(look.holds(awaited.condition) for look in looks):
            return True
    return False


def _happens_in(asking: Asking, awaited: Awaited) -> bool:
    """Tell whether it happens, by a search of the part of the prop that it hangs on."""
    question, goal = _asked(asking, awaited)
    lookout = asking.lookout(question, conditions=question.conditions)
    return reach(lookout, goal) is not None


def _happens(asking: Asking, awaited: Awaited) -> bool:
    """Tell whether it happens, by searches led by sketches."""
    question, goal = _asked(asking, awaited)
    return asking.reach(question, lambda _: goal, conditions=question.conditions) is not None


def _asked(asking: Asking, awaited: Awaited) -> tuple[Question, Goal]:
    """Give a watch for what is waited for, and say where it has come about."""
    condition, scope, found = awaited
    inner: Watch = Pending(condition, Or(())) if found else Simple(condition, wrong=True)
    place = BREACH if not found else PENDING if scope is None else PENDING + 1
    asked = (condition,) if scope is None else (condition, scope.condition)
    watch = unsettled(in_scope(inner, scope))
    watch = recalling(asking.model, watch, condition) if found else watch

    def is_met(at: Situation) -> bool:
        return inside(watch, at.watch[0]) == place

    return Question(watches=(watch,), conditions=asked), is_met


def _finding(model: Model, rule: Rule, awaited: Awaited) -> Finding:
    words = condition_words(model, awaited.condition)
    where = ""
    if awaited.scope is not None:
        within = condition_words(model, awaited.scope.condition)
        where = f" `{awaited.scope.kind.value}: {within}`"
    verb = "is so" if isinstance(awaited.condition, InState) else "holds"
    return finding(
        "empty-rule",
        f"`{rule.name}` holds only because `{words}` never {verb}{where}",
        rule.span,
        f"`{words}` never {verb}",
    )
