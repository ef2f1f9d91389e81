"""Findings by plain definition, each with a near miss: what is never reached, beaten or missed."""

from dataclasses import replace

from behaviour.model import Mechanism, Model
from tests.making import (
    Way,
    add,
    becomes,
    both,
    count,
    counter,
    either,
    held,
    input_,
    is_,
    is_not,
    mechanism,
    motor,
    moves,
    no,
    output,
    prop,
    put,
    region,
    stands,
    state,
    take,
    way,
)
from tests.twin.implied import implies
from tests.twin.props import DRIVEN, MARK, X, drum_position, found, waiting_for_the_mark

# --- never-reached, never-taken -----------------------------------------------------------------


def test_states_and_transitions_that_no_run_comes_to() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=both(is_("x", "on"), is_("x", "off"))), way("c")]),
            state("b", leave=[way("a")]),
            state("c"),
        ),
        inputs=[X],
    )
    assert found(model, "never-reached") == {("r", "b")}
    assert found(model, "never-taken") == {("r", 0)}


def test_a_cue_is_reached_in_the_loop_after_which_its_state_may_be_left() -> None:
    cues = [(20, {"lamp": "lit"}), (30, {"lamp": "dark"})]

    def shown(time: int) -> Model:
        leave = [way("a", after=time)]
        shot = state("b", cues=cues, leave=leave)
        return prop(
            region("r", state("a", leave=[way("b", when=becomes("x", "on"))]), shot),
            inputs=[X],
            outputs=[output("lamp", "dark", "lit")],
        )

    assert found(shown(20), "never-reached") == {("r", "b@20ms")}
    assert found(shown(30), "never-reached") == {("r", "b@30ms")}
    assert found(shown(40), "never-reached") == set()


def test_a_transition_that_is_always_beaten_is_never_taken() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", when=is_("x", "on")), way("b", when=becomes("x", "on"))]),
            state("b"),
        ),
        inputs=[X],
    )
    assert found(model, "never-taken") == {("r", 1)}


def test_an_interlock_that_acts_at_power_up_is_taken() -> None:
    model = prop(
        region("r", state("a", interlocks=[way("b", when=is_("x", "on"))]), state("b")),
        inputs=[input_("x", "off", "on"), input_("y", "off", "on")],
        mechanism=[mechanism("m", stands("stuck", {"x": "on"}))],
    )
    assert found(model, "never-taken") == set()
    assert found(model, "never-reached") == {("r", "a")}


def test_what_only_a_stall_reaches_is_told_apart() -> None:
    model = waiting_for_the_mark(way("jam", after=90))

    assert found(model, "only-by-stall") == {("r", "jam")}
    assert found(model, "never-reached") == set()
    assert found(model, "never-taken") == set()
    assert found(model, "false-jam") == set()


def test_mechanism_states_and_movements_that_no_run_comes_to() -> None:
    model = prop(
        region("r", state("a")),
        inputs=[MARK],
        outputs=[motor("drum")],
        mechanism=[drum_position()],
    )
    assert found(model, "mechanism-never-reached") == {("m", "at")}
    assert found(model, "mechanism-never-taken") == {("m", 0)}


# --- order-matters ------------------------------------------------------------------------------


def ordered(first: object, second: object, after: tuple[float | None, float | None]) -> Model:
    return prop(
        region(
            "r",
            state(
                "a",
                leave=[
                    way("b", when=first, after=after[0]),  # type: ignore[arg-type]
                    way("c", when=second, after=after[1]),  # type: ignore[arg-type]
                ],
            ),
            state("b"),
            state("c"),
        ),
        inputs=[X, input_("y", "off", "on")],
    )


X_ON, Y_ON = is_("x", "on"), is_("y", "on")


def test_two_transitions_that_can_hold_in_one_loop_are_told() -> None:
    assert found(ordered(X_ON, Y_ON, (None, None)), "order-matters") == {("r", 0, 1)}
    assert found(ordered(X_ON, is_("x", "off"), (None, None)), "order-matters") == set()


