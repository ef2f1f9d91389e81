"""Choosing, moving, driving and power-up, as the page on what a behaviour means has them.

Each test holds one sentence of that page against the explicit graph of a small prop.
"""

from behaviour.explore.twin import walk
from behaviour.model import Role
from tests.making import (
    add,
    becomes,
    both,
    button,
    count,
    counter,
    input_,
    inside,
    is_,
    is_not,
    output,
    prop,
    put,
    region,
    state,
    take,
    way,
)
from tests.twin.following import (
    counts_of,
    follow,
    outputs_of,
    states_of,
)

LAMP = output("lamp", "dark", "green", "red")


# --- Choose -------------------------------------------------------------------------------------


IDLE = region("r", state("a"))
NESTED_X = [input_("x", "off", "on")]


def test_an_interlock_comes_before_leave() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on"))]),
            state("b"),
            state("c"),
            interlocks=[way("c", when=is_("x", "on"))],
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "off", "on")) == ["a", "c"]


def test_interlocks_of_outer_states_come_before_those_of_inner_ones() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state(
                    "inner",
                    state("leaf"),
                    interlocks=[way("c", when=is_("x", "on"))],
                ),
                interlocks=[way("b", when=is_("x", "on"))],
            ),
            state("b"),
            state("c"),
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "off", "on")) == ["leaf", "b"]


def test_a_region_s_own_interlocks_come_before_those_of_its_states() -> None:
    model = prop(
        region(
            "r",
            state("a", interlocks=[way("b", when=is_("x", "on"))]),
            state("b"),
            state("c"),
            interlocks=[way("c", when=is_("x", "on"))],
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "off", "on")) == ["a", "c"]


def test_leave_of_inner_states_comes_before_that_of_outer_ones() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state("leaf", leave=[way("c", when=is_("x", "on"))]),
                leave=[way("b", when=is_("x", "on"))],
            ),
            state("b"),
            state("c"),
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "off", "on")) == ["leaf", "c"]


def test_written_order_is_priority() -> None:
    model = prop(
        region(
            "r",
            state(
                "a",
                leave=[
                    way("b", when=both(is_("x", "on"), count("n", ">", 0))),
                    way("c", when=is_("x", "on")),
                    way("d", when=is_("x", "on")),
                ],
            ),
            state("b"),
            state("c"),
            state("d"),
        ),
        inputs=NESTED_X,
        counters=[counter("n", 0, 1)],
    )

    assert states_of(model, follow(model, "off", "on")) == ["a", "c"]


def test_the_leave_of_a_state_comes_before_its_cue_which_comes_a_loop_later() -> None:
    model = prop(
        region(
            "r",
            state(
                "a",
                leave=[way("stay", when=becomes("x", "on"), do=[add("n")])],
                cues=[(10, {"lamp": "green"})],
            ),
        ),
        inputs=NESTED_X,
        outputs=[LAMP],
        counters=[counter("n", 0, 1)],
    )
    loops = follow(model, "off", "on", "on")

    assert counts_of(loops) == [0, 1, 1]
    assert outputs_of(loops) == ["dark", "dark", "green"]


def test_a_cue_comes_before_the_leave_of_the_states_around() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state("leaf", cues=[(10, {"lamp": "green"})]),
                leave=[way("b", after=10)],
            ),
            state("b"),
        ),
        outputs=[LAMP],
    )
    loops = follow(model, (), (), ())

    assert states_of(model, loops) == ["leaf", "leaf", "b"]
    assert outputs_of(loops) == ["dark", "green", "dark"]


def test_an_interlock_whose_target_is_active_is_passed_over() -> None:
    model = prop(
        region(
            "r",
            state("safe", leave=[way("b", when=becomes("y", "on"))]),
            state("b"),
            interlocks=[way("safe", when=is_("x", "on"))],
        ),
        inputs=[*NESTED_X, input_("y", "off", "on")],
    )

    found = states_of(model, follow(model, ("on", "off"), ("on", "on"), ("on", "on")))
    assert found == ["safe", "b", "safe"]


