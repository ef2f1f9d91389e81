"""A check as one plain object, with the same facts as the text, for editors and other programs.

The form is that of `check.schema.json`; it changes only with `FORMAT`.
"""

from behaviour.findings import NOT_CHECKED_YET, Finding, Label, Mistake, Outcome, Verdict
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.verdict import FileVerdict, verdict_of
from behaviour.source import Source
from behaviour.story import as_json
from behaviour.telling import says_by_loop

FORMAT = 1

JsonObject = dict[str, object]


def mistakes_object(source: Source, mistakes: tuple[Mistake, ...]) -> JsonObject:
    """Give a file that cannot be read: each mistake stands among the findings."""
    return {
        "format": FORMAT,
        "file": source.name,
        "verdict": FileVerdict.UNREADABLE.value,
        "findings": [_mistake(mistake) for mistake in mistakes],
        "not_checked": list(NOT_CHECKED_YET),
    }


def outcome_object(source: Source, model: Model, outcome: Outcome) -> JsonObject:
    """Give a file that was checked, notes included."""
    explored = outcome.explored
    told: JsonObject = {
        "format": FORMAT,
        "file": source.name,
        "prop": model.prop,
        "fingerprint": fingerprint(model),
        "verdict": verdict_of(outcome).value,
    }
    if not explored.complete:
        told |= {"limit": explored.limit, "reached": explored.reached}
    return told | {
        "explored": {
            "symbolic_states": explored.symbolic_states,
            "complete": explored.complete,
            "seconds": round(explored.seconds, 3),
        },
        "rules": [_verdict(rule) for rule in outcome.rules],
        "checks": [_verdict(check) for check in outcome.checks],
        "findings": [_finding(model, finding) for finding in outcome.findings],
        "not_checked": list(NOT_CHECKED_YET),
    }


def _finding(model: Model, finding: Finding) -> JsonObject:
    told: JsonObject = {"name": finding.kind.name}
    if finding.rule is not None:
        told["rule"] = finding.rule
    told |= {
        "severity": finding.severity.value,
        **_place(finding.at),
        "message": finding.message,
        "label": finding.at.text,
        "hint": finding.hint,
        "also": list(finding.also),
        "related": [_related(label) for label in finding.related],
    }
    if finding.excused is not None:
        told["excused"] = finding.excused
    if finding.guesses:
        told["guesses"] = list(finding.guesses)
    if finding.run is not None:
        told["story"] = as_json(model, finding.run, says_by_loop(model, finding.run))
    return told


def _mistake(mistake: Mistake) -> JsonObject:
    return {
        "name": "mistake",
        "severity": "broken",
        **_place(mistake.at),
        "message": mistake.message,
        "label": mistake.at.text,
        "hint": mistake.hint,
        "also": [],
        "related": [_related(label) for label in mistake.related],
    }


def _place(label: Label) -> JsonObject:
    span = label.span
    return {
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }


def _related(label: Label) -> JsonObject:
    return {**_place(label), "message": label.text}


def _verdict(verdict: Verdict) -> JsonObject:
    told: JsonObject = {"name": verdict.name, "verdict": verdict.answer.value}
    if verdict.why:
        told["why"] = verdict.why
    if verdict.guesses:
        told["guesses"] = list(verdict.guesses)
    return told
