"""Findings, mistakes and the summary of a check as text for people. Only here is colour used.

It judges nothing: it lays out the facts of findings in the form of the design.
"""

import re
from collections.abc import Iterable
from textwrap import wrap

from behaviour.cautions import CAUTIONS
from behaviour.findings import (
    Answer,
    Explored,
    Finding,
    Label,
    Mistake,
    Outcome,
    Severity,
    Verdict,
)
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.marked import marked_lines, place_of
from behaviour.report.paint import PLAIN, Paint
from behaviour.report.verdict import FileVerdict, not_checked, verdict_of
from behaviour.source import Source
from behaviour.telling import tell

NAME_WIDTH = 44
INDENT = "   "
SNIPPET_INDENT = "    "
STORY_INDENT = 11
"""Columns before what happened in a story: its time stands there."""


def mistakes_text(source: Source, mistakes: tuple[Mistake, ...], paint: Paint = PLAIN) -> str:
    """Tell every mistake of a file that cannot be read, and how many there are."""
    blocks = [_mistake(source, mistake, paint) for mistake in mistakes]
    count = _counted(len(mistakes), "mistake", "mistakes")
    words = f"{source.name}: {count} to mend before it is checked"
    blocks.append(_headed(paint.bad("unreadable"), words, paint))
    return _joined(blocks)


def outcome_text(
    source: Source, model: Model, outcome: Outcome, *, notes: bool, paint: Paint = PLAIN
) -> str:
    """Tell the findings of a file, the verdict on each rule, and the file's summary.

    Notes are told only with `notes`; without, the summary counts them.
    """
    told = [f for f in outcome.findings if notes or f.severity is not Severity.NOTE]
    blocks = [_finding(source, model, finding, paint) for finding in told]
    blocks.append(_summary(source, model, outcome, notes=notes, paint=paint))
    return _joined(blocks)


def closing_text(models: Iterable[Model], paint: Paint = PLAIN) -> str:
    """Give the cautions if any of the props can hurt somebody, and what is not checked yet."""
    blocks = []
    if any(output.hazard for model in models for output in model.outputs):
        cautions = wrap("This prop can hurt somebody, and no check makes it safe:", paint.width)
        for caution in CAUTIONS:
            cautions += wrap(caution, paint.width, initial_indent=" - ", subsequent_indent=INDENT)
        blocks.append(cautions)
    blocks += [
        wrap(words, paint.width, subsequent_indent=INDENT, break_on_hyphens=False)
        for words in not_checked()
    ]
    return _joined(blocks)


def finding_text(source: Source, model: Model, finding: Finding) -> str:
    """Tell one finding."""
    return _joined([_finding(source, model, finding, PLAIN)])


# --- Findings and mistakes ----------------------------------------------------------------------


def _finding(source: Source, model: Model, finding: Finding, paint: Paint) -> list[str]:
    name = finding.rule or finding.kind.name
    severity = _painted_severity(finding.severity, paint)
    gap = " " * (len("doubtful") - len(finding.severity.value))
    head = f"{severity}{gap}  {_padded(name, paint)}"
    lines = [f"{head}  {place_of(source, finding.at)}"]
    if paint.is_narrow:
        lines = [
            f"{severity}{gap}  {paint.strong(name)}",
            f"{INDENT}{place_of(source, finding.at)}",
        ]
    if finding.message != name:
        lines += _prose(finding.message, paint)
    lines += _snippets(source, (finding.at, *finding.related), paint)
    if finding.run is not None:
        lines += story_text(tell(model, finding.run), paint)
    if finding.excused is not None:
        lines += _prose(f"Excused: {finding.excused}", paint)
    if finding.hint:
        lines += _prose(f"To change: {finding.hint}", paint)
    if finding.guesses:
        lines += _prose(f"It rests on a guess: {', '.join(finding.guesses)}", paint)
    if finding.also:
        lines += _prose(f"The same story is also: {', '.join(finding.also)}", paint)
    return lines


def _mistake(source: Source, mistake: Mistake, paint: Paint) -> list[str]:
    lines = [
        f"{paint.bad('mistake')}  {place_of(source, mistake.at)}",
        *_prose(mistake.message, paint),
    ]
    lines += _snippets(source, (mistake.at, *mistake.related), paint)
    if mistake.hint:
        lines += _prose(f"To change: {mistake.hint}", paint)
    return lines


def _snippets(source: Source, labels: tuple[Label, ...], paint: Paint) -> list[str]:
    room = paint.width - len(SNIPPET_INDENT) if paint.is_narrow else None
    lines = [f"{SNIPPET_INDENT}{line}" for line in marked_lines(source, labels, room)]
    return [paint.strong(line) if line.lstrip().startswith("|") else line for line in lines]


