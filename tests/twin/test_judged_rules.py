"""Verdicts on rules by plain definition, on props so small that each can be counted out by hand."""

from behaviour.model import Always, Model, Never, Requirement, Role, WayBack, Whenever
from tests.making import (
    at_most,
    becomes,
    both,
    either,
    held,
    input_,
    inside,
    is_,
    is_not,
    mechanism,
    motor,
    moves,
    ms,
    no,
    output,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.twin.judge import graph_of, judge

LAMP = output("lamp", "dark", "lit")
X = input_("x", "off", "on")


def verdict(model: Model, requirement: Requirement) -> str:
    """One word for what is said of the one rule."""
    ruled = Model(
        prop=model.prop,
        loop=model.loop,
        regions=model.regions,
        inputs=model.inputs,
        outputs=model.outputs,
        counters=model.counters,
        mechanism=model.mechanism,
        rules=prop(*model.regions, mechanism=model.mechanism, rules={"it": requirement}).rules,
    )
    found = judge(ruled, graph_of(ruled))
    if found.sensing:
        return "too slow"
    return "holds" if found.rules["it"] else "broken"


def never_for(condition: object, time: float) -> Never:
    return Never(condition=condition, limit=ms(time))  # type: ignore[arg-type]


def whenever(trigger: object, response: object, time: float) -> Whenever:
    return Whenever(trigger=trigger, response=response, limit=ms(time))  # type: ignore[arg-type]


def flash(loops: int) -> Model:
    """A lamp that is lit for so many loops each time x becomes on."""
    return prop(
        region(
            "r",
            state("a", leave=[way("b", when=becomes("x", "on"))]),
            state("b", sets={"lamp": "lit"}, leave=[way("a", after=10 * loops)]),
        ),
        inputs=[X],
        outputs=[LAMP],
    )


# --- Plain --------------------------------------------------------------------------------------


def test_never_is_broken_by_one_loop_that_leaves_it_so() -> None:
    assert verdict(flash(1), Never(condition=is_("lamp", "lit"))) == "broken"


def test_never_holds_where_no_loop_leaves_it_so() -> None:
    rule = Never(condition=both(is_("lamp", "lit"), inside("r", "a")))
    assert verdict(flash(1), rule) == "holds"


def test_at_all_times_is_broken_by_one_loop_without() -> None:
    assert verdict(flash(1), Always(condition=is_("lamp", "dark"))) == "broken"
    assert (
        verdict(flash(1), Always(condition=either(is_("lamp", "dark"), inside("r", "b"))))
        == "holds"
    )


def test_becomes_of_an_output_is_seen_in_the_loop_that_changes_it() -> None:
    rule = Never(condition=both(becomes("lamp", "lit"), is_not("x", "on")))
    assert verdict(flash(1), rule) == "holds"
    assert verdict(flash(1), Never(condition=becomes("lamp", "lit"))) == "broken"


def test_loop_0_finds_the_outputs_that_it_leaves() -> None:
    model = prop(region("r", state("a", sets={"lamp": "lit"})), outputs=[LAMP])
    assert verdict(model, Never(condition=becomes("lamp", "lit"))) == "holds"


def test_a_condition_true_in_n_loops_has_lasted_n_loops() -> None:
    assert verdict(flash(3), at_most(is_("lamp", "lit"), 30)) == "holds"
    assert verdict(flash(3), at_most(is_("lamp", "lit"), 20)) == "broken"


def test_the_time_of_a_rule_is_rounded_up_to_loops() -> None:
    assert verdict(flash(3), at_most(is_("lamp", "lit"), 21)) == "holds"


def test_a_stretch_that_is_broken_off_begins_anew() -> None:
    model = prop(
        region(
            "r",
            state("a", sets={"lamp": "lit"}, leave=[way("b", after=20)]),
            state("b", leave=[way("a", after=10)]),
        ),
        outputs=[LAMP],
    )
    assert verdict(model, at_most(is_("lamp", "lit"), 20)) == "holds"


def test_a_stretch_that_begins_at_power_up_counts_loop_0() -> None:
    model = prop(
        region("r", state("a", sets={"lamp": "lit"}, leave=[way("b", after=20)]), state("b")),
        outputs=[LAMP],
    )
    assert verdict(model, at_most(is_("lamp", "lit"), 10)) == "broken"
    assert verdict(model, at_most(is_("lamp", "lit"), 20)) == "holds"


def test_a_way_back_is_broken_where_some_state_has_none() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on"))]),
            state("b", leave=[way("a", when=is_("x", "off")), way("c", after=30)]),
            state("c"),
        ),
        inputs=[X],
    )
    assert verdict(model, WayBack(condition=inside("r", "a"))) == "broken"
    assert verdict(model, WayBack(condition=inside("r", "c"))) == "holds"


