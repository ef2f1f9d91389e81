"""Findings by plain definition, each with a near miss: what no run does, what goes by itself."""

from behaviour.model import Model, Role
from tests.making import (
    Way,
    becomes,
    button,
    input_,
    inside,
    is_,
    motor,
    output,
    prop,
    region,
    state,
    way,
)
from tests.twin.props import MARK, X, drum_position, found, waiting_for_the_mark

# --- dead-end -----------------------------------------------------------------------------------


def test_a_state_that_no_run_leaves_is_a_dead_end() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=is_("x", "on"))]), state("b")), inputs=[X]
    )
    assert found(model, "dead-end") == {("r", "b")}


def test_a_transition_to_itself_leaves_a_state_and_a_cue_or_stay_does_not() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("a", after=10)]),
        ),
        region("q", state("b", leave=[way("stay", after=10)])),
        region("p", state("c", cues=[(10, {"lamp": "lit"})])),
        outputs=[output("lamp", "dark", "lit")],
    )
    assert found(model, "dead-end") == {("q", "b"), ("p", "c")}


def test_a_lockout_and_what_is_inside_one_is_no_dead_end() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("locked", when=is_("x", "on"))]),
            state("locked", state("in"), lockout=True),
        ),
        inputs=[X],
    )
    assert found(model, "dead-end") == set()


def test_two_regions_that_wait_for_each_other_are_dead_ends() -> None:
    waits = [way("done", when=inside("q", "done"))]
    model = prop(
        region("r", state("wait", leave=waits), state("done", leave=[way("wait")])),
        region(
            "q",
            state("wait", leave=[way("done", when=inside("r", "done"))]),
            state("done", leave=[way("wait")]),
        ),
    )
    assert found(model, "dead-end") == {("r", "wait"), ("q", "wait")}


def test_a_stalled_movement_can_make_a_dead_end() -> None:
    assert found(waiting_for_the_mark(), "dead-end") == {("r", "turn")}
    assert found(waiting_for_the_mark(way("idle", after=90)), "dead-end") == set()


# --- no-way-back --------------------------------------------------------------------------------


def test_no_way_back_where_the_first_state_is_out_of_reach() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on"))]),
            state("b", leave=[way("c", after=10)]),
            state("c", leave=[way("b", after=10)]),
        ),
        inputs=[X],
    )
    assert found(model, "no-way-back") == {"r"}


def test_a_state_inside_the_first_one_is_a_way_back() -> None:
    model = prop(
        region(
            "r",
            state("outer", state("one", leave=[way("a")]), state("two", leave=[way("a")])),
            state("a", leave=[way("two", after=10)]),
        )
    )
    assert found(model, "no-way-back") == set()


def locking(*more: Way) -> Model:
    return prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on"))]),
            state("b", leave=[way("locked", when=is_("y", "on")), *more]),
            state("c", leave=[way("b", after=10)]),
            state("locked", lockout=True),
        ),
        inputs=[X, input_("y", "off", "on")],
    )


def test_no_way_back_is_excused_where_every_run_that_goes_on_ends_in_a_lockout() -> None:
    assert found(locking(), "no-way-back") == set()


def test_it_is_not_excused_where_a_run_goes_round_for_ever() -> None:
    assert found(locking(way("c", after=10)), "no-way-back") == {"r"}


def test_a_region_whose_neighbour_locks_up_is_excused() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on"))]),
            state("b", leave=[way("a", inside("q", "a"))]),
        ),
        region(
            "q",
            state("a", leave=[way("locked", when=is_("x", "on"))]),
            state("locked", lockout=True),
        ),
        inputs=[X],
    )
    assert found(model, "no-way-back") == set()


# --- runaway ------------------------------------------------------------------------------------


def test_a_hazard_left_on_is_a_runaway() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=becomes("x", "on"))]),
            state("b", sets={"drum": "forward"}, leave=[way("a", when=becomes("x", "off"))]),
        ),
        inputs=[X],
        outputs=[motor("drum")],
    )
    assert found(model, "runaway") == {"drum"}


