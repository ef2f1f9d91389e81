"""What goes round by itself beside regions that come to rest, or that do not."""

from hypothesis import given

from behaviour.check.asking import Asking
from behaviour.check.standing import check_standing
from behaviour.check.standstill import going_round as written_to_go_round
from behaviour.explore.budget import Budget
from behaviour.explore.twin import TooManyStatesError
from behaviour.model import Model
from tests.making import (
    Written,
    add,
    becomes,
    button,
    count,
    counter,
    input_,
    inside,
    is_,
    prop,
    region,
    state,
    way,
)
from tests.strategies import each_once, models
from tests.twin.props import found

GO = input_("go", "off", "on")


def going_round(model: Model) -> set[object]:
    """Name the regions that go round, as the search has it and by plain definition."""
    told = check_standing(Asking(model, Budget()))
    verdict = next(each for each in told.verdicts if each.name == "self-running")
    running = {f.place[0] for f in told.findings if f.kind.name == "self-running" and f.place}
    assert not verdict.why
    assert running == found(model, "self-running")
    return running


def following(other: str, first: str, second: str) -> tuple[Written, Written]:
    """Write two states between which one goes as another region does."""
    return (
        state("at first", leave=[way("at second", inside(other, second))]),
        state("at second", leave=[way("at first", inside(other, first))]),
    )


def test_what_follows_a_region_that_comes_to_rest_does_not_go_round() -> None:
    switched = (
        state("a", leave=[way("b", is_("go", "on"))]),
        state("b", leave=[way("a", is_("go", "off"))]),
    )
    model = prop(
        region("q", *following("r", "a", "b")),
        region("p", *following("q", "at first", "at second")),
        region("r", *switched),
        inputs=[GO],
    )

    assert going_round(model) == set()


def test_what_follows_a_region_that_goes_round_goes_round_too() -> None:
    blinking = (state("a", leave=[way("b", after=50)]), state("b", leave=[way("a", after=50)]))
    model = prop(region("q", *following("r", "a", "b")), region("r", *blinking))

    assert going_round(model) == {"q", "r"}


def test_two_regions_that_drive_each_other_go_round() -> None:
    model = prop(
        region("q", *following("r", "at second", "at first")),
        region("r", *following("q", "at first", "at second")),
    )

    assert going_round(model) == {"q", "r"}


def test_a_region_that_stays_where_it_is_may_still_count_for_another_that_goes_round() -> None:
    counting = state("a", leave=[way("stay", after=50, do=[add("beats")])])
    model = prop(
        region("r", counting),
        region(
            "q",
            state("c", leave=[way("d", count("beats", ">", 1))]),
            state("d", leave=[way("c", count("beats", ">", 1))]),
        ),
        counters=[counter("beats", 0, 3)],
    )

    assert going_round(model) == {"q"}


@given(models())
@each_once
def test_what_is_not_written_to_go_round_does_not(model):
    resting = {each.name for each in model.regions if not written_to_go_round(model, each)}
    if not resting:
        return
    try:
        running = found(model, "self-running")
    except TooManyStatesError:
        return

    assert resting.isdisjoint(running)


def test_a_round_that_asks_an_input_for_two_values_is_none() -> None:
    away = state("b", leave=[way("a", is_("go", "off"))])
    model = prop(
        region("r", state("a", leave=[way("b", is_("go", "on"), after=50)]), away), inputs=[GO]
    )

    assert not written_to_go_round(model, model.region["r"])


def test_a_round_that_needs_a_hand_is_none() -> None:
    away = state("b", leave=[way("a", after=50)])
    model = prop(
        region("r", state("a", leave=[way("b", becomes("x", "pressed"))]), away),
        inputs=[button("x")],
    )

    assert not written_to_go_round(model, model.region["r"])


def test_what_follows_a_region_goes_round_no_more_once_that_rests() -> None:
    model = prop(
        region("q", *following("r", "a", "b")),
        region("r", state("a", leave=[way("b", after=50)]), state("b")),
    )

    assert written_to_go_round(model, model.region["q"])
    assert not written_to_go_round(model, model.region["q"], resting={"r"})