def test_a_way_back_to_a_moment_needs_it_to_come_again() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=becomes("x", "on"))]), state("b")),
        inputs=[X],
        outputs=[LAMP],
    )
    assert verdict(model, WayBack(condition=becomes("x", "on"))) == "holds"
    assert verdict(model, WayBack(condition=inside("r", "a"))) == "broken"


# --- Whenever -----------------------------------------------------------------------------------


def answering(after: float) -> Model:
    """The lamp is lit so long after x becomes on in `idle`, for one loop."""
    return prop(
        region(
            "r",
            state("idle", leave=[way("wait", when=becomes("x", "on"))]),
            state("wait", leave=[way("lit", after=after)]),
            state("lit", sets={"lamp": "lit"}, leave=[way("idle", after=10)]),
        ),
        inputs=[input_("x", "off", "on")],
        outputs=[LAMP],
    )


PULLED = both(becomes("x", "on"), inside("r", "idle"))


def test_within_counts_from_0_in_the_loop_of_the_event() -> None:
    model = answering(20)
    rule = whenever(PULLED, is_("lamp", "lit"), 30)

    assert verdict(model, rule) == "holds"
    assert verdict(model, whenever(PULLED, is_("lamp", "lit"), 20)) == "broken"


def test_the_left_side_sees_states_as_the_loop_found_them() -> None:
    model = answering(20)

    assert verdict(model, whenever(PULLED, inside("r", "idle"), 90)) == "holds"
    assert verdict(model, whenever(PULLED, is_("lamp", "dark"), 10)) == "holds"
    assert verdict(model, whenever(PULLED, is_("x", "off"), 90)) == "broken"


def test_the_answer_may_come_in_the_same_loop() -> None:
    rule = whenever(both(becomes("x", "on"), inside("r", "a")), is_("lamp", "lit"), 10)
    assert verdict(flash(2), rule) == "holds"


def test_the_left_side_sees_becomes_of_an_output_a_loop_later() -> None:
    rule = whenever(becomes("lamp", "lit"), becomes("lamp", "dark"), 10)
    assert verdict(flash(2), rule) == "holds"
    assert (
        verdict(flash(2), whenever(becomes("lamp", "lit"), becomes("lamp", "dark"), 0)) == "broken"
    )
    assert (
        verdict(flash(1), whenever(becomes("lamp", "lit"), becomes("lamp", "dark"), 0)) == "holds"
    )


def test_the_left_side_in_loop_0_sees_what_it_leaves() -> None:
    model = prop(
        region("r", state("a"), state("c"), interlocks=[way("c", when=is_("x", "on"))]),
        inputs=[X],
        mechanism=[
            mechanism(
                "m", stands("one", {"x": "on"}, moves("two", 10, 10)), stands("two", {"x": "off"})
            )
        ],
    )
    first = both(inside("r", "c"), is_("x", "on"))

    assert verdict(model, whenever(first, is_("x", "off"), 0)) == "broken"
    assert verdict(model, whenever(first, is_("x", "off"), 10)) == "holds"


# --- Sensing ------------------------------------------------------------------------------------


def lid_open_for(loops: int) -> Model:
    """A drum that stops so many loops after its lid counts as open.

    Opening is steady for one loop, closing for five. It turns from loop 1 on, if the lid is closed
    then.
    """
    when = is_("lid", "open") if loops == 0 else held("lid", "open", 10 * loops)
    return prop(
        region(
            "r",
            state("first", leave=[way("turning", is_("lid", "closed")), way("still")]),
            state("turning", sets={"drum": "forward"}, leave=[way("still", when)]),
            state("still"),
        ),
        inputs=[input_("lid", "closed", "open", steady={"open": 10, "closed": 50})],
        outputs=[motor("drum")],
    )