def test_an_otherwise_is_not_told() -> None:
    assert found(ordered(both(X_ON, Y_ON), X_ON, (None, None)), "order-matters") == set()
    assert found(ordered(X_ON, None, (None, None)), "order-matters") == set()
    assert found(ordered(X_ON, None, (None, 20)), "order-matters") == {("r", 0, 1)}
    assert found(ordered(X_ON, None, (20, 20)), "order-matters") == set()


def test_two_that_lead_to_the_same_are_not_told() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=X_ON), way("b", when=Y_ON)]), state("b")),
        inputs=[X, input_("y", "off", "on")],
    )
    assert found(model, "order-matters") == set()


def test_a_state_and_the_one_around_it_are_told() -> None:
    model = prop(
        region(
            "r",
            state("outer", state("in", leave=[way("b", when=X_ON)]), leave=[way("c", when=Y_ON)]),
            state("b"),
            state("c"),
        ),
        inputs=[X, input_("y", "off", "on")],
    )
    assert found(model, "order-matters") == {("r", 1, 0)}


def test_the_end_of_cues_is_one_of_two() -> None:
    model = prop(
        region(
            "r",
            state("shot", cues=[(20, {})], end=way("b"), leave=[way("c", when=X_ON)]),
            state("b"),
            state("c"),
        ),
        inputs=[X],
    )
    assert found(model, "order-matters") == {("r", 0, 1)}


# --- deaf ---------------------------------------------------------------------------------------


def homing(*more: Way, position: Mechanism | None = None) -> Model:
    return prop(
        region(
            "r",
            state(
                "home",
                sets={"drum": "forward"},
                leave=[way("idle", when=becomes("mark", "made")), *more],
            ),
            state("idle"),
        ),
        inputs=[X, MARK],
        outputs=[motor("drum")],
        mechanism=[position or drum_position(begins=None)],
    )


def test_a_state_that_waits_for_a_change_already_made_is_deaf() -> None:
    assert found(homing(), "deaf") == {("r", "home")}
    assert found(homing(position=drum_position(begins="between")), "deaf") == set()


def test_a_way_out_by_people_alone_does_not_help() -> None:
    assert found(homing(way("idle", when=X_ON)), "deaf") == {("r", "home")}
    assert found(homing(way("idle", when=both(is_("mark", "made"), X_ON))), "deaf") == {
        ("r", "home")
    }


def test_a_time_or_the_mechanism_s_own_input_is_a_way_out() -> None:
    assert found(homing(way("idle", after=90)), "deaf") == set()
    assert found(homing(way("idle", when=is_("mark", "made"))), "deaf") == set()


def test_what_people_may_do_beside_in_the_same_transition_is_a_way_out_by_people() -> None:
    def leaving(when: object) -> Model:
        model = homing()
        home, idle = model.regions[0].states
        leave = (replace(home.leave[0], when=when),)
        states = (replace(home, leave=leave), idle)
        return replace(model, regions=(replace(model.regions[0], states=states),))

    made = becomes("mark", "made")
    assert found(leaving(either(made, X_ON)), "deaf") == {("r", "home")}
    assert found(leaving(either(made, is_("mark", "made"))), "deaf") == set()


def test_what_stays_inside_a_state_is_no_way_out_of_it() -> None:
    def homing_in_steps(target: str) -> Model:
        wait = [way("idle", when=becomes("mark", "made"))]
        fast = state("fast", sets={"drum": "forward"}, leave=[way(target, after=90)])
        slow = state("slow", sets={"drum": "forward"})
        return prop(
            region("r", state("home", fast, slow, leave=wait), state("idle")),
            inputs=[MARK],
            outputs=[motor("drum")],
            mechanism=[drum_position(begins=None)],
        )

    assert found(homing_in_steps("slow"), "deaf") == {("r", "home")}
    assert found(homing_in_steps("idle"), "deaf") == set()