def test_an_interlock_to_a_state_around_the_active_one_is_passed_over() -> None:
    model = prop(
        region(
            "r",
            state("outer", state("first", leave=[way("second")]), state("second")),
            interlocks=[way("outer", when=is_("x", "on"))],
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "on", "on", "on")) == ["first", "second", "second"]


def test_nothing_leaves_a_lockout_interlocks_included() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("locked", when=is_("x", "on"))]),
            state("locked", state("in", leave=[way("a")]), leave=[way("a")], lockout=True),
            state("b"),
            interlocks=[way("b", when=is_("y", "on"))],
        ),
        inputs=[*NESTED_X, input_("y", "off", "on")],
    )

    found = states_of(model, follow(model, ("off", "off"), ("on", "off"), ("on", "on")))
    assert found == ["a", "in", "in"]


def test_inside_a_lockout_states_still_change() -> None:
    model = prop(
        region(
            "r",
            state(
                "locked",
                state("one", leave=[way("two")]),
                state("two", leave=[way("one")]),
                lockout=True,
            ),
        )
    )

    assert states_of(model, follow(model, (), (), ())) == ["one", "two", "one"]


def test_a_region_takes_one_transition_in_a_loop() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b")]),
            state("b", leave=[way("c")]),
            state("c"),
        )
    )

    assert states_of(model, follow(model, (), (), ())) == ["a", "b", "c"]


# --- Move ---------------------------------------------------------------------------------------


def test_a_transition_to_itself_starts_the_timer_again() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("a", when=becomes("x", "on")), way("b", after=20)]),
            state("b"),
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "off", "on", "on", "on")) == ["a", "a", "a", "b"]


def test_stay_leaves_nothing() -> None:
    model = prop(
        region(
            "r",
            state(
                "a",
                leave=[way("stay", when=becomes("x", "on"), do=[add("n")]), way("b", after=20)],
            ),
            state("b"),
        ),
        inputs=NESTED_X,
        counters=[counter("n", 0, 1)],
    )
    loops = follow(model, "off", "on", "on")

    assert states_of(model, loops) == ["a", "a", "b"]
    assert counts_of(loops) == [0, 1, 1]


def test_states_around_the_target_stay_and_keep_their_timers() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state("one", leave=[way("two", after=20)]),
                state("two", leave=[way("one", after=20)]),
                leave=[way("b", after=30)],
            ),
            state("b"),
        )
    )

    assert states_of(model, follow(model, (), (), (), ())) == ["one", "one", "two", "b"]


def test_going_to_a_state_around_the_active_one_leaves_it_and_enters_it_anew() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state("one", leave=[way("two")]),
                state("two", leave=[way("outer", when=becomes("x", "on"))]),
                leave=[way("b", after=30)],
            ),
            state("b"),
        ),
        inputs=NESTED_X,
    )

    found = states_of(model, follow(model, "off", "off", "on", "on", "on", "on"))
    assert found == ["one", "two", "one", "two", "two", "b"]


def test_entering_a_state_enters_what_it_begins_in_down_to_a_leaf() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("outer")]),
            state("outer", state("x1"), state("mid", state("deep"), state("d2")), begins="mid"),
        )
    )

    assert states_of(model, follow(model, (), ())) == ["a", "deep"]


def test_do_runs_in_the_loop_of_the_transition() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", do=[put("n", 2), take("n")])]), state("b")),
        counters=[counter("n", 0, 2)],
    )

    assert counts_of(follow(model, (), ())) == [0, 1]


def test_a_counter_outside_its_range_is_held_and_reported() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", do=[add("n", 3)])]), state("b")),
        counters=[counter("n", 0, 2, begins=1)],
    )
    loops = follow(model, (), (), ())

    assert counts_of(loops) == [1, 2, 2]
    assert [loop.left.beyond for loop in loops] == [(), ("n",), ()]


