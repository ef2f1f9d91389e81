"""The faulty props give their planted findings, and no demo prop gives one that is not excused."""

from pathlib import Path

import pytest

from behaviour.check.run import Limits
from behaviour.findings import Answer, Outcome, Severity
from behaviour.language.load import read_model
from behaviour.pipeline import Checked, check_source
from behaviour.source import Source
from tests.expectations import read_expectations

SPECS = Path(__file__).parents[1] / "specs"
DEMOS = sorted(SPECS.glob("*.yaml"))
FAULTY = sorted((SPECS / "faulty").glob("*.yaml"))
SECONDS = 600


def checked(path: Path) -> Checked:
    result = check_source(Source(path.name, path.read_text(encoding="utf-8")), SECONDS)
    assert isinstance(result, Checked)
    return result


def not_excused(outcome: Outcome) -> list[str]:
    return [
        f"{each.kind.name}: {each.message}"
        for each in outcome.findings
        if each.severity is not Severity.NOTE
    ]


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_a_faulty_prop_gives_each_planted_finding(path):
    outcome = checked(path).outcome
    expected = read_expectations(path.read_text(encoding="utf-8"))

    missing = [
        one
        for one in expected
        if not any(
            one.is_met_by(name, each.place, each.rule)
            for each in outcome.findings
            for name in (each.kind.name, *each.also)
        )
    ]
    assert missing == []


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_a_faulty_prop_is_decided_whole(path):
    outcome = checked(path).outcome

    assert outcome.explored.complete
    assert any(each.severity is Severity.BROKEN for each in outcome.findings)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_prop_gives_nothing_that_is_not_excused(path):
    assert not_excused(checked(path).outcome) == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_prop_is_decided_whole_and_every_rule_holds(path):
    outcome = checked(path).outcome

    assert [verdict.name for verdict in outcome.rules if verdict.answer is not Answer.HOLDS] == []
    assert [verdict.name for verdict in outcome.checks if verdict.answer is not Answer.HOLDS] == []
    assert outcome.explored.complete


def test_a_limit_of_no_time_decides_nothing_and_claims_nothing():
    path = SPECS / "fog-cannon.yaml"
    model, _ = read_model(Source(path.name, path.read_text(encoding="utf-8")))
    assert model is not None
    from behaviour.check.run import check_model

    outcome = check_model(model, Limits(seconds=0, states=10))

    assert "holds" not in {verdict.answer.value for verdict in outcome.rules}
