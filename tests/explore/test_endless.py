"""Whether a drawing of a prop can keep to something for ever: what it cannot, the prop cannot."""

from behaviour.explore.budget import Budget
from behaviour.explore.endless import lasting_for_ever, may_last
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question, Situation
from behaviour.findings import Run
from behaviour.model import Model, Region
from behaviour.story import replay
from tests.making import becomes, input_, is_, prop, region, state, way

UNTIL = way("b", is_("x", "on"))


def lookout(model: Model, budget: Budget | None = None) -> Lookout:
    return Lookout(model, Question(), budget or Budget())


def in_a(at: Situation) -> bool:
    """Tell whether the region is in one of the states in which it waits for b."""
    return at.places[0].leaf != 1


def drawn(*regions: Region) -> Model:
    return prop(*regions, inputs=[input_("x", "off", "on")])


def leaves_gone_round(model: Model) -> set[int]:
    """Play the run that is found, twice round, and give where the region is from then on."""
    run = lasting_for_ever(lookout(model), in_a)
    assert run is not None
    assert run.repeats_from is not None
    twice = Run((*run.stimuli, *run.stimuli[run.repeats_from :]))
    return {view.state.regions[0].leaf for view in replay(model, twice)[run.repeats_from :]}


def test_what_times_out_lasts_for_ever_nowhere() -> None:
    model = drawn(
        region("r", state("a", leave=[UNTIL, way("b", after=100)]), state("b")),
    )

    assert not may_last(lookout(model), in_a)
    assert lasting_for_ever(lookout(model), in_a) is None


def test_what_waits_for_people_may_last() -> None:
    model = drawn(region("r", state("a", leave=[UNTIL]), state("b")))

    assert may_last(lookout(model), in_a)
    assert leaves_gone_round(model) == {0}


def test_what_people_can_send_round_may_last() -> None:
    to_c = way("c", becomes("x", "on"), after=50)
    model = drawn(
        region(
            "r",
            state("a", leave=[to_c, way("b", after=100)]),
            state("b"),
            state("c", leave=[way("a", becomes("x", "off")), way("b", after=100)]),
        ),
    )

    assert may_last(lookout(model), in_a)
    assert leaves_gone_round(model) == {0, 2}


def test_a_round_that_cannot_be_gone_in_time_is_none() -> None:
    late = way("c", becomes("x", "on"), after=150)
    model = drawn(
        region(
            "r",
            state("a", leave=[way("b", after=100), late]),
            state("b"),
            state("c", leave=[way("a", becomes("x", "off")), way("b", after=100)]),
        ),
    )

    assert not may_last(lookout(model), in_a)
    assert lasting_for_ever(lookout(model), in_a) is None


def test_what_a_limit_stops_may_last() -> None:
    model = drawn(
        region("r", state("a", leave=[UNTIL, way("b", after=100)]), state("b")),
    )

    assert may_last(lookout(model, Budget(states=1)), in_a)
