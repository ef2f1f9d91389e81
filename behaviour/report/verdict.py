"""The one word on a whole file, from all that its checking gave."""

from enum import Enum

from behaviour.findings import NOT_CHECKED_YET, Answer, Outcome, Severity, Verdict


class FileVerdict(Enum):
    OK = "ok"
    BROKEN = "broken"
    NOT_DECIDED = "not decided"
    UNREADABLE = "unreadable"


def verdict_of(outcome: Outcome) -> FileVerdict:
    """Judge a file: broken if anything is, else not decided if anything is not, else ok."""
    if any(finding.severity is Severity.BROKEN for finding in outcome.findings):
        return FileVerdict.BROKEN
    if any(rule.answer is Answer.BROKEN for rule in outcome.rules):
        return FileVerdict.BROKEN
    answers = [verdict.answer for verdict in outcome.rules + outcome.checks]
    if Answer.NOT_DECIDED in answers or not outcome.explored.complete:
        return FileVerdict.NOT_DECIDED
    return FileVerdict.OK


def verdict_lines(outcome: Outcome) -> tuple[str, ...]:
    """Say in a line each what was checked and with which answer, for what is kept with firmware."""
    lines = [f"{rule.answer.value}: {rule.name}{_resting(rule)}" for rule in outcome.rules]
    lines += [
        f"{check.answer.value}: {check.name}"
        for check in outcome.checks
        if check.answer is not Answer.HOLDS
    ]
    holding = [check.name for check in outcome.checks if check.answer is Answer.HOLDS]
    if holding:
        lines.append(f"nothing found: {', '.join(holding)}")
    return (*lines, *not_checked())


def _resting(rule: Verdict) -> str:
    return f", resting on a guess: {', '.join(rule.guesses)}" if rule.guesses else ""


def not_checked() -> tuple[str, ...]:
    """Say in a line what of the design is not checked yet; nothing if all of it is."""
    return (f"not checked yet: {', '.join(NOT_CHECKED_YET)}",) if NOT_CHECKED_YET else ()
