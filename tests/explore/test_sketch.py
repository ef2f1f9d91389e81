"""A prop drawn roughly can do all that the prop can: held against every state of random props."""

from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.search import Budget, explore
from behaviour.explore.situations import Question
from behaviour.explore.sketch import sketch
from behaviour.explore.space import Space
from behaviour.explore.twin import TooManyStatesError, walk
from behaviour.model import Is, Model
from tests.making import (
    add,
    becomes,
    button,
    count,
    counter,
    inside,
    mechanism,
    motor,
    moves,
    not_inside,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.making import is_not as is_other_than
from tests.strategies import models

LIMIT = 3_000

Done = tuple[object, ...]
"""Where the regions and mechanisms of a sketch are, and what its own counters read."""


def own_counters(model: Model, rough: Model) -> list[int]:
    """Number the counters that no region but those of the sketch changes."""
    others = [each for each in model.regions if each.name not in rough.region_index]
    changed = {a.counter for each in others for way in each.transitions() for a in way.does}
    return [n for n, each in enumerate(model.counters) if each.name not in changed]


def done_by_the_prop(model: Model, rough: Model, *, may_stall: bool) -> set[Done]:
    regions = [model.region_index[each.name] for each in rough.regions]
    mechanisms = [model.mechanism_index[each.name] for each in rough.mechanism]
    counters = own_counters(model, rough)
    return {
        (
            tuple((at.prop.regions[n].leaf, at.prop.regions[n].cue) for n in regions),
            tuple(at.stands[n].state for n in mechanisms),
            tuple(at.prop.counters[n] for n in counters),
        )
        for at in walk(model, limit=LIMIT).states
        if may_stall or at.stalled is None
    }


def done_by_the_sketch(model: Model, rough: Model, *, may_stall: bool) -> set[Done]:
    free = frozenset(range(len(model.inputs), len(rough.inputs)))
    space = Space(rough, Question(free=free, may_stall=may_stall), frozenset())
    counters = own_counters(model, rough)
    return {
        (
            tuple((place.leaf, place.cue) for place in at.places),
            tuple(each.state for each in at.standings),
            tuple(at.counters[n] for n in counters),
        )
        for at in explore(space, Budget(100_000, 60)).by_situation
    }


@given(models(), st.integers(0, 2), st.booleans())
def test_what_a_prop_does_its_sketch_can_do(model, number, may_stall):
    name = model.regions[number % len(model.regions)].name
    rough = sketch(model, {name})
    if rough is None:
        return
    try:
        by_the_prop = done_by_the_prop(model, rough, may_stall=may_stall)
    except TooManyStatesError:
        return

    assert by_the_prop <= done_by_the_sketch(model, rough, may_stall=may_stall)


# --- By hand ------------------------------------------------------------------------------------

PRESSED = becomes("x", "pressed")


def watching(*states, **parts) -> Model:
    """A region that looks at another, which goes from off to on and back by a button."""
    other = region(
        "other",
        state("off", leave=[way("on", PRESSED)]),
        state("on", leave=[way("off", PRESSED)]),
    )
    return prop(region("own", *states), other, inputs=[button("x")], **parts)


def test_a_region_that_is_looked_at_becomes_an_input_with_its_leaves_for_values():
    model = watching(
        state("a", leave=[way("b", inside("other", "on"))]),
        state("b", leave=[way("a", not_inside("other", "on"))]),
    )

    rough = sketch(model, {"own"})

    assert rough is not None
    assert [each.name for each in rough.regions] == ["own"]
    assert rough.inputs[:1] == model.inputs
    assert (rough.inputs[1].name, rough.inputs[1].values) == ("in other", ("0", "1"))
    conditions = [each.when for each in rough.regions[0].transitions()]
    assert conditions == [Is("in other", ("1",)), Is("in other", ("1",), negated=True)]


def test_a_state_with_states_inside_is_any_of_its_leaves():
    outer = region(
        "other",
        state("off"),
        state("on", state("slow"), state("fast", state("one"), state("two"))),
    )
    own = region("own", state("a", leave=[way("b", inside("other", "on"))]), state("b"))

    rough = sketch(prop(own, outer), {"own"})

    assert rough is not None
    assert rough.regions[0].transitions()[0].when == Is("in other", ("2", "4", "5"))


def test_nothing_is_left_rough_where_all_is_wanted():
    model = watching(state("a"))

    assert sketch(model, {"own", "other"}) is None


def test_a_region_that_changes_a_counter_that_is_read_is_kept():
    counts = region("other", state("off", leave=[way("off", PRESSED, do=[add("n")])]))
    reads = region("own", state("a", leave=[way("b", count("n", ">", 2))]), state("b"))
    third = region("third", state("c"))
    model = prop(reads, counts, third, inputs=[button("x")], counters=[counter("n", 0, 3)])

    rough = sketch(model, {"own"})

    assert rough is not None
    assert [each.name for each in rough.regions] == ["own", "other"]


def driven() -> Model:
    """Two regions with a motor each, and a mechanism that the second one moves."""
    regions = (
        region("own", state("a", sets={"first": "forward"})),
        region("other", state("b", sets={"second": "forward"})),
    )
    arm = mechanism(
        "arm",
        stands("low", None, moves("high", 10, 20, is_other_than("second", "stopped"))),
        stands("high", None),
    )
    return prop(*regions, outputs=[motor("first"), motor("second")], mechanism=[arm])


def test_a_mechanism_that_only_others_move_is_left_out_unless_it_is_named():
    without = sketch(driven(), {"own"})

    assert without is not None
    assert ([each.name for each in without.regions], without.mechanism) == (["own"], ())
    assert sketch(driven(), {"own"}, {"arm"}) is None


def test_a_region_with_a_single_leaf_may_be_there_or_elsewhere():
    rough = sketch(driven(), {"own"})

    assert rough is not None
    assert rough.inputs[-1].values == ("0", "elsewhere")


def test_a_sketch_goes_where_the_prop_never_does():
    """The other region never leaves off. The sketch has it anywhere at any time."""
    own = region(
        "own",
        state("a", leave=[way("b", inside("other", "on"), after=10)]),
        state("b", leave=[way("c", inside("other", "off"))]),
        state("c"),
    )
    model = prop(own, region("other", state("off"), state("on")))
    rough = sketch(model, {"own"})

    assert rough is not None
    by_the_prop = done_by_the_prop(model, rough, may_stall=False)
    by_the_sketch = done_by_the_sketch(model, rough, may_stall=False)
    assert {regions for regions, *_ in by_the_prop} == {((0, 0),)}
    assert {regions for regions, *_ in by_the_sketch} == {((0, 0),), ((1, 0),), ((2, 0),)}
