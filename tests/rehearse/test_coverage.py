"""What walkthroughs have shown, and what is proposed for the rest, each of which runs through."""

import re

import pytest

from behaviour.cli import main
from behaviour.explore.budget import Budget
from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.rehearse.beyond import Beyond, beyond_walkthroughs
from behaviour.rehearse.coverage import Coverage, Mark, Sort, coverage
from behaviour.rehearse.proposing import Proposal, proposals
from behaviour.rehearse.walking import perform
from behaviour.report.coverage_text import coverage_text, proposal_lines
from behaviour.source import Source
from behaviour.wording import step_words
from tests.reading import SPECS, model_in, model_of, source_of, spec

BOX = """\
language: 1
prop: Box
loop: 10 ms
inputs:
  lid: {kind: switch, values: [shut, open]}
  knock: {kind: button, steady: 20 ms}
outputs:
  bell: {kind: sound, values: [still, ringing]}
regions:
  box:
    begins: asleep
    states:
      asleep: {leave: [{when: knock becomes pressed, go: awake}]}
      awake:
        set: {bell: ringing}
        leave: [{when: lid is open, go: asleep}, {after: 1 s, go: tired}]
      tired: {leave: [{when: lid is open and lid is shut, go: asleep}]}
rules:
  - {name: quiet with the lid open, never: bell is ringing and lid is open, for: 100 ms}
  - {name: it can sleep, way back: box in tired}
walkthroughs:
  one knock:
    - press knock
    - see box in awake within 50 ms
"""


def known_of(model: Model) -> Coverage:
    return coverage(model, [perform(model, walk).moments for walk in model.walkthroughs])


def proposed_for(model: Model) -> tuple[tuple[Proposal, ...], Coverage]:
    beyond = beyond_walkthroughs(model, Budget(seconds=20))
    return proposals(model, known_of(model), beyond, loops=20_000)


def test_what_was_played_was_shown_and_nothing_else() -> None:
    known = known_of(model_of(BOX))

    assert known.shown == {
        Mark(Sort.STATE, "box", 0),
        Mark(Sort.STATE, "box", 1),
        Mark(Sort.TRANSITION, "box", 0),
    }
    assert known.missing(Sort.STATE) == (Mark(Sort.STATE, "box", 2),)
    assert known.missing(Sort.RULE) == (
        Mark(Sort.RULE, "quiet with the lid open"),
        Mark(Sort.RULE, "it can sleep"),
    )


def test_what_a_rule_waits_for_must_come_about_in_one_walkthrough() -> None:
    model = model_of(f"{BOX}  lid:\n    - lid becomes open\n    - pause 1 s\n")

    assert Mark(Sort.RULE, "quiet with the lid open") in known_of(model).missing()


def test_what_is_missing_is_proposed_and_what_cannot_be_is_said() -> None:
    model = model_of(BOX)
    found, known = proposed_for(model)

    assert [(step_words(model, step)) for step in found[0].walkthrough.steps] == [
        "press knock",
        "see box in awake within 50 ms",
        "see box in tired within 1 s",
    ]
    never = Mark(Sort.TRANSITION, "box", 3)
    assert known.missing() == (never,)
    assert beyond_walkthroughs(model, Budget(seconds=20)) == {never: Beyond.NEVER}


def test_what_only_a_stalled_movement_brings_no_walkthrough_can_show() -> None:
    model = spec("specs/confetti-carousel.yaml")
    beyond = beyond_walkthroughs(model, Budget(seconds=20))
    jammed = model.region["carousel"].states[4]

    assert jammed.name == "jammed"
    assert beyond == {
        Mark(Sort.STATE, "carousel", jammed.number): Beyond.NET,
        Mark(Sort.TRANSITION, "carousel", 4): Beyond.NET,
        Mark(Sort.TRANSITION, "carousel", jammed.leave[0].number): Beyond.NET,
    }


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_proposals_put_into_the_file_run_through_and_show_what_they_say(path) -> None:
    text = path.read_text(encoding="utf-8")
    model = model_in(Source(path.name, text))
    found, known = proposals(model, known_of(model), loops=4_000)
    lines = "\n".join(proposal_lines(model, found))
    if not model.walkthroughs:
        text = f"{text}\nwalkthroughs:\n"
    whole = re.sub(r"(\nwalkthroughs:.*\n)", lambda found: f"{found[1]}{lines}\n", text)
    longer = model_in(Source(path.name, whole))
    played = [perform(longer, walk) for walk in longer.walkthroughs]

    assert found
    assert len(longer.walkthroughs) == len(model.walkthroughs) + len(found)
    assert [each.failure for each in played] == [None] * len(played)
    assert coverage(longer, [each.moments for each in played]).shown == known.shown


def test_the_carousel_lacks_only_its_safety_net_once_proposals_are_taken() -> None:
    _, known = proposed_for(spec("specs/confetti-carousel.yaml"))

    assert {mark.sort: len(known.missing(mark.sort)) for mark in known.missing()} == {
        Sort.STATE: 1,
        Sort.TRANSITION: 2,
    }


def test_it_is_told_what_was_shown_and_what_was_not() -> None:
    source = source_of("specs/confetti-carousel.yaml")
    model = model_in(source)
    beyond = beyond_walkthroughs(model, Budget(seconds=20))
    found, _ = proposals(model, known_of(model), beyond, loops=20_000)
    lines = coverage_text(source, model, known_of(model), found, beyond).splitlines()

    assert lines[0] == "specs/confetti-carousel.yaml: Confetti carousel, fingerprint 9c71-3658"
    assert "states       4 of 6" in lines
    assert lines[lines.index("   carousel.jammed") + 1].strip() == Beyond.NET.value
    assert "   empty: after 2 s: go idle (line 76)" in lines
    assert lines[lines.index("   carousel.empty") + 1].strip() == "`proposed 1` below shows it"


def test_an_unknown_value_proposes_nothing_and_does_not_fail() -> None:
    model, _ = read_model(Source("x.yaml", BOX.replace("after: 1 s", "after: unknown")))

    assert model is not None
    assert proposals(model, coverage(model, [])) == ((), coverage(model, []))


def test_the_command_tells_it_and_fails_where_a_walkthrough_fails(tmp_path, capsys) -> None:
    path = tmp_path / "box.yaml"
    path.write_text(BOX, encoding="utf-8")

    assert main(["rehearse", str(path), "--coverage"]) == 0
    assert "states       2 of 3\n" in capsys.readouterr().out

    path.write_text(BOX.replace("see box in awake", "see box in tired"), encoding="utf-8")

    assert main(["rehearse", str(path), "--coverage"]) == 1
    told = capsys.readouterr()
    assert "states       0 of 3\n" in told.out
    assert "`one knock` fails, and counts for nothing here" in told.err
