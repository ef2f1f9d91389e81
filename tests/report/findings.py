"""Findings and outcomes written by hand, for tests of how they are reported."""

from behaviour.findings import (
    KIND,
    Answer,
    Explored,
    Finding,
    Label,
    Outcome,
    Severity,
    Verdict,
)
from behaviour.source import Source, Span
from tests.carousel import FORGETFUL, lid_opens_while_it_turns

RULE = "nothing turns under an open lid"


def span_of(source: Source, text: str) -> Span:
    """Find the first place of a text that stands on one line."""
    for number, line in enumerate(source.text.splitlines(), 1):
        if text in line:
            begin = line.index(text) + 1
            return Span(number, begin, number, begin + len(text))
    raise AssertionError(f"{text} is not in {source.name}")


def forgotten_lid() -> Finding:
    return Finding(
        kind=KIND["rule-broken"],
        severity=Severity.BROKEN,
        message="the drum turns for more than 40 ms under an open lid",
        at=Label(
            span_of(FORGETFUL, "drum: forward"),
            "nothing in this state looks at the lid",
        ),
        rule=RULE,
        related=(Label(span_of(FORGETFUL, "never: drum is forward"), "the rule"),),
        also=("runaway",),
        hint="an interlock `{when: lid is open, go: ...}` in carousel stops the drum",
        run=lid_opens_while_it_turns(),
        place=("carousel", "turn"),
    )


def outcome(*findings: Finding, answer: Answer = Answer.HOLDS, why: str = "") -> Outcome:
    return Outcome(
        rules=(Verdict(name=RULE, answer=answer, why=why),),
        checks=(Verdict(name="dead-end", answer=Answer.HOLDS),),
        findings=findings,
        explored=Explored(symbolic_states=412, complete=True, seconds=0.0812),
    )