# --- out-of-range -------------------------------------------------------------------------------


def test_a_counter_that_a_run_takes_past_its_bound() -> None:
    def counting(condition: object) -> Model:
        return prop(
            region("r", state("a", leave=[way("a", when=condition, do=[take("n")])])),  # type: ignore[arg-type]
            counters=[counter("n", 0, 2, begins=2)],
        )

    assert found(counting(None), "out-of-range") == {"n"}
    assert found(counting(count("n", ">", 0)), "out-of-range") == set()


def test_a_counter_may_pass_its_bound_only_once_all_of_do_has_run_each_for_itself() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", do=[add("n"), put("n", 0)])]), state("b")),
        counters=[counter("n", 0, 2, begins=2)],
    )
    assert found(model, "out-of-range") == {"n"}


# --- false-jam ----------------------------------------------------------------------------------


def jamming(after: float, *, steady: float = 0, when: object = None, first: bool = False) -> Model:
    jam = way("jam", when=when, after=after)  # type: ignore[arg-type]
    done = way("idle", when=is_("mark", "made"))
    return prop(
        region(
            "r",
            state("idle", leave=[way("turn", when=both(is_("x", "on"), is_("mark", "clear")))]),
            state("turn", sets={"drum": "forward"}, leave=[jam, done] if first else [done, jam]),
            state("jam"),
        ),
        inputs=[X, input_("mark", "clear", "made", steady=steady)],
        outputs=[motor("drum")],
        mechanism=[
            mechanism(
                "m",
                stands("between", {"mark": "clear"}, moves("at", 20, 30, DRIVEN)),
                stands("at", {"mark": "made"}),
            )
        ],
    )


def test_a_timeout_within_the_movement_s_window_is_a_false_jam() -> None:
    assert found(jamming(20), "false-jam") == {("r", 2)}
    assert found(jamming(30), "false-jam") == set()


def test_a_tie_is_a_false_jam_where_the_timeout_is_written_first() -> None:
    assert found(jamming(30, first=True), "false-jam") == {("r", 1)}
    assert found(jamming(40, first=True), "false-jam") == set()


def test_news_still_in_the_filter_counts() -> None:
    assert found(jamming(40, steady=20), "false-jam") == {("r", 2)}
    assert found(jamming(50, steady=20), "false-jam") == set()


def test_a_timeout_with_a_condition_counts_too() -> None:
    assert found(jamming(20, when=is_("x", "on")), "false-jam") == {("r", 2)}


def test_a_timeout_of_the_state_around_counts() -> None:
    model = prop(
        region(
            "r",
            state("idle", leave=[way("working", when=both(is_("x", "on"), is_("mark", "clear")))]),
            state(
                "working",
                state("turn", sets={"drum": "forward"}, leave=[way("idle", is_("mark", "made"))]),
                leave=[way("jam", after=20)],
            ),
            state("jam"),
        ),
        inputs=[X, MARK],
        outputs=[motor("drum")],
        mechanism=[drum_position(20, 30)],
    )
    assert found(model, "false-jam") == {("r", 1)}


# --- What a condition means ---------------------------------------------------------------------


def test_implication_is_over_all_values_of_what_is_named() -> None:
    model = prop(
        region("r", state("a")),
        inputs=[X, input_("z", "low", "mid", "high", kind="selector")],
        counters=[counter("n", 0, 3)],
    )

    assert implies(model, becomes("x", "on"), X_ON)
    assert not implies(model, X_ON, becomes("x", "on"))
    assert implies(model, held("x", "on", 30), held("x", "on", 20))
    assert not implies(model, held("x", "on", 20), held("x", "on", 30))
    assert not implies(model, becomes("x", "on"), held("x", "on", 10))
    assert implies(model, count("n", ">", 1), count("n", "!=", 0))
    assert implies(model, is_not("z", "low"), is_("z", "mid", "high"))
    assert implies(model, no(either(X_ON, is_("z", "low"))), is_("x", "off"))
