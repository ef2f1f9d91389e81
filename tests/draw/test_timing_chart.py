"""What a timing chart says of a run, and how it stands in a real browser."""

import re
from xml.etree import ElementTree as ET

import pytest

from behaviour.draw.paint import pdf, png
from behaviour.draw.stories import stories_of, story_named
from behaviour.draw.svg import DARK, LIGHT, svg
from behaviour.draw.timing.axis import LAST, STRIP, strips, ticks
from behaviour.draw.timing.chart import timing_chart
from behaviour.draw.timing.lanes import Sort, Stretch, Timer, lanes_of
from behaviour.pipeline import check_source
from tests.carousel import FORGETFUL
from tests.draw.browser import a_browser, contrast, overlapping_texts
from tests.reading import source_of

CHECKED = [
    check_source(FORGETFUL, 20),
    check_source(source_of("specs/faulty/skeleton-jogs-on.yaml"), 20),
    check_source(source_of("specs/faulty/claw-closes-again.yaml"), 20),
    check_source(source_of("specs/faulty/hatch-and-arm-wait.yaml"), 20),
]
STORIES = [(each.model, story) for each in CHECKED for story in stories_of(each.outcome.findings)]


@pytest.fixture(scope="module")
def browser():
    with a_browser() as found:
        yield found


def charts():
    for model, story in STORIES:
        yield timing_chart(model, story.run, story.title, story.breach)


def broken_lid():
    checked = CHECKED[0]
    story = story_named(stories_of(checked.outcome.findings), "guard-open-moves")
    assert story is not None
    return checked.model, story


# --- What it says -------------------------------------------------------------------------------


def test_each_thing_that_changes_is_a_lane_and_the_rest_is_said_to_be_still():
    model, story = broken_lid()

    lanes = lanes_of(model, story.run, "broken")

    named = {lane.name: lane for lane in lanes.lanes}
    assert named["lid"].sort is Sort.INPUT
    assert named["lid"].levels == ("closed", "open")
    assert [stretch.value for stretch in named["carousel"].stretches][-1] == "turn"
    assert {lane.name for lane in (*lanes.lanes, *lanes.still)} == {
        "lid",
        "trigger",
        "carousel",
        "drum",
        "drum_position",
        "lamp",
    }
    (mark,) = lanes.marks
    assert (mark.loop, mark.words, mark.is_breach) == (story.run.breach, "broken", True)


def test_what_a_switch_really_is_begins_before_it_counts():
    model, story = broken_lid()

    lid = next(lane for lane in lanes_of(model, story.run, "").lanes if lane.name == "lid")

    counted = [stretch.first for stretch in lid.stretches if stretch.value == "closed"]
    really = [stretch.first for stretch in lid.other if stretch.value == "closed"]
    assert counted[0] - really[0] == 20  # 200 ms of `steady`, in loops of 10 ms


def test_a_timer_runs_from_entering_a_state_to_when_it_is_due():
    checked = check_source(source_of("specs/faulty/carousel-forgot-lid.yaml"), 20)
    story = story_named(stories_of(checked.outcome.findings), "never-taken")
    assert story is not None

    lane = next(
        lane for lane in lanes_of(checked.model, story.run, "").lanes if lane.name == "carousel"
    )

    turns = [stretch for stretch in lane.stretches if stretch.value == "turn"]
    timers = [timer for timer in lane.timers if timer.words == "1.5 s"]
    assert timers == [Timer("1.5 s", turn.first, turn.end, 150) for turn in turns]
    jammed = turns[-1].end
    assert jammed - turns[-1].first == 150
    assert lane.stretches[-1] == Stretch("jammed", jammed, jammed + 1)


def test_the_breach_is_a_black_flag_with_its_time():
    model, story = broken_lid()

    drawn = svg(timing_chart(model, story.run, story.title, story.breach)).decode()

    at = f"{story.run.breach * 0.01:.2f} s"
    assert f">{at}  broken</text>" in drawn