def story_text(lines: Iterable[str], paint: Paint) -> list[str]:
    """Indent the lines of a story; what a narrow terminal has no room for goes on below."""
    indented = [f"{INDENT}{line}" for line in lines]
    if not paint.is_narrow:
        return indented
    return [
        part
        for line in indented
        for part in wrap(
            re.sub(r"(?<=\S) {2,}", "  ", line),
            paint.width,
            subsequent_indent=" " * STORY_INDENT,
            break_on_hyphens=False,
        )
    ]


def _painted_severity(severity: Severity, paint: Paint) -> str:
    match severity:
        case Severity.BROKEN:
            return paint.bad(severity.value)
        case Severity.DOUBTFUL:
            return paint.doubtful(severity.value)
        case Severity.NOTE:
            return paint.faint(severity.value)


# --- The summary of a file ----------------------------------------------------------------------


def _summary(
    source: Source, model: Model, outcome: Outcome, *, notes: bool, paint: Paint
) -> list[str]:
    lines = [_answer(rule, paint) for rule in outcome.rules]
    undecided = [check for check in outcome.checks if check.answer is Answer.NOT_DECIDED]
    lines += [_answer(check, paint) for check in undecided]
    resting = [each for check in outcome.checks for each in check.guesses]
    if resting:
        lines += _prose(
            f"What the checks hold rests on a guess: {', '.join(dict.fromkeys(resting))}", paint
        )
    explored = outcome.explored
    if not explored.complete:
        lines += _prose(_open_words(explored), paint)
    verdict = verdict_of(outcome)
    head = _painted_verdict(verdict, paint)
    hidden = "" if notes or not _notes(outcome) else " (`--notes` shows them)"
    lines += _headed(head, f"{source.name}: {counts(outcome)}{hidden}", paint)
    words = f"{model.prop}, fingerprint {fingerprint(model)}, looked through"
    lines += _prose(f"{words} in {explored.seconds:.2f} s", paint)
    return lines


def _open_words(explored: Explored) -> str:
    """Say how far it got, and what gives it more time where time is what it lacks."""
    seconds = explored.limit.removesuffix(" s")
    if seconds == explored.limit or not seconds.replace(".", "").isdigit():
        return explored.reached
    more = f"{max(float(seconds), 1.0) * 10:g}"
    return f"{explored.reached} within the {explored.limit} allowed; `--limit {more}` gives it more"


def _answer(verdict: Verdict, paint: Paint) -> str:
    words = verdict.answer.value
    painted = {
        Answer.HOLDS: paint.good,
        Answer.BROKEN: paint.bad,
        Answer.NOT_DECIDED: paint.doubtful,
    }[verdict.answer](words)
    gap = " " * (len("not decided") - len(words))
    why = f": {verdict.why}" if verdict.why else ""
    rests = f" (rests on a guess: {', '.join(verdict.guesses)})" if verdict.guesses else ""
    line = f"{painted}{gap}  {verdict.name}{why}{rests}"
    if not paint.is_narrow:
        return line
    return "\n".join(wrap(line, paint.width, subsequent_indent=INDENT, break_on_hyphens=False))


def _painted_verdict(verdict: FileVerdict, paint: Paint) -> str:
    match verdict:
        case FileVerdict.OK:
            return paint.good(verdict.value)
        case FileVerdict.NOT_DECIDED:
            return paint.doubtful(verdict.value)
        case FileVerdict.BROKEN | FileVerdict.UNREADABLE:
            return paint.bad(verdict.value)


def counts(outcome: Outcome) -> str:
    """Say how many findings there are of each severity."""
    severities = [finding.severity for finding in outcome.findings]
    parts = [
        f"{severities.count(Severity.BROKEN)} broken",
        f"{severities.count(Severity.DOUBTFUL)} doubtful",
        _counted(_notes(outcome), "note", "notes"),
    ]
    return ", ".join(parts)


def _notes(outcome: Outcome) -> int:
    return sum(finding.severity is Severity.NOTE for finding in outcome.findings)


# --- Small --------------------------------------------------------------------------------------


def _prose(words: str, paint: Paint) -> list[str]:
    return wrap(
        words,
        paint.width,
        initial_indent=INDENT,
        subsequent_indent=INDENT,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _headed(head: str, words: str, paint: Paint) -> list[str]:
    """Put words behind a head, or below it where there is little room."""
    return [head, *_prose(words, paint)] if paint.is_narrow else [f"{head}  {words}"]


def _padded(name: str, paint: Paint) -> str:
    return paint.strong(name) + " " * max(0, NAME_WIDTH - len(name))


def _counted(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"


def _joined(blocks: list[list[str]]) -> str:
    return "\n\n".join("\n".join(block) for block in blocks) + "\n" if blocks else ""
