"""`compare`, and `draw --timing` of a recording, as their users meet them."""

import json
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from behaviour.cli import main
from tests.reading import ROOT
from tests.recordings.test_comparing import TOLD

CAROUSEL = str(ROOT / "specs" / "confetti-carousel.yaml")


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("good.log").write_text(TOLD, encoding="utf-8")
    Path("late.log").write_text(TOLD.replace("1370 ", "1420 "), encoding="utf-8")


def run(capsys, *arguments):
    code = main(arguments)
    out, err = capsys.readouterr()
    return code, out, err


def test_a_recording_that_agrees_ends_with_0_and_says_what_it_did_not_show(capsys):
    code, out, _ = run(capsys, "compare", CAROUSEL, "good.log")

    assert code == 0
    assert out.startswith("agrees  good.log: Confetti carousel, fingerprint 9c71-3658\n")
    assert "   not asked        nothing turns under an open lid\n" in out
    assert "not shown of the states\n   carousel.empty\n   carousel.jammed\n" in out


def test_the_first_difference_is_told_with_its_time_and_both_sides(capsys):
    code, out, _ = run(capsys, "compare", CAROUSEL, "late.log")

    assert code == 1
    first, *lines = out.splitlines()
    assert first == "differs  late.log: Confetti carousel, fingerprint 9c71-3658"
    assert lines[4].endswith("mark made  carousel: turn -> shot  drum stopped")
    assert lines[5:9] == [
        "   1.370 s  carousel in shot seen",
        "            carousel in shot@100ms expected, and seen 50 ms later",
        "   1.370 s  valve shut seen",
        "            valve open expected, and seen 50 ms later",
    ]


def test_json_says_the_same(capsys):
    code, out, _ = run(capsys, "compare", CAROUSEL, "late.log", "--as", "json")

    told = json.loads(out)
    assert code == 1
    assert told["verdict"] == "differs"
    assert told["differences"][1] == {
        "name": "valve",
        "at_ms": 1370.0,
        "seen": "shut",
        "expected": ["open"],
    }
    assert {each["name"]: each["verdict"] for each in told["rules"]} == {
        "nothing turns under an open lid": "not asked",
        "the drum never runs away": "not broken here",
        "every pull is answered": "not broken here",
        "air only at a tube": "not broken here",
        "there is always a way back": "not judged",
    }


def test_the_picture_marks_the_difference_and_dots_what_was_expected(capsys):
    run(capsys, "compare", CAROUSEL, "late.log", "--picture", "late.svg")

    drawn = Path("late.svg").read_text(encoding="utf-8")
    words = [each.text for each in ET.fromstring(drawn).iter() if each.text]
    assert "1.37 s  carousel shot@100ms, valve open expected" in words
    assert any("Dotted: what the behaviour has" in each for each in words)


def test_a_recording_is_drawn_as_any_run_is(capsys):
    code, out, _ = run(capsys, "draw", CAROUSEL, "--timing", "good.log", "--out", "good.svg")

    words = [each.text for each in ET.parse("good.svg").iter() if each.text]
    assert code == 0
    assert out == "drawn: good.svg\n"
    assert {"lid", "trigger", "mark", "carousel", "loaded", "drum", "valve", "lamp"} <= set(words)


def test_each_power_up_of_a_trace_is_compared(capsys):
    Path("twice.log").write_text(TOLD + TOLD, encoding="utf-8")

    code, out, _ = run(capsys, "compare", CAROUSEL, "twice.log")

    assert code == 0
    assert out.count("agrees  twice.log, from the power-up in line") == 2


def test_each_power_up_that_is_named_is_compared_from_there_on(capsys):
    rows = (
        "time [ms],lid,lamp,trigger,mark",
        "0,closed,white,released,clear",
        "705,,green,,",
        "1000,open,,,",
        "1015,,white,,",
        "2400,closed,,,",
        "3205,,green,,",
        "5000,,,,",
    )
    Path("twice.csv").write_text("\n".join(rows), encoding="utf-8")
    asked = ("compare", CAROUSEL, "twice.csv", "--power-up", "0 ms", "--power-up", "2.5 s")

    code, out, _ = run(capsys, *asked)

    assert code == 0
    assert "agrees  twice.csv, from the power-up at 0 ms" in out
    assert "agrees  twice.csv, from the power-up at 2.5 s" in out


def test_what_cannot_be_compared_is_said_in_one_line(capsys):
    Path("bad.log").write_text("hello\n", encoding="utf-8")

    code, out, err = run(capsys, "compare", CAROUSEL, "bad.log")

    assert (code, out) == (2, "")
    assert err == (
        "tablework: `bad.log` cannot be compared: line 1: `hello` does not begin a table of "
        "signals: the first column is the time, such as `time [ms]` (or s, us); the others are "
        "signals\n"
    )


@pytest.mark.parametrize(
    ("option", "says"),
    [
        (("--slack", "2"), "`2` has no unit"),
        (("--clocks", "fast"), "`fast` is not a share of a clock, such as `1`"),
        (("--late", "-1"), "`-1` is not a number of loops"),
    ],
)
def test_a_wrong_option_is_said_in_one_line(capsys, option, says):
    code, _, err = run(capsys, "compare", CAROUSEL, "good.log", *option)

    assert code == 2
    assert says in err
    assert err.count("\n") == 1


def test_no_time_to_compare_is_not_decided(capsys):
    code, out, _ = run(capsys, "compare", CAROUSEL, "good.log", "--limit", "0.000001")

    assert code == 3
    assert out.startswith("not decided  good.log")
    assert "the time for it is over" in out
