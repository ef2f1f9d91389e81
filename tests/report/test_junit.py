"""JUnit's XML as pytest itself writes it: no element and no attribute that servers do not know."""

import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from behaviour.cli import main

ALL_KINDS = """
import pytest, sys
def test_good(): print("some words")
def test_bad(): assert 1 == 2
@pytest.fixture
def broken(): raise ValueError
def test_error(broken): pass
"""


def names_in(root: ET.Element) -> set[tuple[str, str]]:
    """List each element with each of its attributes."""
    return {(each.tag, name) for each in root.iter() for name in ("", *each.attrib)}


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> ET.Element:
    main(["check", *arguments, "--as", "junit"])
    return ET.fromstring(capsys.readouterr().out)


def test_nothing_stands_in_it_that_pytest_does_not_write(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "test_kinds.py").write_text(ALL_KINDS, encoding="utf-8")
    written = tmp_path / "pytest.xml"
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-o",
        "junit_logging=all",
        f"--junitxml={written}",
    ]
    subprocess.run([*command, str(tmp_path)], capture_output=True, cwd=tmp_path, check=False)

    ours = told(capsys, "specs/faulty/carousel-forgot-lid.yaml", "specs/confetti-carousel.yaml")

    assert names_in(ours) <= names_in(ET.parse(written).getroot())


def test_each_rule_and_check_is_a_case_and_the_counts_are_those_of_the_cases(
    capsys: pytest.CaptureFixture[str],
) -> None:
    root = told(capsys, "specs/faulty/carousel-forgot-lid.yaml")

    (suite,) = root
    cases = suite.findall("testcase")
    failed = [each.get("name") for each in cases if each.find("failure") is not None]
    assert int(suite.get("tests", "")) == len(cases)
    assert int(suite.get("failures", "")) == len(failed) == 4
    assert failed == [
        "nothing turns under an open lid",
        "guard-open-moves",
        "starts-unasked",
        "guard-closing-starts",
    ]


def test_a_file_that_cannot_be_read_is_an_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("language: 1\nlop: 10 ms\n", encoding="utf-8")

    (suite,) = told(capsys, str(wrong))

    assert (suite.get("errors"), suite.get("tests")) == ("1", "1")
    error = suite[0].find("error")
    assert error is not None
    assert error.get("message") == "`lop` is not a part of a behaviour file"
    assert f"mistake  {wrong}:2:1" in (error.text or "")
