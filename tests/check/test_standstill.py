"""Where regions may come with nobody doing a thing: held against every state of random props."""

from hypothesis import given

from behaviour.check.driving import driving
from behaviour.check.standstill import come_to
from behaviour.explore.twin import TooManyStatesError
from behaviour.model import Input, Model, Role
from tests.making import (
    becomes,
    button,
    held,
    input_,
    inside,
    motor,
    prop,
    region,
    state,
    way,
)
from tests.strategies import each_once, models
from tests.twin.props import found


@given(models())
@each_once
def test_what_is_not_come_to_by_itself_moves_nothing_at_power_up(model: Model) -> None:
    there = come_to(model)
    still = {
        output.name
        for output in model.outputs
        if output.hazard
        and output.name in model.owner
        and there[model.owner[output.name]].isdisjoint(driving(model, output))
    }
    if not still:
        return
    try:
        moving = found(model, "moves-at-power-up")
    except TooManyStatesError:
        return

    assert still.isdisjoint(moving)


def come_to_by_a_follower(item: Input) -> set[int]:
    """Give where a region may come that follows another, which moves once an input becomes on."""
    follower = region("f", state("waits", leave=[way("goes", inside("r", "b"))]), state("goes"))
    value = item.values[1]
    leader = region("r", state("a", leave=[way("b", becomes(item.name, value))]), state("b"))
    return set(come_to(prop(follower, leader, inputs=[item]))["f"])


def test_what_follows_a_region_that_waits_for_a_hand_stays_where_it_begins() -> None:
    assert come_to_by_a_follower(button("x")) == {0}


def test_a_guard_may_become_safe_with_nobody_doing_a_thing() -> None:
    lid = input_("lid", "open", "closed", role=Role.GUARD, safe="closed")

    assert come_to_by_a_follower(lid) == {0, 1}


def test_time_and_what_is_held_since_power_up_lead_on() -> None:
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", after=50)]),
            state("b", leave=[way("c", held("x", "released", 100))]),
            state("c", leave=[way("d", becomes("x", "released"))], sets={"drum": "forward"}),
            state("d", sets={"drum": "forward"}),
        ),
        inputs=[button("x")],
        outputs=[motor("drum")],
    )

    assert set(come_to(model)["r"]) == {0, 1, 2}
    assert driving(model, model.output["drum"]) == [2, 3]
