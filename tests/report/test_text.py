"""Findings, mistakes and summaries as people read them."""

from dataclasses import replace

import pytest

from behaviour.findings import (
    KIND,
    NOT_CHECKED_YET,
    Answer,
    Explored,
    Finding,
    Label,
    Mistake,
    Severity,
    Verdict,
)
from behaviour.pipeline import Checked, check_source
from behaviour.report.paint import Paint
from behaviour.report.text import closing_text, mistakes_text, outcome_text
from behaviour.source import NOWHERE, Source, Span
from behaviour.telling import tell
from tests.carousel import FORGETFUL, lid_opens_while_it_turns
from tests.reading import model_in, model_of, source_of
from tests.report.findings import RULE, forgotten_lid, outcome, span_of

CALM = """\
    language: 1
    prop: Lantern
    loop: 10 ms
    inputs: {tap: {kind: button, steady: 20 ms}}
    outputs: {glow: {kind: light, values: [dark, lit]}}
    regions:
      lantern:
        begins: out
        states:
          out: {leave: [{when: tap becomes pressed, go: on_now}]}
          on_now: {set: {glow: lit}, leave: [{when: tap becomes pressed, go: out}]}
    """


@pytest.fixture
def source() -> Source:
    return FORGETFUL


def told(source: Source, *findings: Finding, notes: bool = False) -> str:
    return outcome_text(source, model_in(source), outcome(*findings), notes=notes)


def note(source: Source) -> Finding:
    return Finding(
        kind=KIND["unused"],
        severity=Severity.NOTE,
        message="nothing uses the input `lid`",
        at=Label(span_of(source, "lid:"), "never looked at"),
    )


def test_a_finding_has_its_place_its_marked_line_its_story_and_what_to_change(source):
    text = told(source, forgotten_lid())

    assert text.splitlines()[:-4] == [
        f"broken    {RULE:<44}  forgetful.yaml:23:15",
        "   the drum turns for more than 40 ms under an open lid",
        "    23 |         set: {drum: forward, lamp: amber}",
        "       |               ^^^^^^^^^^^^^ nothing in this state looks at the lid",
        f"    32 | {FORGETFUL.line(32)}",
        "       | " + " " * 44 + "^^^^^^^^^^^^^^^^^^^^^^ the rule",
        *(f"   {line}" for line in tell(model_in(source), lid_opens_while_it_turns())),
        "   To change: an interlock `{when: lid is open, go: ...}` in carousel stops the drum",
        "   The same story is also: runaway",
    ]


def test_the_summary_gives_each_rule_the_counts_and_the_fingerprint(source):
    findings = forgotten_lid(), note(source)
    outcome_ = outcome(*findings, answer=Answer.BROKEN)

    text = outcome_text(source, model_in(source), outcome_, notes=False)

    lines = text.splitlines()[-3:]
    assert lines[:2] == [
        f"broken       {RULE}",
        "broken  forgetful.yaml: 1 broken, 0 doubtful, 1 note (`--notes` shows them)",
    ]
    assert lines[2].startswith("   Forgetful carousel, fingerprint ")
    assert lines[2].endswith(", looked through in 0.08 s")


def test_notes_are_told_only_when_asked_for(source):
    assert "never looked at" not in told(source, note(source))
    assert "never looked at" in told(source, note(source), notes=True)
    assert told(source, note(source), notes=True).splitlines()[-2] == (
        "ok  forgetful.yaml: 0 broken, 0 doubtful, 1 note"
    )


def test_an_excused_finding_is_a_note_with_its_reason(source):
    excused = replace(note(source), kind=KIND["runaway"], excused="the fan may run all evening")

    text = told(source, excused, notes=True)

    assert text.startswith("note      runaway")
    assert "   Excused: the fan may run all evening\n" in text


def test_what_is_not_decided_says_how_far_it_got(source):
    outcome_ = replace(
        outcome(answer=Answer.NOT_DECIDED, why="needs `turn.after`"),
        checks=(Verdict(name="runaway", answer=Answer.NOT_DECIDED, why="it takes too long"),),
        explored=Explored(
            symbolic_states=1,
            complete=False,
            seconds=60.004,
            limit="60 s",
            reached="12 of 15 rules and checks are decided",
        ),
    )

    text = outcome_text(source, model_in(source), outcome_, notes=False)

    assert text.splitlines()[:4] == [
        f"not decided  {RULE}: needs `turn.after`",
        "not decided  runaway: it takes too long",
        (
            "   12 of 15 rules and checks are decided within the 60 s allowed;"
            " `--limit 600` gives it more"
        ),
        "not decided  forgetful.yaml: 0 broken, 0 doubtful, 0 notes",
    ]
    assert text.endswith(", looked through in 60.00 s\n")


