"""Times that are never up in a healthy prop: held against searches, and by hand at their edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.check.asking import Asking
from behaviour.check.in_time import is_never_met, untaken
from behaviour.check.marking import Marks, all_marks
from behaviour.explore.budget import Budget
from behaviour.explore.meeting import Wanted, cover
from behaviour.explore.situations import Question
from behaviour.model import Condition, InState, Model
from tests.making import (
    Moves,
    Written,
    becomes,
    both,
    button,
    either,
    input_,
    is_,
    is_not,
    mechanism,
    motor,
    moves,
    no,
    prop,
    region,
    stands,
    state,
    way,
)

X = button("x")
TURN, LATE = InState("r", 1), InState("q", 1)
ON, OFF = is_("drum", "forward"), is_("drum", "stopped")


def searched(model: Model) -> set[object]:
    """Give all that a search of the whole prop meets of its first region, or leaves open."""
    first = model.regions[0]
    marks = Marks(model, first, dict.fromkeys(all_marks(model, first)))
    question = Question(observers=(marks,))
    covered = cover(Asking(model, Budget()).lookout(question, regions=("r",)), Wanted())
    return {*covered.runs, *covered.open}


# --- By hand --------------------------------------------------------------------------------------


def turning(
    after: float,
    *,
    when: Condition | None = None,
    during: Condition = ON,
    onward: Moves | None = None,
    within: tuple[float, float] = (20, 30),
    steady: float = 0,
    more: Condition | None = None,
) -> Model:
    """A drum turns to its mark `within` 30 ms; it has `after` for that."""
    waits = [way("idle", when or is_("mark", "made")), way("jam", after=after)]
    if more is not None:
        waits.insert(0, way("stay", more))
    return prop(
        region(
            "r",
            state("idle", leave=[way("turn", becomes("x", "pressed"))]),
            state("turn", sets={"drum": "forward"}, leave=waits),
            state("jam", leave=[way("idle", becomes("x", "pressed"))]),
        ),
        region("q", state("early", leave=[way("late", becomes("x", "pressed"))]), state("late")),
        inputs=[X, input_("mark", "clear", "made", steady=steady)],
        outputs=[motor("drum")],
        mechanism=[
            mechanism(
                "m",
                stands("between", {"mark": "clear"}, moves("at", *within, during)),
                stands("at", {"mark": "made"}, *([onward] if onward else ())),
                begins=None,
            )
        ],
    )


def is_late(model: Model) -> bool:
    """Tell whether the time of the drum is shown never to be up, and with it what lies behind."""
    never = untaken(model, model.region["r"])
    assert never.states == ({2} if never.ways else set())
    return bool(never.ways)


def test_a_time_is_never_up_if_the_movement_has_always_ended_before():
    # the drum is at its mark 3 loops after it is driven at the latest, and is seen there at once
    assert is_late(turning(40))
    assert not is_late(turning(30))


def test_the_filter_counts_too():
    assert is_late(turning(60, steady=20))
    assert not is_late(turning(50, steady=20))


@pytest.mark.parametrize(
    ("while_", "is_shown"),
    [
        (OFF, False),
        (is_not("drum", "stopped"), True),
        (both(ON, TURN), True),
        (either(OFF, TURN), True),
        (no(OFF), True),
        (both(ON, LATE), False),
    ],
)
def test_the_movement_must_go_on_for_as_long_as_the_state_lasts(
    while_: Condition, is_shown: bool
) -> None:
    assert is_late(turning(500, during=while_)) == is_shown


def test_a_mark_that_is_soon_passed_must_be_there_for_the_filter():
    assert is_late(turning(500, onward=moves("between", 30, 40, ON), steady=20))
    assert not is_late(turning(500, onward=moves("between", 20, 40, ON), steady=20))
    assert not is_late(turning(500, onward=moves("between", 0, 40, ON)))


def test_a_change_may_have_been_when_the_state_is_entered():
    change = becomes("mark", "made")
    assert not is_late(turning(500, when=change))
    assert is_late(turning(500, when=change, onward=moves("between", 10, 40, ON)))
    assert not is_late(turning(500, when=change, onward=moves("between", 10, 40, ON), steady=10))


def test_a_change_may_be_missed_where_what_lies_between_is_passed_between_two_looks():
    change, on = becomes("mark", "made"), moves("between", 10, 10, ON)
    assert is_late(turning(500, when=change, onward=on, within=(10, 10)))
    assert not is_late(turning(500, when=change, onward=on, within=(5, 5)))
    assert is_late(turning(500, onward=on, within=(5, 5)))


def test_who_does_something_else_meanwhile_may_be_there_longer():
    assert not is_late(turning(500, more=is_("mark", "made")))


def test_what_lies_behind_is_never_met_either():
    model = turning(40)
    never = [mark for mark in all_marks(model, model.region["r"]) if is_never_met(model, mark)]

    assert ("taken", "r", 2) in never
    assert ("taken", "r", 3) in never
    assert ("state", "r", 2) in never
    assert ("order", "r", 1, 2) in never
    assert ("false-jam", "r", 2) in never
    assert searched(model).isdisjoint(never)


def test_inner_states_are_waited_in_one_after_the_other():
    def dealing(after: float) -> Model:
        return prop(
            region(
                "r",
                state("idle", leave=[way("deal", becomes("x", "pressed"))]),
                state(
                    "deal",
                    state("push", leave=[way("bring", is_("mark", "made"))]),
                    state("bring", leave=[way("idle", is_("mark", "clear"))]),
                    sets={"drum": "forward"},
                    leave=[way("jam", after=after)],
                    begins="push",
                ),
                state("jam"),
            ),
            inputs=[X, input_("mark", "clear", "made")],
            outputs=[motor("drum")],
            mechanism=[
                mechanism(
                    "m",
                    stands("clear", {"mark": "clear"}, moves("made", 20, 30, ON)),
                    stands("made", {"mark": "made"}, moves("clear", 40, 50, ON)),
                    begins=None,
                )
            ],
        )

    # at worst it has just come to the mark, once more round for each of the two
    assert untaken(dealing(170), dealing(170).regions[0]).ways
    assert not untaken(dealing(160), dealing(160).regions[0]).ways


# --- By search ------------------------------------------------------------------------------------

small = st.integers(0, 6).map(lambda halves: halves * 5)
"""Up to three loops, and halves of loops as well, in milliseconds."""
conditions = st.sampled_from(
    [
        ON,
        is_not("drum", "stopped"),
        TURN,
        both(ON, TURN),
        either(OFF, TURN),
        OFF,
    ]
)
waits = st.sampled_from(
    [
        is_("mark", "made"),
        is_("mark", "clear"),
        is_not("mark", "made"),
        becomes("mark", "made"),
        becomes("mark", "clear"),
    ]
)


@st.composite
def movements(draw: st.DrawFn, go: str) -> Moves:
    low, more = draw(small), draw(small)
    return moves(go, low, max(low + more, 5), draw(conditions))


@st.composite
def props(draw: st.DrawFn) -> Model:
    """Draw a region that waits, perhaps in two states, with a time; and what it waits for."""
    times = st.integers(4, 24).map(lambda loops: loops * 10)
    jam = way("jam", after=draw(times))
    if draw(st.booleans()):
        inner: tuple[Written, ...] = (
            state("turn", leave=[way("next", draw(waits))]),
            state("next", leave=[way("idle", draw(waits))]),
        )
        outer = state("all", *inner, sets={"drum": "forward"}, leave=[jam], begins="turn")
    else:
        outer = state("turn", sets={"drum": "forward"}, leave=[way("idle", draw(waits)), jam])
    leaves = [
        stands("a", {"mark": "clear"}, draw(movements("b"))),
        stands("b", {"mark": "made"}, *draw(st.lists(movements("c"), max_size=1))),
        stands("c", {"mark": draw(st.sampled_from(["clear", "made"]))}, draw(movements("a"))),
    ]
    steady = {"clear": draw(small), "made": draw(small)}
    return prop(
        region(
            "r",
            state("idle", leave=[way("turn", becomes("x", "pressed"))]),
            outer,
            state("jam", leave=[way("idle", becomes("x", "pressed"))]),
        ),
        inputs=[X, input_("mark", "clear", "made", steady=steady)],
        outputs=[motor("drum")],
        mechanism=[mechanism("m", *leaves, begins=draw(st.sampled_from([None, "a"])))],
    )


@given(props())
def test_what_is_shown_never_to_be_met_is_met_by_no_search(model: Model) -> None:
    never = [mark for mark in all_marks(model, model.regions[0]) if is_never_met(model, mark)]

    if never:
        assert searched(model).isdisjoint(never)
