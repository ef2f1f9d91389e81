"""`empty-rule`: rules that hold only because what they wait for never happens.

A rule that does hold is asked once more, for each part that it waits for, whether that ever comes
about where the rule is in force.
"""

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import replace

from behaviour.check.asking import Asking
from behaviour.check.awaiting import Awaited, awaited_by
from behaviour.check.judging import Sights, stretches
from behaviour.check.ordering import PENDING, Pending
from behaviour.check.recalling import inside, recalling
from behaviour.check.seeking import name_of
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.walks import walked
from behaviour.check.watches import in_scope
from behaviour.check.watching import BREACH, Simple
from behaviour.explore.search import Budget, LimitError
from behaviour.explore.situations import Question, Situation, Watch
from behaviour.findings import Answer, Finding, Run, Verdict
from behaviour.model import (
    InState,
    Is,
    Model,
    Or,
    Region,
    Rule,
    State,
)
from behaviour.semantics import settings
from behaviour.story import replay
from behaviour.wording import condition_words

FEW_STATES = 300
"""How many states the short search looks at before a short walk is tried."""


class _Trails:
    """The runs of a short walk, as rules see them, replayed only as far as they are needed."""

    def __init__(self, asking: Asking) -> None:
        self._asking = asking
        self._seen: list[Sights] = []
        self._left: list[Run] | None = None

    def __iter__(self) -> Iterator[Sights]:
        yield from self._seen
        if self._left is None:
            self._left = _trails(walked(self._asking, self._asking.model, may_stall=False).values())
        while self._left:
            run = self._left.pop(0)
            self._seen.append(Sights(self._asking.model, replay(self._asking.model, run)))
            yield self._seen[-1]


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
    """Look for it among what a short walk met, in a short search, and in the runs of the walk.

    Before those are replayed, the walk tries for it.
    """
    if _is_met(asking, awaited):
        return True
    few = Budget(FEW_STATES, asking.budget.seconds, whole=asking.budget)
    try:
        return _happens(replace(asking, budget=few), awaited)
    except LimitError:
        return _is_tried(asking, awaited) or any(is_in(sights, awaited) for sights in trails)


def _is_tried(asking: Asking, awaited: Awaited) -> bool:
    """Tell whether a walk comes upon what is waited for by going straight for it."""
    if awaited.scope is not None or not awaited.found:
        return False
    walks = walked(asking, asking.model, may_stall=False)
    return walks.attempt(name_of(asking.model, awaited.condition)) is not None


def _is_met(asking: Asking, awaited: Awaited) -> bool:
    """Tell whether a short walk met what is waited for, or a state that is, or sets, it."""
    model, condition = asking.model, awaited.condition
    if awaited.scope is not None:
        return False
    met = walked(asking, model, may_stall=False)
    if awaited.found and name_of(model, condition) in met:
        return True
    entered = {
        (region, state)
        for region in model.regions
        for state in region.states
        if not state.children and ("state", region.name, state.number) in met
    }
    match condition:
        case InState(region=name, state=number, negated=negated):
            return any(
                region.contains(number, state.number) != negated
                for region, state in entered
                if region.name == name
            )
        case Is(name=name, values=values, negated=negated):
            return any(
                (settings(region, state.number, cue).get(name, output.rest) in values) != negated
                for output in model.outputs
                if output.name == name and not output.keeps
                for region, state in entered
                if region.name == model.owner.get(name)
                for cue in range(_cues_met(region, state, met) + 1)
            )
        case _:
            return False


def _cues_met(region: Region, state: State, met: Container[object]) -> int:
    """Count the cues of a state that were met for certain: all, if what is at their end was."""
    ended = state.end is not None and ("taken", region.name, state.end.number) in met
    return len(state.cues) if ended else 0


def is_in(sights: Sights, awaited: Awaited) -> bool:
    for begins, ends in stretches(sights, awaited.scope):
        part = sights.part(begins, ends)
        looks = part.found() if awaited.found else part.left
        if any(look.holds(awaited.condition) for look in looks):
            return True
    return False


def _happens(asking: Asking, awaited: Awaited) -> bool:
    condition, scope, found = awaited
    inner: Watch = Pending(condition, Or(())) if found else Simple(condition, wrong=True)
    place = BREACH if not found else PENDING if scope is None else PENDING + 1
    asked = (condition,) if scope is None else (condition, scope.condition)
    watch = in_scope(inner, scope)
    watch = recalling(asking.model, watch, condition) if found else watch
    question = Question(watches=(watch,), conditions=asked)

    def is_met(at: Situation) -> bool:
        return inside(watch, at.watch[0]) == place

    run = asking.reach(question, lambda _: is_met, conditions=asked)
    return run is not None


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
