"""The ladder: its rungs, its sheet read back, and what follows from it."""

import pytest

from behaviour.cli import main
from behaviour.fingerprint import fingerprint
from behaviour.numbers.figures import Missing
from behaviour.numbers.ladder import (
    Climbed,
    Outcome,
    Rung,
    ladder,
    limits,
    lines_for_the_file,
    rounded_down,
)
from behaviour.report.ladder_sheet import SheetError, ladder_csv, read_ladder, results_text
from tests.numbers.drives import carousel, drive
from tests.reading import spec

PATH = "specs/confetti-carousel.yaml"
CAROUSEL = spec(PATH)
DRUM = CAROUSEL.drives[0]


def climbed(*outcomes: str | None) -> list[Climbed]:
    """Climb the speed rungs of the carousel with these outcomes, from the lowest on."""
    return [
        Climbed(rung, None if seen is None else Outcome(seen))
        for rung, seen in zip(ladder(carousel()), outcomes, strict=False)
    ]


def test_speed_comes_first_at_half_the_ramp_and_then_the_ramp_at_the_files_speed():
    rungs = ladder(carousel())
    assert rungs[0] == Rung(1, "speed", 20, 75)
    assert rungs[8] == Rung(9, "speed", 120, 75)
    assert rungs[9] == Rung(10, "ramp", 40, 75)
    assert rungs[-1] == Rung(15, "ramp", 40, 450)


def test_without_a_first_guess_there_is_no_ladder():
    assert ladder(drive(steps="200", speed="40 rpm")) == Missing(("drum.ramp",))


def test_the_setting_is_at_most_two_thirds_of_what_stalled():
    speed, _ = limits(climbed("ok", "ok", "ok", "ok", "ok", "stalled"))
    assert (speed.stalled, speed.ran, speed.setting) == (70, 60, 46)


def test_the_setting_is_never_more_than_what_ran():
    speed, _ = limits(climbed("ok", "stalled"))
    assert (speed.stalled, speed.ran, speed.setting) == (30, 20, 20)


def test_what_was_not_seen_to_stall_is_known_only_as_far_as_it_ran():
    speed, _ = limits(climbed("ok", "ok", "ok"))
    assert (speed.stalled, speed.ran, speed.setting) == (None, 40, 26)
    assert "not seen to stall up to 40 rpm" in speed.words


def test_nothing_follows_where_no_rung_was_ok():
    speed, ramp = limits(climbed("rough", "stalled"))
    assert (speed.setting, ramp.setting) == (None, None)
    assert lines_for_the_file((speed, ramp), "") == ("stalled: {value: 30 rpm, known: measured}",)


def test_rough_rungs_are_told_and_one_that_ran_above_a_stall_too():
    speed, _ = limits(climbed("ok", "rough", "ok", "stalled", "ok"))
    assert "keep away from 30 rpm" in speed.words
    assert "it ran at more than that" in speed.words


def test_margins_are_rounded_down():
    assert [rounded_down(value) for value in (46.67, 0.0199, 150.0, 0)] == [46, 0.019, 150, 0]


def test_a_sheet_that_was_filled_in_is_read_back_as_it_was_made():
    text = ladder_csv(CAROUSEL, DRUM, ladder(DRUM))
    filled = read_ladder(text)
    assert (filled.drive, filled.fingerprint, filled.day) == ("drum", fingerprint(CAROUSEL), "")
    assert tuple(each.rung for each in filled.climbed) == ladder(DRUM)
    assert {each.outcome for each in filled.climbed} == {None}


WRONG = {
    "day,yesterday\n": "`yesterday` is not a day: write `2026-11-25`",
    "rung\n": "line 1: here stands `rung,tries,speed in rpm,ramp in rpm/s,result,remark`",
    "day,\n": "it has no rung",
}
HEAD = "rung,tries,speed in rpm,ramp in rpm/s,result,remark\n"
WRONG_ROWS = {
    "1,speed,20,75,good,\n": "line 2: `good` is no result: write `ok`, `rough` or `stalled`",
    "1,speed,fast,75,ok,\n": "line 2: `fast` and `75` are to be numbers",
    "one,speed,20,75,ok,\n": "line 2: a rung is written `3,speed,40,75,ok,`",
}


@pytest.mark.parametrize(
    ("text", "words"),
    [*WRONG.items(), *((HEAD + row, words) for row, words in WRONG_ROWS.items())],
)
def test_a_sheet_that_cannot_be_read_says_where_and_what_is_right(text, words):
    with pytest.raises(SheetError) as wrong:
        read_ladder(text)
    assert words in str(wrong.value)


def test_what_to_write_carries_the_day_of_the_build(tmp_path, capsys):
    text = ladder_csv(CAROUSEL, DRUM, ladder(DRUM)).replace("day,", "day,2026-11-25")
    for rung, outcome in (("5,speed,60,75", "ok"), ("6,speed,70,75", "stalled")):
        text = text.replace(f"{rung},,", f"{rung},{outcome},hums")
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(text, encoding="utf-8")
    assert main(["bench", PATH, "--results", str(sheet)]) == 0
    told = capsys.readouterr().out
    assert "speed: {value: 46 rpm, known: measured, on: 2026-11-25}" in told
    assert "stalled: {value: 70 rpm, known: measured, on: 2026-11-25}" in told
    assert "the file has 40 rpm: within that; it stalled at 1.8 times it" in told
    assert "rung 6 (70 rpm, 75 rpm/s) stalled: hums" in told


def test_a_sheet_of_another_file_is_noticed():
    text = ladder_csv(CAROUSEL, DRUM, ladder(DRUM))
    filled = read_ladder(text.replace(fingerprint(CAROUSEL), "0000-0000"))
    told = results_text(CAROUSEL, DRUM, filled, limits(filled.climbed))
    assert "the sheet was made for fingerprint 0000-0000" in told
    assert "the sheet has no day" in told


def test_a_drive_that_there_is_not_is_told_with_the_nearest(capsys):
    assert main(["bench", PATH, "--ladder", "drumm"]) == 2
    assert "there is no drive `drumm`: there is `drum`" in capsys.readouterr().err


def test_the_ladder_is_printed_and_written_as_csv(tmp_path, capsys):
    assert main(["bench", PATH, "--ladder", "drum"]) == 0
    assert "   1  speed     20 rpm      75 rpm/s  __________" in capsys.readouterr().out
    out = tmp_path / "sheet.csv"
    assert main(["bench", PATH, "--ladder", "drum", "--out", str(out)]) == 0
    assert "1,speed,20,75,," in out.read_text(encoding="utf-8")
    assert main(["bench", PATH, "--ladder", "drum", "--as", "html"]) == 2
