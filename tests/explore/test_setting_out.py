"""What one way out of a rest shows to be possible is possible: held against random props."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore import holding
from behaviour.explore.budget import Budget
from behaviour.explore.holding import Effort, Holding
from behaviour.explore.reach import Lookout
from behaviour.explore.search import explore
from behaviour.explore.setting_out import SettingOut
from behaviour.explore.situations import Move, Question, Situation, Stay
from behaviour.explore.twin import TooManyStatesError, walk
from behaviour.model import Model
from tests.explore.test_holding import known_of, known_to_the_twin, leaves, possible
from tests.making import becomes, both, button, held, inside, is_, prop, region, state, way
from tests.strategies import different_models

LIMIT = 3_000

BY_SETTING_OUT = (Effort(0, timed=False, sets_out=True), Effort(0, timed=True, sets_out=True))


def unproved(model: Model, name: str, leaf: int) -> list[Situation]:
    """Give the situations from which no such way is found to `leaf`."""
    lookout = Lookout(model, Question(), Budget(100_000, 60))
    space = lookout.space(frozenset())
    number = model.region_index[name]

    def is_reached(at: Situation, step: Move | Stay) -> bool:
        after = at if isinstance(step, Stay) else step.to
        return after.places[number].leaf == leaf

    every = explore(space, lookout.budget).by_situation
    return Holding(lookout, space, is_reached, sets_out=True).unproved(every)


@given(different_models(), st.data())
def test_what_is_shown_by_setting_out_alone_is_possible(model, data):
    try:
        graph = walk(model, limit=LIMIT)
    except TooManyStatesError:
        return
    name, leaf = data.draw(st.sampled_from(list(leaves(model))))
    able = possible(model, graph, name, leaf)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(holding, "EFFORTS", BY_SETTING_OUT)
        open_ones = {known_of(at) for at in unproved(model, name, leaf)}

    for number in range(graph.healthy):
        is_proved = known_to_the_twin(graph.states[number]) not in open_ones
        assert number in able or not is_proved


# --- By hand ------------------------------------------------------------------------------------

X, Y = button("x", steady=20), button("y", steady=50)
PRESSED = becomes("x", "pressed")


def in_time(limit: int) -> Model:
    """Two presses, the second before the time of the state between is up."""
    return prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state("b", leave=[way("c", becomes("y", "pressed")), way("a", after=limit)]),
            state("c", leave=[way("a", after=100)]),
        ),
        inputs=[X, Y],
    )


def test_a_second_press_within_a_time_is_shown_by_setting_out():
    assert unproved(in_time(1000), "r", 2) == []


def test_without_setting_out_it_is_not_shown():
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(holding, "EFFORTS", tuple(e for e in holding.EFFORTS if not e.sets_out))

        assert unproved(in_time(1000), "r", 2) != []


def test_what_no_way_leads_to_is_not_shown():
    """A value held for 200 ms after it was pressed, in a state that lasts 100 ms."""
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state(
                "b",
                leave=[
                    way("c", both(held("x", "pressed", 200), is_("y", "released"))),
                    way("a", after=100),
                ],
            ),
            state("c", leave=[way("a", after=100)]),
        ),
        inputs=[X, Y],
    )

    assert {at.places[0].leaf for at in unproved(model, "r", 2)} == {0, 1, 2}


def test_it_is_not_asked_where_others_may_move_what_is_looked_at():
    lookout = Lookout(in_time(1000), Question(free=frozenset({0})), Budget())
    (at, *_) = explore(lookout.space(None), Budget()).by_situation

    assert not SettingOut(lookout, lambda *_: True).leads(at)


def test_regions_that_wait_for_each_other_are_not_shown():
    def waiting(name: str, other: str):
        return region(
            name,
            state("a", leave=[way("b", PRESSED)]),
            state("b", leave=[way("a", inside(other, "c"))]),
            state("c"),
        )

    model = prop(waiting("r", "s"), waiting("s", "r"), inputs=[X])

    assert {at.places[0].leaf for at in unproved(model, "r", 0)} >= {1}
