"""Cues and random times, as the page on what a behaviour means has them, on small props."""

from behaviour.explore.twin import walk
from tests.making import (
    add,
    becomes,
    counter,
    input_,
    is_,
    output,
    prop,
    region,
    state,
    way,
)
from tests.twin.following import counts_of, follow, outputs_of, states_of

VALVE = output("valve", "shut", "open", "wide")


# --- Cues ---------------------------------------------------------------------------------------


def test_times_of_cues_count_from_entering_the_state() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("shot", when=is_("x", "on"))]),
            state("shot", cues=[(10, {"valve": "open"}), (30, {"valve": "shut"})]),
        ),
        inputs=[input_("x", "off", "on")],
        outputs=[VALVE],
    )

    found = outputs_of(follow(model, "off", "on", "on", "on", "on"))
    assert found == ["shut", "shut", "open", "open", "shut"]


def test_what_a_cue_sets_stands_until_the_state_is_left() -> None:
    model = prop(
        region(
            "r",
            state(
                "shot",
                sets={"valve": "wide"},
                cues=[(10, {"valve": "open"})],
                leave=[way("b", after=30)],
            ),
            state("b"),
        ),
        outputs=[VALVE],
    )

    found = outputs_of(follow(model, (), (), (), ()))
    assert found == ["wide", "open", "open", "shut"]


def test_a_cue_changes_only_what_it_sets() -> None:
    model = prop(
        region("r", state("shot", cues=[(10, {"valve": "open"}), (20, {"lamp": "lit"})])),
        outputs=[VALVE, output("lamp", "dark", "lit")],
    )
    loops = follow(model, (), (), ())

    assert outputs_of(loops, 0) == ["shut", "open", "open"]
    assert outputs_of(loops, 1) == ["dark", "dark", "lit"]


def test_the_last_cue_is_the_moment_of_the_end() -> None:
    model = prop(
        region(
            "r",
            state(
                "shot",
                cues=[(10, {"valve": "open"}), (20, {})],
                end=way("b", do=[add("n")]),
            ),
            state("b"),
        ),
        outputs=[VALVE],
        counters=[counter("n", 0, 1)],
    )
    loops = follow(model, (), (), (), ())

    assert states_of(model, loops) == ["shot", "shot", "b", "b"]
    assert outputs_of(loops) == ["shut", "open", "shut", "shut"]
    assert counts_of(loops) == [0, 0, 1, 1]


def test_an_end_that_stays_comes_once() -> None:
    model = prop(
        region("r", state("shot", cues=[(10, {})], end=way("stay", do=[add("n")]))),
        counters=[counter("n", 0, 2)],
    )

    assert counts_of(follow(model, (), (), (), ())) == [0, 1, 1, 1]


def test_two_cues_that_fall_on_one_loop_take_a_loop_each() -> None:
    model = prop(
        region("r", state("shot", cues=[(11, {"valve": "open"}), (15, {"valve": "wide"})])),
        outputs=[VALVE],
    )

    assert outputs_of(follow(model, (), (), (), ())) == ["shut", "shut", "open", "wide"]


def test_entering_a_state_anew_begins_its_cues_again() -> None:
    model = prop(
        region(
            "r",
            state(
                "shot",
                leave=[way("shot", when=becomes("x", "on"))],
                cues=[(10, {"valve": "open"})],
            ),
        ),
        inputs=[input_("x", "off", "on")],
        outputs=[VALVE],
    )

    assert outputs_of(follow(model, "off", "off", "on", "on")) == ["shut", "open", "shut", "open"]


# --- Random times -------------------------------------------------------------------------------


def test_every_moment_of_a_random_time_is_tried_both_ends_rounded_up() -> None:
    model = prop(region("r", state("a", leave=[way("b", after=(11, 35))]), state("b")))

    drawn = sorted(loop.stimulus.draws for loop in walk(model).starts)
    assert drawn == [((("r", 0), 2),), ((("r", 0), 3),), ((("r", 0), 4),)]


def test_a_random_time_counts_from_entry_like_a_fixed_one() -> None:
    model = prop(region("r", state("a", leave=[way("b", after=(11, 35))]), state("b")))

    loops = follow(model, (), (), (), (), drawn=[3, None, None, None])
    assert states_of(model, loops) == ["a", "a", "a", "b"]


def test_a_random_time_is_drawn_anew_at_each_entry() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", after=(10, 20))]),
            state("b", leave=[way("a")]),
        )
    )

    loops = follow(model, (), (), (), (), (), (), drawn=[1, None, 2, None, None, 1])
    assert states_of(model, loops) == ["a", "b", "a", "a", "b", "a"]


def test_a_state_around_the_target_keeps_the_time_that_it_drew() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state("one", leave=[way("two")]),
                state("two", leave=[way("one")]),
                leave=[way("b", after=(20, 30))],
            ),
            state("b"),
        )
    )

    loops = follow(model, (), (), (), (), drawn=[3, None, None, None])
    assert states_of(model, loops) == ["one", "two", "one", "two"]
    assert len(walk(model).loops[loops[3].target]) == 1


def test_stay_does_not_draw_again() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("stay", when=becomes("x", "on")), way("b", after=(20, 30))]),
            state("b"),
        ),
        inputs=[input_("x", "off", "on")],
    )

    loops = follow(model, "off", "on", "on", "on", drawn=[3, None, None, None])
    assert states_of(model, loops) == ["a", "a", "a", "b"]
