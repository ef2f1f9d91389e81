"""What watches of order and number keep of the loops before: no more than makes a difference."""

import pytest

from behaviour.check.ordering import Order, Tally, is_over_at_once
from behaviour.check.scoping import Scoped
from behaviour.check.watches import unsettled
from behaviour.check.watching import Simple
from behaviour.explore.budget import Budget
from behaviour.explore.reach import Lookout
from behaviour.explore.search import explore
from behaviour.explore.situations import Question, Watch
from behaviour.model import Condition, Scope, ScopeKind
from tests.making import becomes, both, either, input_, is_, prop, region, state

ON, COMES, GOES = is_("x", "on"), becomes("x", "on"), becomes("x", "off")


def places(watch: Watch, *conditions: Condition) -> set[int]:
    """Collect the places of a watch beside a prop that does nothing, with x at the will of people.

    What x reads is followed.
    """
    model = prop(
        region("r", state("a")), inputs=[input_("x", "off", "on"), input_("y", "off", "on")]
    )
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


# --- What is over -------------------------------------------------------------------------------

UP_TO = Scope(kind=ScopeKind.UP_TO, condition=ON)


@pytest.mark.parametrize(
    ("watch", "conditions", "over"),
    [
        (Order(ON, is_("y", "on"), None), (ON, is_("y", "on")), 1),
        (Scoped(Simple(is_("y", "on"), wrong=True), UP_TO), (ON, is_("y", "on")), 0),
    ],
)
def test_nobody_looks_on_once_a_rule_can_no_longer_be_broken(
    watch: Watch, conditions: tuple[Condition, ...], over: int
) -> None:
    every = places(watch, *conditions)

    assert over in every
    assert places(unsettled(watch), *conditions) == every - {over}


@pytest.mark.parametrize(
    "watch",
    [
        Order(ON, GOES, COMES),
        Tally(ON, 2, None),
        Simple(ON, wrong=True),
        Scoped(Simple(GOES, wrong=True), Scope(kind=ScopeKind.ONLY_WHILE, condition=ON)),
        Scoped(Simple(GOES, wrong=True), Scope(kind=ScopeKind.ONCE_BEGUN, condition=ON)),
    ],
)
def test_what_may_be_broken_later_is_looked_at_for_good(watch: Watch) -> None:
    assert unsettled(watch) is watch
