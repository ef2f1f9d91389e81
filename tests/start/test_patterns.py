"""A new file checks clean, whatever was answered, and nothing is ever written over."""

import re
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from behaviour.cli import main
from behaviour.language.load import read_model
from behaviour.language.schema import schema, schema_text
from behaviour.pipeline import Readable, check, read
from behaviour.rehearse.walking import perform
from behaviour.source import Source
from behaviour.start.asking import ask_pattern, ask_rest
from behaviour.start.pattern import PATTERNS, Pattern, WrongAnswerError, filled

OTHERS = {
    "prop": 'The "great" wheel: one\\two',
    "motor": "wheel",
    "lid": "hatch",
    "start": "pull",
    "arm": "hand",
    "out": "lift",
    "back": "sink",
    "door": "curtain",
    "figure": "ghost",
    "longest": "12.5 s",
    "pause": "500 ms",
}
SHORT = {"longest": "500 ms", "pause": "1 min"}

EACH = pytest.mark.parametrize("pattern", PATTERNS, ids=lambda pattern: pattern.name)


@EACH
@pytest.mark.parametrize("answers", [{}, OTHERS, SHORT], ids=["usual", "others", "short"])
def test_a_new_file_checks_without_a_doubt_and_its_walkthrough_comes_out(
    pattern: Pattern, answers: dict[str, str], tmp_path: Path
) -> None:
    text, path = filled(pattern, answers), tmp_path / "new.yaml"
    path.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    readable = read(Source(pattern.name, text))
    assert isinstance(readable, Readable)

    checked = check(readable, 60.0)

    assert {finding.severity.value for finding in checked.outcome.findings} <= {"note"}
    assert [perform(readable.model, each).failure for each in readable.model.walkthroughs] == [None]


@EACH
def test_a_new_file_fits_the_schema(pattern: Pattern) -> None:
    data = yaml.load(filled(pattern, OTHERS), yaml.BaseLoader)

    assert list(Draft202012Validator(schema()).iter_errors(data)) == []
    assert data["prop"] == OTHERS["prop"]


@EACH
def test_every_question_has_its_place_in_the_file(pattern: Pattern) -> None:
    usual = filled(pattern, {})
    for question in pattern.questions:
        assert filled(pattern, {question.word: OTHERS[question.word]}) != usual


@EACH
def test_the_card_of_a_new_file_lacks_only_whom_to_call(
    pattern: Pattern, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "new.yaml"
    path.write_text(filled(pattern, {}), encoding="utf-8")

    assert main(["card", str(path)]) == 0
    left_open = [line for line in capsys.readouterr().out.splitlines() if "not written" in line]
    assert left_open == ["**Call**: not written down: ask before you go on"]


def test_times_worked_out_are_written_as_a_person_would() -> None:
    text = filled(PATTERNS[0], {"longest": "3 s"})

    assert "run_limit: 3.5 s " in text
    assert "takes: 1.5 s to 3 s" in text
    assert "at most: 12 s" in text


def test_answers_that_do_not_fit_are_refused() -> None:
    lid = PATTERNS[0]
    for answers, why in (
        ({"motor": "while"}, "`while` is a word of C or C++ and cannot be a name"),
        ({"motor": "two words"}, "`two words` cannot be a name"),
        ({"longest": "20"}, "`20` has no unit"),
        ({"longest": "2 min"}, "`2 min` does not suit"),
        ({"motor": "lamp"}, "the answers do not go together"),
        ({"motor": "one", "lid": "one"}, "the answers do not go together"),
    ):
        with pytest.raises(WrongAnswerError, match=re.escape(why)):
            filled(lid, answers)


def test_what_is_asked_is_asked_again_until_it_fits() -> None:
    said: list[str] = []
    heard = iter(["9", "2", "", "no name", "claw", "", "3 s"])

    def hear(words: str) -> str:
        said.append(words)
        return next(heard)

    pattern = ask_pattern(said.append, hear)
    answers = ask_rest(pattern, {}, said.append, hear)

    assert pattern.name == "cues"
    assert answers == {
        "prop": "Scene with cues",
        "arm": "claw",
        "start": "trigger",
        "pause": "3 s",
    }
    assert said.count("what does the servo move? [arm] ") == 2


def test_the_command_writes_the_file_and_the_schema_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)

    code = main(["new", "wheel", "--pattern", "motor_and_lid", "--answer", "motor=wheel"])

    text = Path("wheel.yaml").read_text(encoding="utf-8")
    assert code == 0
    assert text.splitlines()[0] == "# yaml-language-server: $schema=tablework.schema.json"
    assert Path("tablework.schema.json").read_text(encoding="utf-8") == schema_text()
    model, mistakes = read_model(Source("wheel.yaml", text))
    assert mistakes == ()
    assert model is not None
    assert "wheel" in model.output_index
    assert capsys.readouterr().out.startswith("written: wheel.yaml\n")


def test_nothing_is_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("wheel.yaml").write_text("mine", encoding="utf-8")
    Path("tablework.schema.json").write_text("{}", encoding="utf-8")

    assert main(["new", "wheel", "--pattern", "1"]) == 2
    assert "`wheel.yaml` is there already" in capsys.readouterr().err
    assert main(["new", "drum.yaml", "--pattern", "1"]) == 0
    assert "kept: tablework.schema.json" in capsys.readouterr().out
    assert Path("wheel.yaml").read_text(encoding="utf-8") == "mine"
    assert Path("tablework.schema.json").read_text(encoding="utf-8") == "{}"


def test_without_a_terminal_the_pattern_must_be_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)

    assert main(["new", "wheel"]) == 2
    assert "say `--pattern`" in capsys.readouterr().err
    assert main(["new", "wheel", "--pattern", "1", "--answer", "arm=x"]) == 2
    assert "answers none of the questions" in capsys.readouterr().err
    assert main(["new", "--schema"]) == 0
    assert capsys.readouterr().out == schema_text()
    assert list(tmp_path.iterdir()) == []
