"""States that the file itself shows to be left: held against every state of random props."""

import pytest
from hypothesis import given

from behaviour.check.leaving import is_always_left
from behaviour.explore.twin import TooManyStatesError
from behaviour.model import Condition, Model
from tests.making import (
    Way,
    becomes,
    both,
    button,
    held,
    input_,
    inside,
    is_,
    mechanism,
    moves,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.strategies import each_once, models
from tests.twin.props import found


@given(models())
@each_once
def test_what_the_file_shows_to_be_left_is_no_dead_end(model: Model) -> None:
    left = {
        (each.name, leaf.name)
        for each in model.regions
        for leaf in each.states
        if not leaf.children and not leaf.lockout and is_always_left(model, each, leaf.number)
    }
    if not left:
        return
    try:
        stuck = found(model, "dead-end")
    except TooManyStatesError:
        return

    assert left.isdisjoint(stuck)


X, Y, Z = button("x"), button("y"), input_("z", "clear", "made")
MECHANISM = mechanism("m", stands("off", {"z": "clear"}, moves("on", 10, 20)), stands("on"))


def is_left(*ways: Way) -> bool:
    model = prop(
        region("r", state("a", leave=list(ways)), state("b", leave=[way("a", after=10)])),
        region("q", state("c")),
        inputs=[X, Y, Z],
        mechanism=[MECHANISM],
    )
    return is_always_left(model, model.region["r"], 0)


PRESSED = becomes("x", "pressed")


@pytest.mark.parametrize(
    "when",
    [
        PRESSED,
        is_("x", "pressed"),
        both(PRESSED, is_("y", "released")),
        both(PRESSED, held("y", "pressed", 100)),
        both(both(PRESSED, is_("y", "released"))),
    ],
)
def test_what_people_bring_about_by_themselves_leaves_a_state(when: Condition) -> None:
    assert is_left(way("b", when))
    assert is_left(way("b", when, after=50))


@pytest.mark.parametrize(
    "when",
    [
        inside("q", "c"),
        both(PRESSED, inside("q", "c")),
        is_("z", "made"),
        both(PRESSED, held("x", "released", 100)),
        both(PRESSED, PRESSED),
    ],
)
def test_what_more_is_asked_for_is_not_seen_to_leave_a_state(when: Condition) -> None:
    assert not is_left(way("b", when))


def test_time_leaves_a_state() -> None:
    assert is_left(way("b", after=50))
    assert is_left(way("b", inside("q", "c")), way("b", after=50))


def test_what_stays_may_keep_a_later_way_from_being_taken() -> None:
    assert not is_left(way("stay", PRESSED), way("b", after=50))
    assert is_left(way("b", after=50), way("stay", PRESSED))