def test_more_time_is_offered_only_where_time_is_what_it_lacks(source):
    open_ = replace(
        outcome(answer=Answer.NOT_DECIDED, why="needs `turn.after`"),
        explored=Explored(
            symbolic_states=9,
            complete=False,
            seconds=0.1,
            limit="needs `turn.after`",
            reached="1 of 2 rules and checks are decided",
        ),
    )

    text = outcome_text(source, model_in(source), open_, notes=False)

    assert text.splitlines()[1] == "   1 of 2 rules and checks are decided"
    assert "--limit" not in text


def test_a_mistake_is_told_like_a_finding():
    source = Source("lamp.yaml", "language: 1\nprop: Lamp\ncolour: red\n")
    mistake = Mistake(
        message="`colour` is not a part of a behaviour file",
        at=Label(Span(3, 1, 3, 7), "not known"),
        related=(Label(Span(1, 1, 1, 9), "a file begins here"),),
        hint="leave it out",
    )

    assert mistakes_text(source, (mistake,)) == (
        "mistake  lamp.yaml:3:1\n"
        "   `colour` is not a part of a behaviour file\n"
        "    3 | colour: red\n"
        "      | ^^^^^^ not known\n"
        "    1 | language: 1\n"
        "      | ^^^^^^^^ a file begins here\n"
        "   To change: leave it out\n"
        "\n"
        "unreadable  lamp.yaml: 1 mistake to mend before it is checked\n"
    )


def test_a_mistake_without_a_place_names_the_file_only():
    source = Source("lamp.yaml", "x")
    mistake = Mistake(message="the file is too large", at=Label(NOWHERE, ""))

    assert mistakes_text(source, (mistake,)).startswith(
        "mistake  lamp.yaml\n   the file is too large\n\nunreadable"
    )


def test_every_run_ends_with_what_is_not_checked_yet_if_there_is_anything(monkeypatch):
    assert closing_text([model_of(CALM)]) == ""

    monkeypatch.setattr("behaviour.report.verdict.NOT_CHECKED_YET", ("a-check", "another"))
    assert closing_text([model_of(CALM)]) == "not checked yet: a-check, another\n"


def test_cautions_come_once_and_only_where_something_can_hurt(source):
    dangerous = model_in(source)

    text = closing_text([model_of(CALM), dangerous, dangerous])

    assert text.startswith("This prop can hurt somebody, and no check makes it safe:\n - A soft")
    assert ("not checked yet: " in text) == bool(NOT_CHECKED_YET)
    assert text.count("A software interlock is not a safety-rated one") == 1
    assert text.count("licensed person") == 1
    assert "safety-rated" not in closing_text([model_of(CALM)])


def test_colour_adds_nothing_but_colour(source):
    outcome_ = outcome(forgotten_lid(), note(source), answer=Answer.BROKEN)
    model = model_in(source)

    plain = outcome_text(source, model, outcome_, notes=True)
    painted = outcome_text(source, model, outcome_, notes=True, paint=Paint(on=True))

    assert "\x1b" not in plain
    assert "\x1b[1;31mbroken\x1b[0m" in painted
    for code in ("\x1b[1;31m", "\x1b[1;33m", "\x1b[32m", "\x1b[1m", "\x1b[2m", "\x1b[0m"):
        painted = painted.replace(code, "")
    assert painted == plain


NARROW = Paint(on=False, width=50)


def test_in_a_narrow_terminal_no_line_is_wider_and_nothing_is_left_out() -> None:
    result = check_source(source_of("specs/faulty/carousel-forgot-lid.yaml"), 60)
    assert isinstance(result, Checked)
    parts = (result.source, result.model, result.outcome)

    wide, narrow = outcome_text(*parts, notes=True), outcome_text(*parts, notes=True, paint=NARROW)

    def unmarked(text: str) -> list[str]:
        lines = [line for line in text.splitlines() if "|" not in line and "looked" not in line]
        return [word for line in lines for word in line.split()]

    closing = closing_text([result.model], NARROW)
    assert max(map(len, (narrow + closing).splitlines())) <= 50
    assert set(unmarked(narrow)) >= set(unmarked(wide))


def test_in_a_narrow_terminal_the_mark_still_stands_below_what_it_marks() -> None:
    source = Source(
        "x.yaml", "        leave: [{when: push become pressed, go: leaving, and: more}]"
    )
    at = Label(Span(1, 29, 1, 35), "not expected, and that is said in many words")

    text = mistakes_text(source, (Mistake(message="no", at=at),), NARROW)

    shown, mark, *words = [line for line in text.splitlines() if "|" in line]
    assert shown[mark.index("^") : mark.rindex("^") + 1] == "become"
    assert " ".join(line.split("| ")[1].strip() for line in words) == at.text
