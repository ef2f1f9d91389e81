"""Everything on one page, for the workshop and the tablet at the bench: nothing is fetched from
anywhere. It lays out; what stands on it is worked out elsewhere.

Strategy: the page is a list of sections, each a heading with parts of HTML. Parts that are pages of
their own elsewhere come from there, their headings one step lower; a section without parts is left
out.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from behaviour.check.faulting import Worksheet
from behaviour.draw.render import CannotDrawError
from behaviour.draw.shapes import Picture
from behaviour.draw.states import diagram
from behaviour.draw.stories import Story, stories_of
from behaviour.draw.svg import svg
from behaviour.draw.timing.chart import timing_chart
from behaviour.draw.timing.lanes import lanes_of
from behaviour.draw.wiring import wiring
from behaviour.findings import Answer, Finding, Outcome, Severity
from behaviour.model import Model
from behaviour.numbers.results import Block
from behaviour.report.marked import marked_lines, place_of
from behaviour.report.numbers_html import NUMBERS_STYLE, numbers_parts
from behaviour.report.page import PORTRAIT, cautions_part, copy_of, html_lines, html_list, html_page
from behaviour.report.sentences_html import SENTENCES_STYLE, sentences_parts, words_html
from behaviour.report.table_forms import TABLE_STYLE, table_parts
from behaviour.report.text import counts
from behaviour.report.verdict import not_checked, verdict_of
from behaviour.report.worksheet_html import WORKSHEET_STYLE, worksheet_parts
from behaviour.source import Source
from behaviour.tell.sentences import sheet_of
from behaviour.tell.table import tables
from behaviour.telling import tell

STYLE = (
    """
nav ul { columns: 2; } section { break-before: auto; } figure svg { width: auto; }
.severity { text-transform: uppercase; letter-spacing: .05em; }
"""
    + SENTENCES_STYLE
    + TABLE_STYLE
    + NUMBERS_STYLE
    + WORKSHEET_STYLE
)


CHECKED = {
    Answer.BROKEN: "checks that found something",
    Answer.NOT_DECIDED: "checks that are not decided",
    Answer.HOLDS: "checks that found nothing but notes, if that",
}
"""What is said of the checks that have each answer, the worst first."""


@dataclass(frozen=True, slots=True)
class Played:
    """A walkthrough that was run: its name, and why it failed, if it did."""

    name: str
    failed: str = ""


@dataclass(frozen=True, slots=True)
class Material:
    """All that the report is made from. Without a `sheet` there is no worksheet on it."""

    source: Source
    model: Model
    outcome: Outcome
    blocks: Sequence[Block] = ()
    played: Sequence[Played] = ()
    sheet: Worksheet | None = None


def report_html(material: Material) -> str:
    """Lay the report out as one page of HTML."""
    model = material.model
    sections = [(title, list(parts)) for title, parts in _sections(material)]
    kept = [(n, *each) for n, each in enumerate((each for each in sections if each[1]), 1)]
    links = "".join(f'<li><a href="#s{n}">{escape(title)}</a></li>' for n, title, _ in kept)
    parts = [copy_of(material.source, model)]
    if model.about:
        parts.append(f"<p>{words_html(model.about)}</p>")
    parts.append(f"<nav><ul>{links}</ul></nav>")
    for number, title, inside in kept:
        heading = f'<section id="s{number}">\n<h2>{escape(title)}</h2>'
        parts += [heading, *map(_lowered, inside), "</section>"]
    parts += cautions_part(model, "This prop can hurt somebody, and no report makes it safe")
    return html_page(f"Report: {model.prop}", parts, STYLE + PORTRAIT)


def _sections(material: Material) -> Iterator[tuple[str, Iterable[str]]]:
    model = material.model
    yield "What was found", _summary(material)
    yield "The states", _states(material)
    yield "Findings", _findings(material)
    yield "The behaviour in sentences", sentences_parts(sheet_of(model))
    yield "Each state by each thing that can happen", table_parts(tables(model))
    yield "Walkthroughs", _walkthroughs(material)
    yield "The numbers behind it", numbers_parts(material.blocks)
    if material.sheet is not None:
        yield "When one thing goes wrong", worksheet_parts(model, material.sheet)
    yield "Wiring", (_figure(wiring(model)),)


def _lowered(part: str) -> str:
    """Make headings of a part one step lower, so that they stand below their section's."""
    return re.sub(r"<(/?)h([2-5])\b", lambda at: f"<{at[1]}h{int(at[2]) + 1}", part)


# --- What was found -----------------------------------------------------------------------------


def _summary(material: Material) -> Iterator[str]:
    outcome = material.outcome
    yield f"<p><b>{verdict_of(outcome).value}</b>: {counts(outcome)}</p>"
    yield "<table>\n<thead><tr><th>rule</th><th>answer</th></tr></thead>\n<tbody>"
    for rule in outcome.rules:
        why = f": {rule.why}" if rule.why else ""
        why += f", resting on a guess: {', '.join(rule.guesses)}" if rule.guesses else ""
        yield (
            f'<tr><td>{escape(rule.name)}</td><td class="v">{escape(rule.answer.value)}'
            f"{escape(why)}</td></tr>"
        )
    yield "</tbody>\n</table>"
    checks: dict[str, list[str]] = {}
    for check in outcome.checks:
        checks.setdefault(check.answer.value, []).append(check.name)
    yield html_list(
        f"{words}: {', '.join(checks[answer.value])}"
        for answer, words in CHECKED.items()
        if answer.value in checks
    )
    yield from (f'<p class="faint">{escape(words)}</p>' for words in not_checked())


def _findings(material: Material) -> Iterator[str]:
    told = [each for each in material.outcome.findings if each.severity is not Severity.NOTE]
    stories = iter(stories_of(told))
    for finding in told:
        yield from _finding(material, finding, None if finding.run is None else next(stories))


def _finding(material: Material, finding: Finding, story: Story | None) -> Iterator[str]:
    source, model = material.source, material.model
    name = finding.rule or finding.kind.name
    severity = f'<span class="severity">{finding.severity.value}</span>'
    yield f"<h2>{severity} {escape(name)}</h2>"
    if finding.message != name:
        yield f"<p>{words_html(finding.message)}</p>"
    yield f'<p class="faint">{escape(place_of(source, finding.at))}</p>'
    yield html_lines(marked_lines(source, (finding.at, *finding.related)))
    if story is not None and lanes_of(model, story.run, story.breach).lanes:
        yield _figure(timing_chart(model, story.run, story.title, story.breach))
    if story is not None:
        yield html_lines(tell(model, story.run))
    for words, what in (
        ("Excused", finding.excused),
        ("To change", finding.hint),
        ("It rests on a guess", ", ".join(finding.guesses)),
        ("The same story is also", ", ".join(finding.also)),
    ):
        if what:
            yield f"<p>{words}: {words_html(what)}</p>"


# --- Pictures and walkthroughs ------------------------------------------------------------------


def _states(material: Material) -> Iterator[str]:
    shown = [each for each in material.outcome.findings if each.severity is not Severity.NOTE]
    try:
        yield _figure(diagram(material.model, shown).sheet())
    except CannotDrawError as problem:
        yield f"<p>No picture of the states: {escape(str(problem))}</p>"


def _figure(picture: Picture) -> str:
    """Put a picture into the page: SVG there has no head of its own."""
    return f"<figure>{svg(picture).decode().partition('?>')[2].strip()}</figure>"


def _walkthroughs(material: Material) -> Iterator[str]:
    if material.played:
        yield html_list(
            f"{each.name}: {'as told' if not each.failed else f'failed, {each.failed}'}"
            for each in material.played
        )