def jogging(role: Role | None) -> Model:
    return prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("go", "pressed"))]),
            state("b", sets={"drum": "forward"}, leave=[way("a", when=is_("go", "released"))]),
        ),
        inputs=[button("go", role=role)],
        outputs=[motor("drum")],
    )


def test_standing_still_lets_go_of_a_hold_to_run() -> None:
    assert found(jogging(None), "runaway") == {"drum"}
    assert found(jogging(Role.HOLD_TO_RUN), "runaway") == set()


def test_a_hazard_that_comes_to_rest_now_and_then_is_no_runaway() -> None:
    model = prop(
        region(
            "r",
            state("a", sets={"drum": "forward"}, leave=[way("b", after=20)]),
            state("b", leave=[way("a", after=10)]),
        ),
        outputs=[motor("drum")],
    )
    assert found(model, "runaway") == set()
    assert found(model, "self-running") == {"r"}


def test_a_movement_that_stalls_can_make_a_runaway() -> None:
    assert found(waiting_for_the_mark(), "runaway") == {"drum"}
    assert found(waiting_for_the_mark(way("idle", after=90)), "runaway") == set()


def test_what_is_no_hazard_does_not_run_away() -> None:
    model = prop(
        region("r", state("a", sets={"lamp": "lit"})), outputs=[output("lamp", "dark", "lit")]
    )
    assert found(model, "runaway") == set()


# --- self-running -------------------------------------------------------------------------------


def test_a_state_that_enters_itself_runs_by_itself_and_one_that_stays_does_not() -> None:
    model = prop(
        region("r", state("a", leave=[way("a", after=10)])),
        region("q", state("b", leave=[way("stay", after=10)])),
    )
    assert found(model, "self-running") == {"r"}


def test_a_round_that_needs_people_is_not_self_running() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on"))]),
            state("b", leave=[way("a", when=is_("x", "off"))]),
        ),
        inputs=[X],
    )
    assert found(model, "self-running") == set()


def test_a_round_that_only_a_stall_brings_about_is_not_self_running() -> None:
    model = prop(
        region(
            "r",
            state(
                "turn",
                sets={"drum": "forward"},
                leave=[way("done", is_("mark", "made")), way("jam", after=90)],
            ),
            state("jam", leave=[way("turn", after=10)]),
            state("done"),
        ),
        inputs=[MARK],
        outputs=[motor("drum")],
        mechanism=[drum_position()],
    )
    assert found(model, "self-running") == set()
    assert found(model, "only-by-stall") == {("r", "jam")}


# --- moves-at-power-up --------------------------------------------------------------------------


def test_a_hazard_that_starts_by_itself_however_late_moves_at_power_up() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", after=50)]), state("b", sets={"drum": "forward"})),
        outputs=[motor("drum")],
    )
    assert found(model, "moves-at-power-up") == {"drum"}


def test_a_button_that_is_held_at_power_up_moves_and_one_freshly_pressed_does_not() -> None:
    assert found(jogging(Role.HOLD_TO_RUN), "moves-at-power-up") == {"drum"}
    assert found(waiting_for_the_mark(), "moves-at-power-up") == set()


# --- reverses-at-once ---------------------------------------------------------------------------


def reversing(rest: float, pause: float | None) -> Model:
    return prop(
        region(
            "r",
            state("a", sets={"drum": "forward"}, leave=[way("b", when=is_("x", "on"))]),
            state("b", leave=[way("c", after=rest)]),
            state("c", sets={"drum": "reverse"}),
        ),
        inputs=[X],
        outputs=[motor("drum", pause=pause)],
    )


def test_a_motor_that_rests_less_than_its_pause_reverses_at_once() -> None:
    assert found(reversing(20, 21), "reverses-at-once") == {"drum"}
    assert found(reversing(30, 21), "reverses-at-once") == set()


def test_a_motor_without_a_pause_may_reverse() -> None:
    assert found(reversing(10, None), "reverses-at-once") == set()


def test_going_on_the_same_way_is_not_reversing() -> None:
    model = prop(
        region(
            "r",
            state("a", sets={"drum": "forward"}, leave=[way("b", after=10)]),
            state("b", leave=[way("a", after=10)]),
        ),
        outputs=[motor("drum", pause=50)],
    )
    assert found(model, "reverses-at-once") == set()
