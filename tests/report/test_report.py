"""The report: everything on one page, which is HTML as the standard has it and loads nothing."""

import re
from pathlib import Path

import pytest

from behaviour.cli import main
from behaviour.findings import Severity
from behaviour.pipeline import Checked, check_source
from behaviour.report.report_html import Material, Played, report_html
from behaviour.source import Source
from tests.reading import source_of
from tests.report.html_pages import FETCHED, read_strictly

SECTIONS = [
    "What was found",
    "The states",
    "Findings",
    "The behaviour in sentences",
    "Each state by each thing that can happen",
    "Wiring",
]


def checked(name: str) -> Checked:
    result = check_source(source_of(name), 300)
    assert isinstance(result, Checked)
    return result


def titles(page: str) -> list[str]:
    return re.findall(r'<section id="s\d+">\n<h2>([^<]*)</h2>', page)


def test_a_broken_prop_has_each_finding_with_its_story_drawn_and_told() -> None:
    file = checked("specs/faulty/carousel-forgot-lid.yaml")

    page = report_html(Material(file.source, file.model, file.outcome))

    told = [each for each in file.outcome.findings if each.severity is not Severity.NOTE]
    broken = [each for each in told if each.severity is Severity.BROKEN]
    read_strictly(page)
    assert titles(page) == SECTIONS
    assert page.count('<span class="severity">broken</span>') == len(broken) == 3
    assert page.count("<figure><svg") == 2 + sum(each.run is not None for each in told)
    assert "has now held for 50 ms, 10 ms of it sensing; 40 ms are allowed" in page
    assert "To change: an interlock" in page
    assert "<b>broken</b>: 3 broken, 2 doubtful, 6 notes" in page
    assert re.search(r"<li>checks that found something: [^<]*guard-open-moves", page)


def test_a_story_in_which_nothing_changes_has_no_chart() -> None:
    text = """\
language: 1
prop: Fan
loop: 10 ms
inputs: {tap: {kind: button, steady: 20 ms}}
outputs: {fan: {kind: motor, values: [stopped, forward]}}
regions: {fan_runs: {begins: on, states: {on: {set: {fan: forward}}}}}
"""
    result = check_source(Source("fan.yaml", text), 60)
    assert isinstance(result, Checked)

    page = report_html(Material(result.source, result.model, result.outcome))

    assert "runaway" in page
    assert "power on" in page
    assert page.count("<figure><svg") == 2


def test_what_is_on_the_page_is_all_that_it_is_made_of() -> None:
    file = checked("specs/confetti-carousel.yaml")
    played = (Played("one clean shot"), Played("another", "`lid` is `open` already"))

    page = report_html(Material(file.source, file.model, file.outcome, played=played))

    links = [each for each in FETCHED.findall(page) if each != "href="]
    read_strictly(page)
    assert links == []
    assert set(re.findall(r'href="([^"]*)"', page)) == {f"#s{n}" for n in range(1, 7)}
    assert "one clean shot: as told" in page
    assert "another: failed, `lid` is `open` already" in page


def test_the_command_writes_the_page_and_ends_as_a_check_does(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "report.html"

    assert main(["report", "specs/confetti-carousel.yaml", "--out", str(page)]) == 0
    assert capsys.readouterr().out == f"written: {page}\n"
    text = page.read_text(encoding="utf-8")
    read_strictly(text)
    assert "The numbers behind it" in titles(text)
    assert "one clean shot: as told" in text
    assert main(["report", "specs/faulty/carousel-forgot-lid.yaml", "--out", str(page)]) == 1
