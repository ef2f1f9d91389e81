"""Time, reading and looking, as the page on what a behaviour means has them, on small props.

Each test holds one sentence of that page against the explicit graph.
"""

from behaviour.model import Region, Role
from tests.making import (
    add,
    becomes,
    count,
    counter,
    held,
    input_,
    inside,
    output,
    prop,
    region,
    state,
    way,
)
from tests.twin.following import (
    became_in,
    follow,
    states_of,
    steady_of,
)

LAMP = output("lamp", "dark", "green", "red")


# --- Time ---------------------------------------------------------------------------------------


def test_a_time_is_counted_in_whole_loops_rounded_up() -> None:
    model = prop(region("r", state("a", leave=[way("b", after=21)]), state("b")))

    assert states_of(model, follow(model, (), (), (), ())) == ["a", "a", "a", "b"]


def test_a_time_of_whole_loops_is_not_rounded() -> None:
    model = prop(region("r", state("a", leave=[way("b", after=20)]), state("b")))

    assert states_of(model, follow(model, (), (), ())) == ["a", "a", "b"]


def test_after_counts_from_0_in_the_loop_of_entry() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=becomes("x", "on"))]),
            state("b", leave=[way("c", after=20)]),
            state("c"),
        ),
        inputs=[input_("x", "off", "on")],
    )

    found = states_of(model, follow(model, "off", "on", "on", "on"))
    assert found == ["a", "b", "b", "c"]


def test_held_for_counts_from_0_in_the_loop_of_the_change() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=held("x", "on", 20))]), state("b")),
        inputs=[input_("x", "off", "on")],
    )

    found = states_of(model, follow(model, "off", "on", "on", "on"))
    assert found == ["a", "a", "a", "b"]


def test_held_for_counts_also_from_before_the_state_was_entered() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", after=20)]),
            state("b", leave=[way("c", when=held("x", "on", 20))]),
            state("c"),
        ),
        inputs=[input_("x", "off", "on")],
    )

    found = states_of(model, follow(model, "off", "on", "on", "on"))
    assert found == ["a", "a", "b", "c"]


def test_a_condition_true_at_power_up_began_then() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=held("x", "on", 20))]), state("b")),
        inputs=[input_("x", "off", "on")],
    )

    assert states_of(model, follow(model, "on", "on", "on")) == ["a", "a", "b"]


# --- Read ---------------------------------------------------------------------------------------


IDLE = region("r", state("a"))


def test_a_change_counts_once_it_was_read_in_each_of_so_many_loops_before() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on", steady={"on": 20})])

    found = steady_of(follow(model, "off", "on", "on", "on", "on"))
    assert found == ["off", "off", "off", "on", "on"]


def test_a_change_that_does_not_hold_does_not_count() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on", steady={"on": 20})])

    found = steady_of(follow(model, "off", "on", "on", "off", "on", "on"))
    assert found == ["off"] * 6


def test_each_value_has_its_own_steady_time() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on", steady={"on": 10})])

    found = steady_of(follow(model, "off", "on", "on", "off", "on", "off"))
    assert found == ["off", "off", "on", "off", "off", "off"]


def test_without_a_steady_time_a_change_counts_at_once() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on")])

    assert steady_of(follow(model, "off", "on", "off")) == ["off", "on", "off"]


def test_a_steady_time_is_rounded_up_to_loops() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on", steady={"on": 11})])

    assert steady_of(follow(model, "off", "on", "on", "on")) == ["off", "off", "off", "on"]


def test_each_value_of_a_selector_is_timed_by_itself() -> None:
    model = prop(IDLE, inputs=[input_("x", "low", "mid", "high", steady=10, kind="selector")])

    found = steady_of(follow(model, "low", "mid", "high", "mid", "mid"))
    assert found == ["low", "low", "low", "low", "mid"]


def test_becomes_holds_in_the_loop_of_the_change_alone() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on", steady={"on": 10})])

    assert became_in(follow(model, "off", "on", "on", "on", "off", "off")) == [2, 4]


