"""What watches of order and number keep of the loops before: no more than makes a difference."""

import pytest

from behaviour.check.ordering import Order, Tally, is_over_at_once
from behaviour.explore.reach import Lookout
from behaviour.explore.search import Budget, explore
from behaviour.explore.situations import Question, Watch
from behaviour.model import Condition
from tests.making import becomes, both, either, input_, is_, prop, region, state

ON, COMES, GOES = is_("x", "on"), becomes("x", "on"), becomes("x", "off")


def places(watch: Watch, *conditions: Condition) -> set[int]:
    """Collect the places of a watch beside a prop that does nothing, with x at the will of people.

    What x reads is followed.
    """
    model = prop(region("r", state("a")), inputs=[input_("x", "off", "on")])
    question = Question(watches=(watch,), conditions=conditions)
    lookout = Lookout(model, question, Budget(), follow=frozenset({0}))
    reached = explore(lookout.space(frozenset()), Budget())
    return {at.watch[0] for at in reached.by_situation}


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        (COMES, True),
        (both(is_("y", "on"), COMES), True),
        (ON, False),
        (both(ON, is_("y", "on")), False),
        (either(COMES, GOES), False),
        (None, False),
    ],
)
def test_only_what_needs_a_change_is_over_at_once(condition: Condition | None, said: bool) -> None:
    assert is_over_at_once(condition) is said


def test_of_a_change_it_is_not_kept_that_it_was() -> None:
    assert places(Tally(COMES, 1, COMES), COMES) == {0, 4}
    assert places(Tally(ON, 1, COMES), ON, COMES) == {0, 4, 5}
    assert places(Order(GOES, ON, COMES), GOES, ON, COMES) == {2, -1}


def test_that_something_lasts_is_kept_where_it_would_otherwise_begin() -> None:
    assert places(Tally(GOES, 2, ON), GOES, ON) == {0, 4}
    assert places(Order(COMES, GOES, ON), COMES, GOES, ON) == {1, 2, 4, 0, -1}
