"""The world around a prop, as the page on what a behaviour means has it, on small props.

In most of them a region drives a motor while a button is pressed, and a mechanism moves with it.
"""

from dataclasses import replace

import pytest

from behaviour.explore.twin import Graph, TooManyStatesError, walk
from behaviour.model import After, HeldFor, Mechanism, Model, Time, Unknown
from behaviour.semantics import NotKnownError
from tests.making import (
    button,
    input_,
    is_,
    is_not,
    mechanism,
    motor,
    moves,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.twin.following import arrivals, follow, outputs_of, stands_of, steady_of

DRIVEN = is_not("drum", "stopped")
SENSOR = input_("mark", "clear", "made")


def driving(mechanism_: Mechanism) -> Model:
    """A motor that turns from the loop on in which the button reads pressed."""
    return prop(
        region(
            "r",
            state("rest", leave=[way("turn", when=is_("go", "pressed"))]),
            state("turn", sets={"drum": "forward"}, leave=[way("rest", is_("go", "released"))]),
        ),
        inputs=[button("go"), SENSOR],
        outputs=[motor("drum")],
        mechanism=[mechanism_],
    )


def turning(mechanism_: Mechanism) -> Model:
    """A motor that turns from loop 0 on."""
    return prop(
        region("r", state("turn", sets={"drum": "forward"})),
        inputs=[button("go"), SENSOR],
        outputs=[motor("drum")],
        mechanism=[mechanism_],
    )


def one_way(low: float, high: float, **more: str | None) -> Mechanism:
    return mechanism(
        "drum_position",
        stands("between", {"mark": "clear"}, moves("at", low, high, DRIVEN)),
        stands("at", {"mark": "made"}),
        **more,
    )


def pressed_from(model: Model, first: int, until: int = 99) -> list[set[str]]:
    """Where the mechanism may stand in each of nine loops while the button is held down."""
    return along(
        model,
        walk(model),
        ["pressed" if first <= loop < until else "released" for loop in range(9)],
    )


def along(model: Model, graph: Graph, button_reads: list[str]) -> list[set[str]]:
    ahead = graph.starts
    found = []
    for reads in button_reads:
        ahead = tuple(loop for loop in ahead if loop.stimulus.raw[0] == reads)
        found.append({stands_of(model, loop) for loop in ahead})
        ahead = tuple(
            loop for number in {loop.target for loop in ahead} for loop in graph.loops[number]
        )
    return found


def first_arrival(found: list[set[str]], name: str) -> tuple[int, int]:
    """The first loop in which the mechanism may stand there, and the first in which it must."""
    may = next(loop for loop, names in enumerate(found) if name in names)
    must = next(loop for loop, names in enumerate(found) if names == {name})
    return may, must


# --- People and power-up ------------------------------------------------------------------------


def test_people_may_change_any_input_that_nothing_forces_at_any_time() -> None:
    model = prop(region("r", state("a")), inputs=[button("x"), button("y")])
    graph = walk(model)

    assert len(graph.starts) == 4
    assert [len(loops) for loops in graph.loops] == [4, 4, 4, 4]


def test_reads_forces_the_true_value_while_the_state_is_active() -> None:
    model = driving(one_way(20, 20))
    loops = follow(
        model,
        ("released", "clear"),
        ("pressed", "clear"),
        ("pressed", "clear"),
        ("pressed", "made"),
        ("released", "made"),
    )

    assert steady_of(loops, 1) == ["clear", "clear", "clear", "made", "made"]


def test_an_input_is_free_while_the_state_does_not_force_it() -> None:
    model = driving(
        mechanism("m", stands("free", {}, moves("held", 10, 10)), stands("held", {"mark": "made"}))
    )
    graph = walk(model)

    assert sorted(loop.stimulus.raw[1] for loop in graph.starts) == [
        "clear",
        "clear",
        "made",
        "made",
    ]
    assert {loop.stimulus.raw[1] for loop in graph.loops[graph.starts[0].target]} == {"made"}


def test_with_begins_any_a_mechanism_may_stand_anywhere_at_power_up() -> None:
    model = driving(one_way(20, 20, begins=None))

    found = sorted((stands_of(model, loop), loop.stimulus.raw[1]) for loop in walk(model).starts)
    assert found == [("at", "made"), ("at", "made"), ("between", "clear"), ("between", "clear")]


# --- Windows ------------------------------------------------------------------------------------


def test_the_clock_is_0_in_the_loop_whose_outputs_made_the_condition_true() -> None:
    assert first_arrival(pressed_from(driving(one_way(20, 20)), 1), "at") == (3, 3)


def test_a_movement_may_end_from_the_first_to_the_last_loop_of_its_window() -> None:
    assert first_arrival(pressed_from(driving(one_way(20, 40)), 1), "at") == (3, 5)


def test_a_window_is_rounded_outwards() -> None:
    assert first_arrival(pressed_from(driving(one_way(25, 31)), 1), "at") == (3, 5)


def test_a_movement_takes_at_least_one_loop() -> None:
    assert first_arrival(pressed_from(driving(one_way(0, 5)), 1), "at") == (2, 2)


def test_a_movement_that_is_not_driven_does_not_end() -> None:
    assert pressed_from(driving(one_way(10, 10)), 99) == [{"between"}] * 9


def test_a_movement_that_is_no_longer_driven_when_it_could_end_does_not() -> None:
    found = pressed_from(driving(one_way(20, 30)), 1, until=2)
    assert found == [{"between"}] * 9


def test_a_movement_may_still_end_in_the_loop_that_stops_what_drives_it() -> None:
    found = pressed_from(driving(one_way(20, 30)), 1, until=3)
    assert found[:5] == [
        {"between"},
        {"between"},
        {"between"},
        {"at", "between"},
        {"at", "between"},
    ]


def test_after_a_break_a_movement_may_end_after_one_loop_and_surely_ends_in_time() -> None:
    model = driving(one_way(30, 40))
    found = along(model, walk(model), ["pressed"] * 2 + ["released"] + ["pressed"] * 6)

    assert first_arrival(found, "at") == (4, 7)


def test_with_begins_any_a_movement_may_be_near_its_end_at_power_up() -> None:
    model = driving(one_way(30, 40, begins=None))
    graph = walk(model)
    between = [loop for loop in graph.starts if stands_of(model, loop) == "between"]
    only = Graph(graph.states, tuple(between), graph.loops, graph.stalls)

    found = along(model, only, ["released"] + ["pressed"] * 8)
    assert first_arrival(found, "at") == (2, 5)


def test_without_begins_any_a_movement_is_whole_from_power_up() -> None:
    found = pressed_from(turning(one_way(30, 40)), 0)
    assert first_arrival(found, "at") == (3, 4)


def test_the_clock_is_0_in_the_loop_of_entry_if_that_is_later() -> None:
    model = driving(
        mechanism(
            "m",
            stands("one", {"mark": "clear"}, moves("two", 20, 20, DRIVEN)),
            stands("two", {"mark": "clear"}, moves("three", 30, 30, DRIVEN)),
            stands("three", {"mark": "made"}),
        )
    )

    found = pressed_from(model, 1)
    assert found[2:7] == [{"one"}, {"two"}, {"two"}, {"two"}, {"three"}]


def test_driven_on_entry_and_not_in_the_next_loop_is_no_break() -> None:
    model = driving(
        mechanism(
            "m",
            stands("one", {"mark": "clear"}, moves("two", 20, 20, DRIVEN)),
            stands("two", {"mark": "clear"}, moves("three", 30, 30, DRIVEN)),
            stands("three", {"mark": "made"}),
        )
    )

    reads = ["released", "pressed", "pressed", "released"] + ["pressed"] * 5
    found = along(model, walk(model), reads)
    assert found[2:8] == [{"one"}, {"two"}, {"two"}, {"two"}, {"two"}, {"three"}]


FORK = mechanism(
    "m",
    stands(
        "fork",
        {"mark": "clear"},
        moves("drummed", 40, 40, is_("drum", "forward")),
        moves("fell", 60, 60),
    ),
    stands("drummed", {"mark": "clear"}),
    stands("fell", {"mark": "made"}),
)
"""Two movements out of one state: one by the drum, one by itself."""


def test_of_several_movements_one_driven_since_entry_takes_all_of_its_window() -> None:
    assert first_arrival(pressed_from(turning(FORK), 0), "drummed") == (4, 4)


def test_of_several_movements_one_driven_later_may_be_near_its_end() -> None:
    found = pressed_from(driving(FORK), 1)
    may = next(loop for loop, names in enumerate(found) if "drummed" in names)

    assert may == 2


def test_a_movement_surely_ends_by_the_end_of_its_window_though_another_could_too() -> None:
    found = pressed_from(driving(FORK), 4)
    assert [sorted(names) for names in found] == [
        ["fork"],
        ["fork"],
        ["fork"],
        ["fork"],
        ["fork"],
        ["drummed", "fork"],
        ["drummed", "fell"],
        ["drummed", "fell"],
        ["drummed", "fell"],
    ]


def test_without_while_a_movement_is_always_under_way() -> None:
    model = driving(
        mechanism("m", stands("up", {"mark": "clear"}, moves("down", 20, 30)), stands("down", {}))
    )

    assert first_arrival(pressed_from(model, 99), "down") == (2, 3)


def quick(low: float) -> Model:
    return driving(
        mechanism(
            "m",
            stands("between", {"mark": "clear"}, moves("at", 20, 20, DRIVEN)),
            stands("at", {"mark": "made"}, moves("past", low, 20, DRIVEN)),
            stands("past", {"mark": "clear"}),
        )
    )


def test_a_state_that_may_take_less_than_a_loop_can_be_passed_between_two_looks() -> None:
    assert pressed_from(quick(9), 1)[2:6] == [
        {"between"},
        {"at", "past"},
        {"at", "past"},
        {"past"},
    ]


def test_a_state_that_takes_a_whole_loop_is_not_passed() -> None:
    assert pressed_from(quick(10), 1)[2:6] == [{"between"}, {"at"}, {"at", "past"}, {"past"}]


def test_what_was_passed_is_told_with_the_loop() -> None:
    model = quick(9)
    loops = follow(
        model,
        *[("pressed", "clear")] * 4,
        at=["between", "between", "between", "past"],
    )

    assert [movement.number for movement in loops[3].ended[0]] == [0, 1]


def test_a_condition_on_outputs_is_judged_as_the_last_loop_left_them() -> None:
    model = driving(one_way(20, 20))
    loops = follow(model, *[("pressed", "clear")] * 3, ("released", "made"))

    assert outputs_of(loops) == ["stopped", "forward", "forward", "stopped"]


# --- Stalled ------------------------------------------------------------------------------------


def test_a_stalled_movement_never_ends() -> None:
    model = driving(one_way(10, 10))

    assert arrivals(model, walk(model), "pressed", stalled=True) == [{"between"}] * 9


def test_a_movement_may_stall_in_every_healthy_state_and_stays_stalled() -> None:
    model = driving(one_way(20, 30))
    graph = walk(model)

    assert {number for number, _ in graph.stalls} == set(range(graph.healthy))
    assert all(graph.states[to].stalled == (0, 0) for _, to in graph.stalls)
    assert all(
        graph.states[loop.target].stalled == (0, 0)
        for number in range(graph.healthy, len(graph.states))
        for loop in graph.loops[number]
    )


def test_the_other_movements_go_on_when_one_is_stalled() -> None:
    model = driving(FORK)
    graph = walk(model)
    falling = [to for _, to in graph.stalls if graph.states[to].stalled == (0, 0)]
    reached = {stands_of(model, loop) for number in falling for loop in graph.loops[number]}

    assert reached == {"fork", "fell", "drummed"}
    assert all(
        movement.number == 1
        for number in range(graph.healthy, len(graph.states))
        if graph.states[number].stalled == (0, 0)
        for loop in graph.loops[number]
        for movement in loop.ended[0]
    )


# --- Limits -------------------------------------------------------------------------------------


def test_too_many_states_are_said_to_be_too_many() -> None:
    model = driving(one_way(20, 40))

    with pytest.raises(TooManyStatesError, match="more than 5 states"):
        walk(model, limit=5)


def test_a_time_that_is_not_known_yet_is_named() -> None:
    unknown = Unknown("a.for")
    model = prop(
        region("r", state("a", leave=[way("b", HeldFor("go", "pressed", unknown))]), state("b")),
        inputs=[button("go")],
    )

    with pytest.raises(NotKnownError, match=r"`a\.for` is not known yet"):
        walk(model)


@pytest.mark.parametrize("window", [(Unknown("b.after"), 20_000), (20_000, Unknown("b.after"))])
def test_a_random_time_of_which_one_end_is_not_known_yet_is_named(
    window: tuple[Time, Time],
) -> None:
    drawn = region("r", state("a", leave=[way("b", after=(10, 20))]), state("b"))
    way_on = replace(drawn.states[0].leave[0], after=After(*window))
    first = replace(drawn.states[0], leave=(way_on,))
    model = prop(replace(drawn, states=(first, drawn.states[1])))

    with pytest.raises(NotKnownError, match=r"`b\.after` is not known yet"):
        walk(model)
