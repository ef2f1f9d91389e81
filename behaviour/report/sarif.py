"""A check as SARIF 2.1.0 (OASIS, 2020), for editors and servers that show findings in a file.

A finding is a result, its story a code flow; a mistake is one too. What is not decided is a result
of kind `open`, and what is excused is suppressed with its reason.
"""

from collections.abc import Iterable, Iterator

from behaviour.findings import KIND, KINDS, Answer, Finding, Label, Mistake, Severity, Verdict
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.json import JsonObject
from behaviour.results import Checked, Unreadable
from behaviour.source import NOWHERE, Source
from behaviour.telling import told_lines

VERSION = "2.1.0"
SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"
MISTAKE = "mistake"
LEVELS = {Severity.BROKEN: "error", Severity.DOUBTFUL: "warning", Severity.NOTE: "note"}
NUMBERS = {name: number for number, name in enumerate((*KIND, MISTAKE))}


def sarif_object(results: Iterable[Checked | Unreadable]) -> JsonObject:
    """Give all files that were read as one run."""
    rules: list[JsonObject] = [
        {
            "id": kind.name,
            "shortDescription": {"text": kind.summary},
            "defaultConfiguration": {"level": LEVELS[kind.severity]},
            "help": {"text": f"`tablework explain {kind.name}` tells more"},
        }
        for kind in KINDS
    ]
    rules.append({"id": MISTAKE, "shortDescription": {"text": "what keeps a file from being read"}})
    return {
        "$schema": SCHEMA,
        "version": VERSION,
        "runs": [
            {
                "tool": {"driver": {"name": "tablework", "rules": rules}},
                "columnKind": "unicodeCodePoints",
                "results": [each for result in results for each in _results(result)],
            }
        ],
    }


def _results(result: Checked | Unreadable) -> Iterator[JsonObject]:
    source = result.source
    match result:
        case Unreadable(mistakes=mistakes):
            yield from (_mistake(source, each) for each in mistakes)
        case Checked(model=model, outcome=outcome):
            for finding in outcome.findings:
                yield _finding(source, model, finding)
            for rule in outcome.rules:
                if rule.answer is Answer.NOT_DECIDED:
                    yield _open(source, model, "rule-broken", rule)
            for check in outcome.checks:
                if check.answer is Answer.NOT_DECIDED:
                    yield _open(source, model, check.name, check)


def _finding(source: Source, model: Model, finding: Finding) -> JsonObject:
    name = finding.rule or finding.kind.name
    words = name if finding.message == name else f"{name}: {finding.message}"
    told: JsonObject = {
        **_of_kind(finding.kind.name, LEVELS[finding.severity]),
        "message": {"text": f"{words}\nTo change: {finding.hint}" if finding.hint else words},
        "locations": [_location(source, finding.at)],
        "relatedLocations": [_location(source, each) for each in finding.related],
        "properties": {"fingerprint": fingerprint(model)},
    }
    if finding.run is not None:
        told["codeFlows"] = [{"threadFlows": [{"locations": _story(source, model, finding)}]}]
    if finding.excused is not None:
        told["suppressions"] = [{"kind": "inSource", "justification": finding.excused}]
    return told


def _story(source: Source, model: Model, finding: Finding) -> list[JsonObject]:
    """Tell the story line by line; each stands where the finding does."""
    if finding.run is None:
        return []
    lines: list[JsonObject] = []
    for line in told_lines(model, finding.run):
        words = "; ".join(part for part in (line.happened, line.moved, line.drives) if part)
        seconds = line.loop * model.loop / 1_000_000
        at = _location(source, Label(finding.at.span, f"{seconds:.3f} s: {words}"))
        lines.append({"location": at})
    return lines


def _open(source: Source, model: Model, kind: str, verdict: Verdict) -> JsonObject:
    return {
        **_of_kind(kind, "none"),
        "kind": "open",
        "message": {"text": f"{verdict.name}: not decided: {verdict.why}"},
        "locations": [_location(source, Label(NOWHERE, ""))],
        "properties": {"fingerprint": fingerprint(model)},
    }


def _mistake(source: Source, mistake: Mistake) -> JsonObject:
    words = mistake.message
    return {
        **_of_kind(MISTAKE, "error"),
        "message": {"text": f"{words}\nTo change: {mistake.hint}" if mistake.hint else words},
        "locations": [_location(source, mistake.at)],
        "relatedLocations": [_location(source, each) for each in mistake.related],
    }


def _of_kind(name: str, level: str) -> JsonObject:
    return {"ruleId": name, "ruleIndex": NUMBERS[name], "level": level}


def _location(source: Source, label: Label) -> JsonObject:
    physical: JsonObject = {"artifactLocation": {"uri": source.name.replace("\\", "/")}}
    span = label.span
    if span != NOWHERE:
        physical["region"] = {
            "startLine": span.line,
            "startColumn": span.column,
            "endLine": span.end_line,
            "endColumn": span.end_column,
        }
    location: JsonObject = {"physicalLocation": physical}
    return location | {"message": {"text": label.text}} if label.text else location
