"""The failure worksheet of a demo prop, in each of its forms."""

import csv
import io
import json
from functools import cache

import pytest

from behaviour.check.faulting import Cell, Worksheet, worksheet
from behaviour.check.noticing import Notice, notices
from behaviour.check.run import Limits
from behaviour.check.unsearched import may_matter
from behaviour.cli import main
from behaviour.faults import Chatters, Fault, Hangs, Stuck, Welded
from behaviour.report.worksheet import COLUMNS
from behaviour.report.worksheet_data import worksheet_csv, worksheet_object
from behaviour.report.worksheet_html import worksheet_html
from behaviour.report.worksheet_text import worksheet_text
from tests.reading import ROOT, source_of, spec

CAROUSEL = spec("specs/confetti-carousel.yaml")
SOURCE = source_of("specs/confetti-carousel.yaml")


@cache
def sheet() -> Worksheet:
    return worksheet(CAROUSEL, Limits(seconds=120))


def cell(fault: Fault, rule: str) -> Cell:
    row = next(row for row in sheet().rows if row.faults == (fault,))
    return next(effect.cell for effect in row.effects if effect.name == rule)


def test_a_lid_switch_stuck_at_closed_is_beyond_software():
    assert cell(Stuck("lid", "closed"), "nothing turns under an open lid") is Cell.BEYOND


def test_a_mark_that_never_comes_is_caught_by_the_time_that_a_turn_may_take():
    assert cell(Stuck("mark", "clear"), "the drum never runs away") is Cell.CAUGHT


def test_a_relay_welded_shut_is_never_counted_as_caught():
    assert cell(Welded("drum", "forward"), "the drum never runs away") is not Cell.CAUGHT


def test_a_lid_that_reads_shut_lets_the_drum_turn_under_it_and_no_program_can_tell():
    assert cell(Stuck("lid", "closed"), "guard-open-moves") is Cell.BEYOND


def test_what_cannot_depend_on_a_fault_is_not_asked_again():
    rules = {rule.name: rule for rule in CAROUSEL.rules}

    assert not may_matter(CAROUSEL, (Welded("lamp", "red"),), rules["air only at a tube"])
    assert not may_matter(
        CAROUSEL, (Chatters("trigger", longer=True),), rules["the drum never runs away"]
    )
    assert may_matter(CAROUSEL, (Hangs(),), rules["air only at a tube"])


def test_every_broken_cell_has_a_story_that_is_told_once_for_its_requirement():
    runs = [
        (effect.name, effect.finding.run)
        for row in sheet().rows
        for effect in row.effects
        if effect.cell in (Cell.BROKEN, Cell.BEYOND) and effect.finding is not None
    ]

    told = [(name, run) for name, run in runs if run is not None]
    assert len(told) > 5
    assert len({(name, run.stimuli, run.faults) for name, run in told}) == len(told)


def test_what_a_file_has_against_a_fault_is_read_off_it():
    assert notices(CAROUSEL, Stuck("mark", "clear")) == (
        Notice("after 1.5 s in turn", "carousel goes to jammed"),
    )
    assert notices(CAROUSEL, Hangs()) == ()
    assert notices(CAROUSEL, Stuck("lid", "open")) == (
        Notice("lid is open", "carousel goes to lid_open"),
    )
    assert notices(CAROUSEL, Stuck("lid", "closed")) == ()


def test_text_says_what_each_verdict_means_and_carries_the_cautions():
    text = worksheet_text(SOURCE, CAROUSEL, sheet(), 1.0)
    assert "it does not" not in text

    assert "beyond software  lid stuck at closed" in text
    assert "a cut-off without software must take it" in " ".join(text.split())
    assert "A software interlock is not a safety-rated one." in text


def test_json_and_csv_hold_the_same_rows():
    told = worksheet_object(SOURCE, CAROUSEL, sheet())
    lines = list(csv.reader(io.StringIO(worksheet_csv(CAROUSEL, sheet()))))
    rows = json.loads(json.dumps(told))["rows"]

    assert lines[0] == list(COLUMNS)
    assert [(r["item"], r["mode"], r["verdict"]) for r in rows] == [
        (line[0], line[1], line[3]) for line in lines[1:]
    ]


def test_the_page_has_a_row_for_each_fault_and_needs_nothing_from_elsewhere():
    page = worksheet_html(SOURCE, CAROUSEL, sheet())

    assert page.count("<tr class=") == len(sheet().rows)
    assert "http" not in page
    assert "<script" not in page


def test_the_command_writes_a_worksheet(
    tmp_path: object, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(str(tmp_path))
    spec = str(ROOT / "specs" / "faulty" / "kept-valve.yaml")

    code = main(["faults", spec, "--out", "sheet.html", "--limit", "20"])

    assert code in (0, 1, 3)
    assert capsys.readouterr().out == "written: sheet.html\n"


def test_a_worksheet_of_a_file_that_cannot_be_read_ends_with_2(tmp_path: object) -> None:
    assert main(["faults", f"{tmp_path}/none.yaml"]) == 2
