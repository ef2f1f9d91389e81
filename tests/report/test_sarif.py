"""SARIF is valid by the published schema, and says all that the text says."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from behaviour.cli import main
from behaviour.findings import KINDS

SCHEMA = Path(__file__).parent.parent / "outside" / "sarif-2.1.0.json"
"""OASIS, Static Analysis Results Interchange Format 2.1.0, as the package `schemastore` has it."""


def told(capsys: pytest.CaptureFixture[str], *names: str) -> dict[str, Any]:
    main(["check", *names, "--as", "sarif"])
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft7Validator(schema).validate(document)
    return document


def test_a_broken_prop_has_its_story_as_a_code_flow(capsys: pytest.CaptureFixture[str]) -> None:
    name = "specs/faulty/carousel-forgot-lid.yaml"

    (run,) = told(capsys, name)["runs"]

    first = run["results"][0]
    place = first["locations"][0]["physicalLocation"]
    flow = first["codeFlows"][0]["threadFlows"][0]["locations"]
    assert (first["ruleId"], first["level"]) == ("rule-broken", "error")
    assert place["artifactLocation"] == {"uri": name}
    assert (place["region"]["startLine"], place["region"]["startColumn"]) == (41, 15)
    assert flow[-1]["location"]["message"]["text"].startswith("0.760 s: `drum is not stopped")
    assert run["tool"]["driver"]["rules"][first["ruleIndex"]]["id"] == "rule-broken"
    assert len(run["tool"]["driver"]["rules"]) == len(KINDS) + 1


def test_mistakes_what_is_excused_and_what_is_open_are_told_apart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("language: 1\nprop: Nothing\nlop: 10 ms\n", encoding="utf-8")

    (run,) = told(capsys, str(wrong), "specs/fortune-teller.yaml")["runs"]

    mistakes = [each for each in run["results"] if each["ruleId"] == "mistake"]
    excused = [each for each in run["results"] if "suppressions" in each]
    assert {each["level"] for each in mistakes} == {"error"}
    assert any("lop" in each["message"]["text"] for each in mistakes)
    assert [each["suppressions"][0]["kind"] for each in excused] == ["inSource"] * len(excused)
    assert excused


def test_what_is_not_decided_is_open(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "specs/treasure-chest.yaml", "--as", "sarif", "--limit", "0.05"])

    (run,) = json.loads(capsys.readouterr().out)["runs"]

    assert [each for each in run["results"] if each.get("kind") == "open"]