UNDER_AN_OPEN_LID = both(is_not("drum", "stopped"), is_("lid", "open"))


def test_a_stretch_is_measured_as_if_its_input_had_changed_so_much_earlier() -> None:
    assert verdict(lid_open_for(3), never_for(UNDER_AN_OPEN_LID, 40)) == "broken"
    assert verdict(lid_open_for(3), never_for(UNDER_AN_OPEN_LID, 50)) == "holds"


def test_a_reaction_in_the_very_loop_still_leaves_the_sensing() -> None:
    assert verdict(lid_open_for(0), never_for(UNDER_AN_OPEN_LID, 20)) == "holds"
    assert verdict(lid_open_for(0), never_for(UNDER_AN_OPEN_LID, 10)) == "too slow"


def test_never_without_a_time_is_about_what_the_firmware_can_know() -> None:
    assert verdict(lid_open_for(0), Never(condition=UNDER_AN_OPEN_LID)) == "holds"
    assert verdict(lid_open_for(1), Never(condition=UNDER_AN_OPEN_LID)) == "broken"


def test_while_at_most_counts_no_sensing_in() -> None:
    assert verdict(lid_open_for(3), at_most(UNDER_AN_OPEN_LID, 30)) == "holds"


def test_a_stretch_is_not_measured_from_before_the_rest_of_it_began() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=becomes("x", "on"))]),
            state("b", sets={"lamp": "lit"}, leave=[way("a", after=20)]),
        ),
        inputs=[X, input_("lid", "closed", "open", steady={"open": 30})],
        outputs=[LAMP],
    )
    rest = both(is_("lid", "open"), is_("lamp", "lit"))

    assert verdict(model, never_for(rest, 20)) == "holds"
    assert verdict(model, never_for(rest, 10)) == "too slow"


def blinking(open_: float, closed: float) -> Model:
    """A lid that opens and closes by itself, with a lamp that is always lit."""
    return prop(
        region("r", state("a", sets={"lamp": "lit"})),
        inputs=[input_("lid", "closed", "open")],
        outputs=[LAMP],
        mechanism=[
            mechanism(
                "m",
                stands("shut", {"lid": "closed"}, moves("up", closed, closed)),
                stands("up", {"lid": "open"}, moves("shut", open_, open_)),
            )
        ],
    )


def test_sensing_never_joins_an_earlier_stretch() -> None:
    lit = both(is_("lid", "open"), is_("lamp", "lit"))

    assert verdict(blinking(20, 10), never_for(lit, 30)) == "holds"
    assert verdict(blinking(20, 10), never_for(lit, 20)) == "broken"


def test_of_two_inputs_in_turn_the_second_never_joins_the_stretch_of_the_first() -> None:
    model = prop(
        region("r", state("a")),
        inputs=[input_("x", "off", "on", steady={"on": 20}), input_("y", "off", "on")],
        mechanism=[
            mechanism(
                "m",
                stands("one", {"x": "off", "y": "on"}, moves("two", 10, 10)),
                stands("two", {"x": "on", "y": "off"}, moves("one", 30, 30)),
            )
        ],
    )
    some = either(is_("x", "on"), is_("y", "on"))

    assert verdict(model, at_most(some, 20)) == "holds"
    assert verdict(model, never_for(some, 40)) == "holds"
    assert verdict(model, never_for(some, 30)) == "broken"


def test_for_is_not_the_steady_time_of_the_value_it_changed_to_counts() -> None:
    def turning(steady: dict[str, float]) -> Model:
        return prop(
            region(
                "r",
                state("a", sets={"lamp": "lit"}, leave=[way("b", when=is_not("x", "low"))]),
                state("b"),
            ),
            inputs=[input_("x", "low", "mid", "high", steady=steady, kind="selector")],
            outputs=[LAMP],
        )

    rule = never_for(both(is_not("x", "low"), is_("lamp", "lit")), 20)
    assert verdict(turning({"mid": 10, "low": 50}), rule) == "holds"
    assert verdict(turning({"high": 20}), rule) == "too slow"