def test_at_power_up_the_first_reading_is_steady_at_once_and_nothing_becomes() -> None:
    model = prop(IDLE, inputs=[input_("x", "off", "on", steady=20)])
    loops = follow(model, "on", "on", "on", "on")

    assert steady_of(loops) == ["on", "on", "on", "on"]
    assert became_in(loops) == []


def test_a_guard_counts_as_not_safe_until_its_safe_value_was_steady() -> None:
    guard = input_("lid", "closed", "open", steady=20, role=Role.GUARD, safe="closed")
    model = prop(IDLE, inputs=[guard])
    loops = follow(model, "closed", "closed", "closed", "closed")

    assert steady_of(loops) == ["open", "open", "closed", "closed"]


def test_the_first_time_a_guard_counts_as_safe_is_a_becomes() -> None:
    guard = input_("lid", "closed", "open", steady=20, role=Role.GUARD, safe="closed")
    model = prop(IDLE, inputs=[guard])

    assert became_in(follow(model, "closed", "closed", "closed", "closed")) == [2]


def test_a_stop_is_presumed_not_safe_like_a_guard() -> None:
    stop = input_("stop", "released", "pressed", steady=10, role=Role.STOP, safe="released")
    model = prop(IDLE, inputs=[stop])

    assert steady_of(follow(model, "released", "released")) == ["pressed", "released"]


def test_a_guard_is_presumed_to_be_what_a_cut_wire_reads_if_that_is_not_safe() -> None:
    guard = input_(
        "lid",
        "open",
        "closed",
        "ajar",
        steady=10,
        role=Role.GUARD,
        safe="closed",
        unplugged="ajar",
    )
    model = prop(IDLE, inputs=[guard])

    assert steady_of(follow(model, "closed", "closed")) == ["ajar", "closed"]


def test_a_guard_is_presumed_to_be_at_its_first_value_that_is_not_safe() -> None:
    guard = input_(
        "lid",
        "closed",
        "open",
        "ajar",
        steady=10,
        role=Role.GUARD,
        safe="closed",
        unplugged="closed",
    )
    model = prop(IDLE, inputs=[guard])

    assert steady_of(follow(model, "closed", "closed")) == ["open", "closed"]


def test_a_guard_read_as_not_safe_at_power_up_is_what_it_reads() -> None:
    guard = input_("lid", "closed", "open", "ajar", steady=10, role=Role.GUARD, safe="closed")
    model = prop(IDLE, inputs=[guard])

    assert steady_of(follow(model, "ajar")) == ["ajar"]


def test_for_rules_a_guard_is_at_power_up_what_it_reads() -> None:
    guard = input_("lid", "closed", "open", steady=20, role=Role.GUARD, safe="closed")
    model = prop(IDLE, inputs=[guard])
    loops = follow(model, "closed", "closed", "closed", "open", "open", "open")

    assert [loop.seen[0].steady for loop in loops] == ["closed"] * 5 + ["open"]
    assert [at for at, loop in enumerate(loops) if loop.seen[0].became] == [5]


# --- Look ---------------------------------------------------------------------------------------


def _pair(first: str, second: str) -> Region:
    return region(
        first,
        state("a", leave=[way("b", when=inside(second, "a"))]),
        state("b"),
    )


def test_all_regions_see_each_other_as_they_were_when_the_loop_began() -> None:
    model = prop(_pair("r", "q"), _pair("q", "r"))
    loops = follow(model, (), ())

    assert states_of(model, loops, 0) == ["a", "b"]
    assert states_of(model, loops, 1) == ["a", "b"]


def test_the_order_of_regions_cannot_matter() -> None:
    giver = region("giver", state("a", leave=[way("b", do=[add("n")])]), state("b"))
    taker = region("taker", state("a", leave=[way("b", when=count("n", "=", 1))]), state("b"))
    tally = counter("n", 0, 1)
    one, other = prop(giver, taker, counters=[tally]), prop(taker, giver, counters=[tally])

    assert states_of(one, follow(one, (), (), ()), 1) == ["a", "a", "b"]
    assert states_of(other, follow(other, (), (), ()), 0) == ["a", "a", "b"]