# --- Drive --------------------------------------------------------------------------------------


def test_what_an_inner_state_sets_wins_over_its_parents_then_rest() -> None:
    model = prop(
        region(
            "r",
            state(
                "outer",
                state("one", sets={"lamp": "red"}, leave=[way("two")]),
                state("two", leave=[way("b")]),
                sets={"lamp": "green"},
            ),
            state("b"),
        ),
        outputs=[LAMP],
    )

    assert outputs_of(follow(model, (), (), ())) == ["red", "green", "dark"]


def test_a_keeps_output_holds_its_last_value_instead_of_rest() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b")]),
            state("b", sets={"lamp": "red"}, leave=[way("c")]),
            state("c"),
        ),
        outputs=[output("lamp", "dark", "green", "red", keeps=True)],
    )

    assert outputs_of(follow(model, (), (), (), ())) == ["dark", "red", "red", "red"]


# --- Power-up -----------------------------------------------------------------------------------


def test_at_power_up_an_interlock_that_holds_enters_its_target_instead() -> None:
    model = prop(
        region(
            "r",
            state("a", sets={"lamp": "green"}),
            state("b", sets={"lamp": "red"}),
            interlocks=[way("b", when=is_("x", "on"))],
        ),
        inputs=NESTED_X,
        outputs=[LAMP],
    )

    assert outputs_of(follow(model, "on")) == ["red"]
    assert outputs_of(follow(model, "off")) == ["green"]


def test_at_power_up_do_does_not_run() -> None:
    model = prop(
        region("r", state("a"), state("b"), interlocks=[way("b", is_("x", "on"), do=[add("n")])]),
        inputs=NESTED_X,
        counters=[counter("n", 0, 1)],
    )
    loops = follow(model, "on", "on")

    assert states_of(model, loops) == ["b", "b"]
    assert counts_of(loops) == [0, 0]


def test_at_power_up_the_outermost_interlock_comes_first() -> None:
    model = prop(
        region(
            "r",
            state("outer", state("leaf"), interlocks=[way("b", when=is_("x", "on"))]),
            state("b"),
            state("c"),
            interlocks=[way("c", when=is_("x", "on"))],
        ),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "on")) == ["c"]


def test_at_power_up_regions_are_seen_in_what_they_begin_in() -> None:
    mover = region("mover", state("a"), state("b"), interlocks=[way("b", when=is_("x", "on"))])
    seer = region("seer", state("a"), state("b"), interlocks=[way("b", inside("mover", "a"))])
    model = prop(mover, seer, inputs=NESTED_X)
    loops = follow(model, "on", "on")

    assert states_of(model, loops, 0) == ["b", "b"]
    assert states_of(model, loops, 1) == ["b", "b"]


def test_leave_is_first_looked_at_in_loop_1() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=is_("x", "on"))]), state("b")),
        inputs=NESTED_X,
    )

    assert states_of(model, follow(model, "on", "on")) == ["a", "b"]


def test_a_presumed_guard_opens_an_interlock_at_power_up() -> None:
    guard = input_("lid", "closed", "open", steady=20, role=Role.GUARD, safe="closed")
    model = prop(
        region(
            "r",
            state("a"),
            state("waiting", leave=[way("a", when=becomes("lid", "closed"))]),
            interlocks=[way("waiting", when=is_not("lid", "closed"))],
        ),
        inputs=[guard],
    )

    found = states_of(model, follow(model, "closed", "closed", "closed"))
    assert found == ["waiting", "waiting", "a"]


def test_power_up_finds_every_free_input_at_any_value() -> None:
    model = prop(IDLE, inputs=[button("x"), input_("y", "low", "mid", "high", kind="selector")])

    assert sorted(loop.stimulus.raw for loop in walk(model).starts) == [
        ("pressed", "high"),
        ("pressed", "low"),
        ("pressed", "mid"),
        ("released", "high"),
        ("released", "low"),
        ("released", "mid"),
    ]