def test_of_is_for_the_moment_is_moved_at_which_it_turns_true() -> None:
    model = prop(
        region(
            "r",
            state("a", sets={"lamp": "lit"}, leave=[way("b", when=held("lid", "open", 20))]),
            state("b"),
        ),
        inputs=[input_("lid", "closed", "open", steady={"open": 10})],
        outputs=[LAMP],
    )
    lasting = both(held("lid", "open", 20), is_("lamp", "lit"))

    assert verdict(model, never_for(lasting, 20)) == "holds"
    assert verdict(model, never_for(lasting, 10)) == "too slow"


def test_becomes_inside_never_for_is_not_moved() -> None:
    rule = both(becomes("lid", "open"), is_("drum", "stopped"))
    assert verdict(lid_open_for(0), never_for(rule, 10)) == "holds"
    assert verdict(lid_open_for(0), never_for(rule, 0)) == "broken"


def test_a_not_is_taken_down_to_the_single_conditions() -> None:
    rule = never_for(no(either(is_not("lid", "open"), is_("drum", "stopped"))), 40)
    assert verdict(lid_open_for(3), rule) == "broken"


def sensed(steady: float, after: float) -> Model:
    """As `answering`, with a steady time of x."""
    plain = answering(after)
    item = input_("x", "off", "on", steady=steady)
    return prop(*plain.regions, inputs=[item], outputs=[LAMP])


def test_after_becomes_the_deadline_is_shorter_by_all_of_the_sensing() -> None:
    lit = is_("lamp", "lit")

    assert verdict(sensed(10, 10), whenever(PULLED, lit, 20)) == "broken"
    assert verdict(sensed(10, 10), whenever(PULLED, lit, 30)) == "holds"
    assert verdict(sensed(0, 10), whenever(PULLED, lit, 10)) == "broken"
    assert verdict(sensed(0, 10), whenever(PULLED, lit, 20)) == "holds"


def test_a_deadline_shorter_than_the_sensing_is_told_as_such() -> None:
    assert verdict(sensed(10, 0), whenever(PULLED, is_("lamp", "lit"), 10)) == "too slow"


def test_the_stretch_of_a_left_side_begins_so_much_earlier() -> None:
    stopped = is_("drum", "stopped")

    assert verdict(lid_open_for(0), whenever(UNDER_AN_OPEN_LID, stopped, 20)) == "holds"
    assert verdict(lid_open_for(0), whenever(UNDER_AN_OPEN_LID, stopped, 10)) == "too slow"
    assert verdict(lid_open_for(2), whenever(UNDER_AN_OPEN_LID, stopped, 30)) == "broken"
    assert verdict(lid_open_for(2), whenever(UNDER_AN_OPEN_LID, stopped, 40)) == "holds"


def test_an_answer_from_before_the_change_counts_is_none() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", after=10)]),
            state("b", sets={"lamp": "lit"}, leave=[way("a", after=10)]),
        ),
        inputs=[input_("lid", "closed", "open", steady=20)],
        outputs=[LAMP],
    )

    assert verdict(model, whenever(is_("lid", "open"), is_("lamp", "lit"), 20)) == "too slow"
    assert verdict(model, whenever(is_("lid", "open"), is_("lamp", "lit"), 30)) == "broken"
    assert verdict(model, whenever(is_("lid", "open"), is_("lamp", "lit"), 40)) == "holds"


def test_for_rules_a_guard_is_what_it_reads_at_power_up() -> None:
    model = prop(
        region("r", state("a")),
        inputs=[input_("lid", "closed", "open", steady=20, role=Role.GUARD, safe="closed")],
    )
    rule = at_most(both(is_("lid", "open"), inside("r", "a")), 30)
    assert verdict(model, rule) == "broken"  # somebody may open it
    assert verdict(model, Never(condition=becomes("lid", "closed"))) == "broken"
    fixed = prop(
        region("r", state("a")),
        inputs=model.inputs,
        mechanism=[mechanism("m", stands("shut", {"lid": "closed"}))],
    )
    assert verdict(fixed, Never(condition=is_("lid", "open"))) == "holds"
    assert verdict(fixed, Never(condition=becomes("lid", "closed"))) == "holds"
