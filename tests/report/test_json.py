"""The report as data: its form is that of the schema, its facts those of the text."""

import json
from dataclasses import replace
from importlib.resources import files

import pytest
from jsonschema import Draft202012Validator

from behaviour.findings import (
    KIND,
    NOT_CHECKED_YET,
    Answer,
    Explored,
    Finding,
    Label,
    Mistake,
    Run,
    Severity,
    Stimulus,
)
from behaviour.fingerprint import fingerprint
from behaviour.report.json import mistakes_object, outcome_object
from behaviour.source import NOWHERE, Source, Span
from tests.carousel import FORGETFUL
from tests.reading import model_in
from tests.report.findings import RULE, forgotten_lid, outcome

SCHEMA = json.loads(files("behaviour.report").joinpath("check.schema.json").read_text())
VALIDATOR = Draft202012Validator(SCHEMA)


@pytest.fixture
def source() -> Source:
    return FORGETFUL


def test_the_schema_is_one():
    Draft202012Validator.check_schema(SCHEMA)


def test_a_checked_file_has_the_form_of_the_schema_and_its_facts(source):
    model = model_in(source)

    told = outcome_object(source, model, outcome(forgotten_lid(), answer=Answer.BROKEN))

    VALIDATOR.validate(told)
    assert {key: told[key] for key in ("format", "file", "prop", "verdict", "explored")} == {
        "format": 1,
        "file": "forgetful.yaml",
        "prop": "Forgetful carousel",
        "verdict": "broken",
        "explored": {"symbolic_states": 412, "complete": True, "seconds": 0.081},
    }
    assert told["fingerprint"] == fingerprint(model)
    assert told["rules"] == [{"name": RULE, "verdict": "broken"}]
    assert told["not_checked"] == list(NOT_CHECKED_YET)


def test_a_finding_carries_its_places_and_its_story(source):
    told = outcome_object(source, model_in(source), outcome(forgotten_lid()))
    found = told["findings"][0]
    story = found.pop("story")

    assert found == {
        "name": "rule-broken",
        "rule": RULE,
        "severity": "broken",
        "line": 23,
        "column": 15,
        "end_line": 23,
        "end_column": 28,
        "message": "the drum turns for more than 40 ms under an open lid",
        "label": "nothing in this state looks at the lid",
        "hint": "an interlock `{when: lid is open, go: ...}` in carousel stops the drum",
        "also": ["runaway"],
        "related": [
            {"line": 32, "column": 45, "end_line": 32, "end_column": 67, "message": "the rule"}
        ],
    }
    assert (story["breach_loop"], story["steps"][0]["says"]) == (
        79,
        "power on, lid closed (not counted yet), drum_position between",
    )


def test_a_finding_without_rule_or_story_has_no_such_key(source):
    found = Finding(
        kind=KIND["unused"],
        severity=Severity.NOTE,
        message="nothing uses it",
        at=Label(NOWHERE, ""),
        excused="a spare",
    )

    told = outcome_object(source, model_in(source), outcome(found))

    VALIDATOR.validate(told)
    assert told["verdict"] == "ok"
    assert told["findings"][0].keys() & {"rule", "story", "excused"} == {"excused"}


def test_an_endless_story_has_the_form_of_the_schema(source):
    model = model_in(source)
    still = Stimulus(raw=("closed", "released"), mechanism=(0,))
    found = replace(forgotten_lid(), run=Run(stimuli=(still,) * 90, repeats_from=71))

    told = outcome_object(source, model, outcome(found))

    VALIDATOR.validate(told)
    assert told["findings"][0]["story"]["repeats_from"] == 71


def test_what_is_not_decided_has_its_limit(source):
    stopped = replace(
        outcome(answer=Answer.NOT_DECIDED, why="needs `turn.after`"),
        explored=Explored(
            symbolic_states=9, complete=False, seconds=60.0, limit="60 s", reached="9 situations"
        ),
    )

    told = outcome_object(source, model_in(source), stopped)

    VALIDATOR.validate(told)
    assert (told["verdict"], told["limit"], told["reached"]) == (
        "not decided",
        "60 s",
        "9 situations",
    )
    assert told["rules"][0]["why"] == "needs `turn.after`"


def test_a_file_that_cannot_be_read_gives_its_mistakes_as_findings():
    source = Source("lamp.yaml", "colour: red\n")
    mistake = Mistake(
        message="`colour` is not known",
        at=Label(Span(1, 1, 1, 7), "here"),
        related=(Label(Span(1, 9, 1, 12), "its value"),),
        hint="leave it out",
    )

    told = mistakes_object(source, (mistake,))

    VALIDATOR.validate(told)
    assert (told["verdict"], told["findings"][0]["name"]) == ("unreadable", "mistake")
    assert told["findings"][0]["end_column"] == 7


def test_the_schema_refuses_what_is_not_of_its_form(source):
    told = outcome_object(source, model_in(source), outcome(forgotten_lid()))

    assert not VALIDATOR.is_valid(told | {"colour": "red"})
    assert not VALIDATOR.is_valid(told | {"verdict": "fine"})
    assert not VALIDATOR.is_valid({key: told[key] for key in told if key != "not_checked"})
