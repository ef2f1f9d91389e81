"""Counts that nobody will ask for are forgotten, and nothing else is done otherwise for it."""

from hypothesis import given

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.forgetting import forgetful
from behaviour.explore.search import explore
from behaviour.explore.situations import Question, Situation
from behaviour.explore.space import Space
from behaviour.model import Model
from tests.making import (
    add,
    becomes,
    button,
    count,
    counter,
    inside,
    is_,
    prop,
    put,
    region,
    state,
    take,
    way,
)
from tests.reading import spec
from tests.strategies import different_models

PRESS, HOLD = becomes("press", "pressed"), is_("hold", "pressed")


def shots(*others, first=None, stuck=()) -> Model:
    """Two shots a press; `stuck` with a count that the next press sets anew, by `first`."""
    return prop(
        region(
            "gun",
            state("idle", leave=[way("loaded", PRESS, do=first or [put("left", 2)])]),
            state(
                "loaded",
                leave=[
                    way("stuck", HOLD),
                    way("idle", count("left", "=", 0)),
                    way("loaded", after=10, do=[take("left")]),
                ],
            ),
            state("stuck", leave=[*stuck, way("idle", PRESS)]),
        ),
        *others,
        inputs=[button("press"), button("hold")],
        counters=[counter("left", 0, 2)],
    )


def reached(model: Model, told: frozenset[str] = frozenset()) -> set[tuple[str, int]]:
    """List the states that the first region gets to when drawn so, each with the count."""
    drawn = forgetful(model, model, told)
    states = drawn.regions[0].states
    situations = explore(Space(drawn, Question(), frozenset()), Budget()).by_situation
    return {(states[at.places[0].leaf].name, at.counters[0]) for at in situations}


LOADED = {("loaded", 2), ("loaded", 1), ("loaded", 0)}
STUCK = {("stuck", 2), ("stuck", 1), ("stuck", 0)}


def test_what_is_set_anew_before_anybody_asks_is_forgotten():
    assert reached(shots()) == LOADED | {("idle", 0), ("stuck", 0)}


def test_what_is_told_is_not():
    every = LOADED | STUCK | {("idle", 0), ("idle", 1), ("idle", 2)}

    assert reached(shots(), frozenset({"left"})) == every


def test_what_is_counted_on_from_is_not():
    assert reached(shots(first=[add("left")])) >= STUCK
    assert reached(shots(stuck=[way("stay", HOLD, do=[take("left")])])) >= STUCK


def test_what_is_asked_for_later_is_not():
    assert reached(shots(stuck=[way("loaded", HOLD)])) >= STUCK


def test_what_another_region_asks_for_is_not():
    lamp = region("lamp", state("dark", leave=[way("lit", count("left", "=", 1))]), state("lit"))

    assert reached(shots(lamp)) >= STUCK
    assert ("stuck", 1) not in reached(shots(region("lamp", state("dark"), state("lit"))))


def test_a_part_forgets_nothing_that_the_rest_of_the_prop_asks_for():
    lamp = region("lamp", state("dark", leave=[way("lit", count("left", "=", 1))]), state("lit"))
    part = shots()

    assert forgetful(part, shots(lamp), frozenset()) is part


def test_a_drawing_is_made_once_and_a_prop_without_such_counters_stays_itself():
    model = shots()

    assert forgetful(model, model, frozenset()) is forgetful(model, model, frozenset())
    assert forgetful(model, model, {"left"}) is model
    plain = prop(region("lamp", state("dark", leave=[way("dark", inside("lamp", "dark"))])))
    assert forgetful(plain, plain, frozenset()) is plain


def test_the_demo_sign_forgets_its_swings():
    model = spec("specs/rotating-sign.yaml")
    swing = forgetful(model, model, frozenset()).region["swing"]
    forgetting = {
        swing.states[way.target].name
        for way in swing.transitions()
        if isinstance(way.target, int)
        and way.does != model.region["swing"].transition(way.number).does
    }

    assert forgetting == {"jammed", "panel_open", "resting", "lost"}


def _uncounted(at: Situation) -> Situation:
    return at._replace(counters=())


@given(different_models())
def test_nothing_else_differs(model: Model):
    try:
        plain, drawn = (
            {_uncounted(at) for at in explore(space, Budget(states=3_000)).by_situation}
            for each in (model, forgetful(model, model, frozenset()))
            for space in (Space(each, Question(), None),)
        )
    except LimitError:
        return

    assert plain == drawn
