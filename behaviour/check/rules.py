"""The rules of a file: each is watched beside the part of the prop that it can depend on."""

from collections.abc import Iterator

from behaviour.check.asking import Asking, Told, Verdicts, finding
from behaviour.check.watches import BREACH, Simple, Watching, slowest_sensing, watches_of
from behaviour.explore.guards import count
from behaviour.explore.reach import Lookout
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Mark, Moment, Move, Question, Situation, Stay
from behaviour.explore.ways import OPEN, Bounds, Possible
from behaviour.findings import Finding, Run, Verdict
from behaviour.model import Always, Never, Rule, WayBack, Whenever, conditions
from behaviour.wording import duration


def check_rules(asking: Asking) -> Told:
    """Judge every rule in the healthy world."""
    verdicts: list[Verdict] = []
    findings: list[Finding] = []
    for rule in asking.model.rules:
        verdict = Verdicts(rule.name)
        found: list[Finding] = []
        verdict.decide(lambda rule=rule, found=found: _judge(asking, rule, found))  # type: ignore[misc]
        verdicts.append(verdict.verdict())
        findings += found
    return Told(tuple(verdicts), tuple(findings))


def _judge(asking: Asking, rule: Rule, found: list[Finding]) -> bool:
    match rule.requirement:
        case WayBack(condition=condition):
            run = _no_way_back(asking, rule)
        case Always(condition=condition):
            run = _watched(asking, rule, [Simple(condition, wrong=False)])
        case requirement:
            watches = watches_of(asking.model, requirement)
            if watches is None:
                raise LimitError(
                    "what this release can sense", "how its inputs stand in it is not worked out"
                )
            run = _watched(asking, rule, watches)
    if run is not None:
        found.append(_finding(asking, rule, run))
    return run is not None


def _watched(asking: Asking, rule: Rule, watches: list[Watching]) -> Run | None:
    asked = conditions(rule.requirement)
    for watch in watches:
        question = Question(watches=(watch,), conditions=asked)
        run = asking.reach(question, lambda _: _is_broken, conditions=asked)
        if run is not None:
            return run
    return None


def _is_broken(at: Situation) -> bool:
    return at.watch[0] == BREACH


def _no_way_back(asking: Asking, rule: Rule) -> Run | None:
    if not isinstance(rule.requirement, WayBack):
        return None
    condition = rule.requirement.condition

    def observe(moment: Moment, to: Situation) -> Iterator[Mark]:
        del to
        for lows in moment.left.judge(condition):
            yield Mark("there", lows)

    question = Question(observers=(observe,), conditions=(condition,))

    def is_good(at: Situation, step: Move | Stay) -> Bounds | None:
        del at
        there: list[Bounds] = [mark.bounds or (OPEN if mark.lows else ()) for mark in step.marks]
        return min(there, key=len, default=None)

    def stays_possible(lookout: Lookout) -> Possible:
        return Possible(lookout, is_good, lambda _: True)

    if asking.is_possible(question, stays_possible, conditions=(condition,)):
        return None
    lookout = asking.lookout(question, conditions=(condition,))
    places = stays_possible(lookout).nowhere()
    return asking.whole(lookout.model, places[0].witness.run) if places else None


def _finding(asking: Asking, rule: Rule, run: Run) -> Finding:
    requirement, loop = rule.requirement, asking.model.loop
    name, message, hint = "rule-broken", f"`{rule.name}` does not hold", ""
    label = "this can fail"
    match requirement:
        case Never(limit=None):
            message = f"`{rule.name}`: what must never be comes about"
        case Never(limit=limit) | Whenever(limit=limit) if limit is not None:
            sensing = slowest_sensing(asking.model, requirement)
            allowed = count(asking.model, limit)
            if isinstance(requirement, Whenever):
                label = "the answer can come too late, or not at all"
            if sensing > allowed:
                name = "sensing-too-slow"
                message = (
                    f"`{rule.name}` allows {duration(allowed * loop)}, and sensing alone "
                    f"takes {duration(sensing * loop)}"
                )
                label = "less time than filter and loop need"
                hint = "a shorter `steady` for that value, or a longer time in the rule"
        case WayBack():
            message = f"`{rule.name}`: after this there is no way back"
            label = "this can get out of reach"
        case _:
            pass
    return finding(name, message, rule.span, label, run=run, rule=rule.name, hint=hint)