def test_every_story_draws_and_says_its_name_and_the_same_bytes_twice():
    for (model, story), chart in zip(STORIES, charts(), strict=True):
        again = timing_chart(model, story.run, story.title, story.breach)
        drawn = svg(chart)

        assert drawn == svg(again)
        words = "".join(ET.fromstring(drawn).itertext()).replace("\n", "")
        assert story.name.split()[0] in words
    assert len(STORIES) >= 8


# --- The axis -----------------------------------------------------------------------------------


def test_time_runs_evenly_and_a_short_run_has_no_break():
    (strip,) = strips((0, 3, 10, 20, 21))

    assert strip.breaks() == ()
    assert strip.at(10) - strip.at(0) == pytest.approx(10 * (strip.at(4) - strip.at(3)))
    assert strip.at(21) - strip.at(20) == LAST


def test_a_long_wait_is_cut_with_a_break_and_keeps_both_of_its_ends():
    (strip,) = strips((0, 3, 6_000, 6_004, 6_005))
    first, second, *_ = strip.pieces

    assert len(strip.breaks()) == 1
    assert (first.first, second.end) == (0, 6_004)
    assert first.end > 3
    assert second.first < 6_000
    assert strip.at(3_000) == strip.breaks()[0]


def test_changes_that_are_close_stand_apart_and_a_full_strip_goes_on_in_the_next():
    rows = strips(tuple(range(0, 400, 2)))

    assert len(rows) > 1
    for row in rows:
        assert row.width <= STRIP + LAST
    assert [row.first for row in rows[1:]] == [row.end for row in rows[:-1]]
    assert rows[0].at(4) - rows[0].at(2) >= 9


def test_a_run_of_one_loop_is_one_piece():
    (strip,) = strips((0, 1))

    assert (strip.width, strip.breaks()) == (LAST, ())


def test_ticks_are_round_numbers_of_loops():
    piece = strips((0, 37, 80, 81))[0].pieces[0]

    assert ticks(piece, 52.0) == (0, 10, 20, 30, 40, 50, 60, 70)


# --- In a browser -------------------------------------------------------------------------------


def test_no_words_of_a_chart_stand_on_others_and_all_are_on_the_sheet(browser):
    for chart in charts():
        measured = browser.measured(svg(chart))

        assert overlapping_texts(measured) == []
        assert [text for text, at, _, _ in measured.texts if not measured.sheet.holds(at)] == []
    assert [url for url in browser.asked if not url.startswith(("about:", "data:"))] == []


def test_words_in_a_box_lie_inside_it(browser):
    for chart in charts():
        measured = browser.measured(svg(chart))

        for text, at, _, _ in measured.texts:
            middle = ((at.left + at.right) / 2, (at.top + at.bottom) / 2)
            for box, _, _ in measured.boxes:
                if box.has(*middle):
                    assert (box.left - 0.5 <= at.left, at.right <= box.right + 0.5) == (
                        True,
                        True,
                    ), text


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_have_the_contrast_of_wcag_aa(browser, scheme):
    model, story = broken_lid()
    chart = timing_chart(model, story.run, story.title, story.breach)

    measured = browser.measured(svg(chart), scheme)

    for text, at, fill, _ in measured.texts:
        middle = ((at.left + at.right) / 2, (at.top + at.bottom) / 2)
        behind = [paint for box, _, paint in measured.boxes if box.has(*middle)]
        assert contrast(fill, behind[-1] if behind else measured.paper) >= 4.5, text


def test_a_dark_screen_turns_every_tone_over():
    assert LIGHT.keys() == DARK.keys()
    drawn = svg(next(iter(charts()))).decode()
    for tone in DARK:
        assert f".tw-fill-{tone.value}{{fill:{DARK[tone]}}}" in drawn


# --- PNG and PDF --------------------------------------------------------------------------------


def test_a_chart_is_painted_as_png_and_pdf_the_same_each_time():
    chart = next(iter(charts()))

    assert png(chart).startswith(b"\x89PNG\r\n\x1a\n")
    assert pdf((chart,)).startswith(b"%PDF-")
    assert pdf((chart, chart)) == pdf((chart, chart))
    assert len(re.findall(rb"/Type /Page\b", pdf((chart, chart)))) == 2
