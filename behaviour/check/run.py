"""Every check of a file, one family after the other, and the excuses that the file gives."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from behaviour.check.asking import Asking
from behaviour.check.blinking import check_blinking
from behaviour.check.closing import with_last_line
from behaviour.check.confirming import confirmed
from behaviour.check.coverage import check_coverage
from behaviour.check.emptiness import check_empty
from behaviour.check.hints import with_hint
from behaviour.check.hurrying import check_hurrying
from behaviour.check.pinned import check_pinned
from behaviour.check.resting import with_guesses
from behaviour.check.returning import check_returning
from behaviour.check.reversing import check_reversing
from behaviour.check.roles.check import check_roles
from behaviour.check.roles.filtering import check_filters
from behaviour.check.rules import check_rules
from behaviour.check.showing import check_showing
from behaviour.check.standing import check_standing
from behaviour.check.stopping import limit_words, reached_words
from behaviour.check.together import stuck_together
from behaviour.check.unused import check_unused
from behaviour.check.verdicts import Told
from behaviour.check.wired import check_wired
from behaviour.explore.budget import Budget
from behaviour.findings import Answer, Explored, Finding, Outcome, Run, Severity, Verdict
from behaviour.jobs import run_all
from behaviour.model import Excuse, Model

FAMILIES = (
    check_coverage,
    check_returning,
    check_standing,
    check_reversing,
    check_unused,
    check_wired,
    check_pinned,
    check_showing,
    check_hurrying,
    check_blinking,
    check_roles,
    check_filters,
)

SEVERITIES = (Severity.BROKEN, Severity.DOUBTFUL, Severity.NOTE)

MOST_STATES = 400_000


@dataclass(frozen=True, slots=True)
class Limits:
    """What checking one file may use."""

    seconds: float = 120.0
    states: int = MOST_STATES


def check_model(model: Model, limits: Limits = Limits(), jobs: int = 1) -> Outcome:
    """Check a model whole. What a limit stops, or an `unknown`, is not decided; the rest is.

    With several jobs, rules and families are asked side by side.
    """
    began = time.monotonic()
    asking = Asking(model, Budget(limits.states, limits.seconds))
    rules, families = ask(asking) if jobs == 1 else _ask_side_by_side(asking, limits, jobs)
    told = [confirmed(model, family) for family in families]
    checks = tuple(verdict for family in told for verdict in family.verdicts)
    found = [each for family in (rules, *told) for each in family.findings]
    together = stuck_together(model, (_excused(model, each) for each in found))
    once = _one_story_once(together)
    findings = _in_order([with_last_line(model, with_hint(model, each)) for each in once])
    verdicts = (*rules.verdicts, *checks)
    explored = Explored(
        symbolic_states=asking.budget.used,
        complete=all(verdict.answer is not Answer.NOT_DECIDED for verdict in verdicts),
        seconds=time.monotonic() - began,
        limit=limit_words(verdicts, limits.seconds),
        reached=reached_words(verdicts),
    )
    judged = tuple(_without_notes(verdict, findings) for verdict in checks)
    outcome = Outcome(rules=rules.verdicts, checks=judged, findings=findings, explored=explored)
    return with_guesses(model, outcome)


def ask(asking: Asking) -> tuple[Told, list[Told]]:
    """Ask everything, and give the rules' answers and each family's, before any is folded."""
    rules = check_rules(asking)
    families = [family(asking) for family in FAMILIES]
    return rules, [*families, check_empty(asking, rules.verdicts)]


def _ask_side_by_side(asking: Asking, limits: Limits, jobs: int) -> tuple[Told, list[Told]]:
    model = asking.model
    tasks = [partial(_alone, model, limits, None, rule.name) for rule in model.rules]
    tasks += [partial(_alone, model, limits, number, "") for number in range(len(FAMILIES))]
    every = run_all(tasks, jobs)
    asking.budget.used += sum(used for _, used in every)
    parts = [told for told, _ in every]
    ruled, families = parts[: len(model.rules)], parts[len(model.rules) :]
    rules = Told(
        tuple(verdict for told in ruled for verdict in told.verdicts),
        tuple(found for told in ruled for found in told.findings),
    )
    return rules, [*families, check_empty(asking, rules.verdicts)]


def _alone(model: Model, limits: Limits, family: int | None, rule: str) -> tuple[Told, int]:
    """Ask one family, or one rule, and give what it tells and the states that it took."""
    asking = Asking(model, Budget(limits.states, limits.seconds))
    if family is not None:
        told = FAMILIES[family](asking)
    else:
        told = check_rules(asking, [each for each in model.rules if each.name == rule])
    return told, asking.budget.used


def _without_notes(verdict: Verdict, findings: Sequence[Finding]) -> Verdict:
    """Let a check hold that gave nothing but notes, or what the file excuses."""
    serious = any(
        each.severity is not Severity.NOTE and verdict.name in (each.kind.name, *each.also)
        for each in findings
    )
    if verdict.answer is Answer.BROKEN and not serious:
        answer = Answer.NOT_DECIDED if verdict.why else Answer.HOLDS
        return replace(verdict, answer=answer)
    return verdict


def _excused(model: Model, found: Finding) -> Finding:
    for excuse in model.excused:
        if excuse.check == found.kind.name and _covers(model, excuse, found):
            return replace(found, severity=Severity.NOTE, excused=excuse.because)
    return found


def _covers(model: Model, excuse: Excuse, found: Finding) -> bool:
    if excuse.region is None:
        return True
    if found.place is None or found.place[0] != excuse.region:
        return False
    if excuse.state is None:
        return True
    region = model.region.get(excuse.region)
    if region is None:
        return True
    number = next((s.number for s in region.states if s.name == found.place[1]), None)
    return number is not None and region.contains(excuse.state, number)


RANK = (
    "rule-broken",
    "sensing-too-slow",
    "slow-stop-filter",
    "stop-is-beaten",
    "guard-open-moves",
    "restarts-by-itself",
    "guard-closing-starts",
    "reset-restarts",
    "mode-starts",
    "held-start-counts",
    "runs-unheld",
    "starts-unasked",
    "dead-end",
    "runaway",
    "deaf",
    "false-jam",
    "self-running",
    "moves-at-power-up",
    "reverses-at-once",
    "out-of-range",
    "blink-missed",
    "too-quick",
    "no-way-back",
)
"""Names from the most specific; one story is told under the first that it has."""


def _one_story_once(found: list[Finding]) -> list[Finding]:
    """Fold findings that tell the very same run: the most specific one names the others."""
    by_run: dict[Run, list[Finding]] = {}
    single: list[Finding] = []
    for each in found:
        if each.run is None or each.rule is not None or each.kind.name not in RANK:
            single.append(each)
        else:
            by_run.setdefault(each.run, []).append(each)
    for same in by_run.values():
        same.sort(key=lambda each: RANK.index(each.kind.name))
        first = same[0]
        others = tuple(dict.fromkeys(o.kind.name for o in same[1:] if o.kind != first.kind))
        single.append(replace(first, also=others))
        single += [each for each in same[1:] if each.kind == first.kind]
    return single


def _in_order(found: list[Finding]) -> tuple[Finding, ...]:
    def key(each: Finding) -> tuple[int, int, int, bool, str, str]:
        span = each.at.span
        rank = SEVERITIES.index(each.severity)
        return rank, span.line, span.column, each.rule is None, each.kind.name, each.message

    return tuple(sorted(found, key=key))


__all__ = ["Limits", "Told", "check_model"]
