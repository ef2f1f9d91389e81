"""A prop drawn roughly can do all that the prop can: held against every state of random props."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.budget import Budget
from behaviour.explore.search import explore
from behaviour.explore.situations import Question
from behaviour.explore.sketch import MOST_COUNTED, left_to_others, sketches, uncounted
from behaviour.explore.space import Space
from behaviour.model import Is, Model
from tests.making import (
    add,
    becomes,
    button,
    count,
    counter,
    either,
    inside,
    is_,
    mechanism,
    motor,
    moves,
    not_inside,
    prop,
    region,
    stands,
    state,
    take,
    way,
)
from tests.making import is_not as is_other_than
from tests.strategies import each_once, models
from tests.twin.props import walked

LIMIT = 3_000

Done = tuple[object, ...]
"""Where the regions and mechanisms of a sketch are, and what its own counters read."""


def own_counters(model: Model, rough: Model) -> list[int]:
    """Number the counters that are counted, and by no region but those of the sketch."""
    others = [each for each in model.regions if each.name not in rough.region_index]
    changed = {a.counter for each in others for way in each.transitions() for a in way.does}
    drawn = {each.name.removeprefix("count ") for each in rough.inputs}
    return [n for n, each in enumerate(model.counters) if each.name not in changed | drawn]


def done_by_the_prop(model: Model, rough: Model, *, may_stall: bool) -> set[Done] | None:
    """Give what a prop does, if it is small enough."""
    graph = walked(model, LIMIT)
    if graph is None:
        return None
    regions = [model.region_index[each.name] for each in rough.regions]
    mechanisms = [model.mechanism_index[each.name] for each in rough.mechanism]
    counters = own_counters(model, rough)
    return {
        (
            tuple((at.prop.regions[n].leaf, at.prop.regions[n].cue) for n in regions),
            tuple(at.stands[n].state for n in mechanisms),
            tuple(at.prop.counters[n] for n in counters),
        )
        for at in graph.states
        if may_stall or at.stalled is None
    }


def done_by_the_sketch(
    model: Model, rough: Model, *, may_stall: bool, at_rest: bool = False
) -> set[Done]:
    free = left_to_others(model, rough) if at_rest else frozenset()
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


@given(models(), st.integers(0, 2), st.booleans(), st.booleans())
@each_once
def test_what_a_prop_does_its_sketches_can_do(model, number, may_stall, at_rest):
    name = model.regions[number % len(model.regions)].name
    for rough in sketches(model, {name}):
        by_the_prop = done_by_the_prop(model, rough, may_stall=may_stall)
        if by_the_prop is None:
            return

        by_the_sketch = done_by_the_sketch(model, rough, may_stall=may_stall, at_rest=at_rest)
        assert by_the_prop <= by_the_sketch


@given(models(), st.booleans(), st.booleans())
@each_once
def test_what_a_prop_does_it_can_do_where_its_counters_are_drawn_as_inputs(
    model, is_asked, may_stall
):
    rough = uncounted(model, [each.name for each in model.counters[:is_asked]])
    if rough is None:
        counted = {a.counter for r in model.regions for way in r.transitions() for a in way.does}
        assert counted <= {each.name for each in model.counters[:is_asked]}
        return
    by_the_prop = done_by_the_prop(model, rough, may_stall=may_stall)
    if by_the_prop is None:
        return

    assert by_the_prop <= done_by_the_sketch(model, rough, may_stall=may_stall)


@given(models(), st.integers(0, 2))
@each_once
def test_sketches_keep_more_and_more_and_never_all_and_mechanisms_last(model, number):
    name = model.regions[number % len(model.regions)].name

    drawn = list(sketches(model, {name}))
    moving = list(sketches(model, {name}, moving=True))
    kept = [{each.name for each in rough.regions} for rough in moving]

    every = {each.name for each in model.regions}
    assert all(name in each < every for each in kept)
    assert all(less < more for less, more in pairwise(kept))
    assert all(
        len(rough.regions) < len(every) or len(rough.mechanism) < len(model.mechanism)
        for rough in drawn
    )
    bare = [rough for rough in drawn if not rough.mechanism]
    assert not model.mechanism or bare
    assert drawn[len(bare) :] == [rough for rough in moving if rough.mechanism]


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


def kept_in(
    model: Model, *regions: str, mechanisms: tuple[str, ...] = (), moving: bool = False
) -> list[list[str]]:
    """Name the regions that each sketch keeps as they are, from the roughest on."""
    drawn = sketches(model, regions, mechanisms, moving=moving)
    return [[each.name for each in rough.regions] for rough in drawn]


def test_a_region_that_is_looked_at_becomes_an_input_with_its_leaves_for_values():
    model = watching(
        state("a", leave=[way("b", inside("other", "on"))]),
        state("b", leave=[way("a", not_inside("other", "on"))]),
    )

    (rough,) = sketches(model, {"own"})

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

    (rough,) = sketches(prop(own, outer), {"own"})

    assert rough.regions[0].transitions()[0].when == Is("in other", ("2", "4", "5"))


def test_nothing_is_left_rough_where_all_is_wanted():
    assert kept_in(watching(state("a")), "own", "other") == []


def chain(*names: str) -> Model:
    """Regions each of which looks at the one after it."""

    def link(name: str, looked_at: str):
        to = way("on", inside(looked_at, "on")) if looked_at else way("on", PRESSED)
        return region(name, state("off", leave=[to]), state("on"))

    return prop(
        *(link(a, b) for a, b in zip(names, [*names[1:], ""], strict=True)), inputs=[button("x")]
    )


def test_each_sketch_is_finer_by_what_the_one_before_looks_at():
    assert kept_in(chain("a", "b", "c", "d"), "a") == [["a"], ["a", "b"], ["a", "b", "c"]]
    assert kept_in(chain("a", "b", "c", "d"), "c") == [["c"], ["c", "d"]]


def counting(high: int) -> Model:
    counts = region("other", state("off", leave=[way("off", PRESSED, do=[add("n")])]))
    reads = region("own", state("a", leave=[way("b", count("n", ">", 1))]), state("b"))
    third = region("third", state("c"))
    return prop(reads, counts, third, inputs=[button("x")], counters=[counter("n", 0, high)])


def test_a_counter_that_only_others_count_becomes_an_input_with_its_numbers_for_values():
    first, second = sketches(counting(3), {"own"})

    assert (first.inputs[-1].name, first.inputs[-1].values) == ("count n", ("0", "1", "2", "3"))
    assert first.regions[0].transitions()[0].when == Is("count n", ("2", "3"))
    assert [each.name for each in second.regions] == ["own", "other"]
    assert second.regions[0].transitions()[0].when == count("n", ">", 1)


def test_a_counter_with_many_values_is_kept_with_those_who_count_it():
    assert kept_in(counting(MOST_COUNTED), "own") == [["own", "other"]]
    assert kept_in(counting(MOST_COUNTED - 1), "own") == [["own"], ["own", "other"]]


def driven(*also: str) -> Model:
    """Two regions with a motor each, and an arm that the second moves, and others `also`."""
    regions = (
        region(
            "own",
            state("a", sets={"first": "forward"}, leave=[way("b", is_("end", "pressed"))]),
            state("b"),
        ),
        region("other", state("b", sets={"second": "forward"})),
    )
    runs = either(*(is_other_than(motor, "stopped") for motor in ("second", *also)))
    arm = mechanism(
        "arm",
        stands("low", {"end": "released"}, moves("high", 10, 20, runs)),
        stands("high", {"end": "pressed"}),
    )
    motors = [motor("first"), motor("second")]
    return prop(*regions, inputs=[button("x"), button("end")], outputs=motors, mechanism=[arm])


def test_a_mechanism_that_only_others_move_is_left_out_and_its_input_is_not_for_people():
    model = driven()

    (rough,) = sketches(model, {"own"})

    assert ([each.name for each in rough.regions], rough.mechanism) == (["own"], ())
    left = [rough.inputs[number].name for number in sorted(left_to_others(model, rough))]
    assert left == ["end", "in other"]


def test_a_mechanism_that_is_named_or_moved_with_others_is_kept_with_all_who_move_it():
    assert kept_in(driven(), "own", mechanisms=("arm",)) == []
    assert kept_in(driven("first"), "own", moving=True) == []
    assert kept_in(driven("first"), "own") == [["own"]]


def test_a_region_with_a_single_leaf_may_be_there_or_elsewhere():
    (rough,) = sketches(driven(), {"own"})

    assert rough.inputs[-1].values == ("0", "another")


def test_a_sketch_goes_where_the_prop_never_does():
    """The other region never leaves off. The sketch has it anywhere at any time."""
    own = region(
        "own",
        state("a", leave=[way("b", inside("other", "on"), after=10)]),
        state("b", leave=[way("c", inside("other", "off"))]),
        state("c"),
    )
    model = prop(own, region("other", state("off"), state("on")))
    (rough,) = sketches(model, {"own"})

    by_the_prop = done_by_the_prop(model, rough, may_stall=False)
    by_the_sketch = done_by_the_sketch(model, rough, may_stall=False)
    assert {regions for regions, *_ in by_the_prop or ()} == {((0, 0),)}
    assert {regions for regions, *_ in by_the_sketch} == {((0, 0),), ((1, 0),), ((2, 0),)}


def test_a_counter_is_drawn_with_a_count_for_each_part_that_conditions_tell_apart():
    turn = state("turn", leave=[way("idle", is_("x", "released"), do=[take("shots")])])
    idle = state(
        "idle", leave=[way("turn", count("shots", ">", 3)), way("idle", count("shots", "=", 7))]
    )
    model = prop(
        region("own", idle, turn), inputs=[button("x")], counters=[counter("shots", 2, 9, 5)]
    )

    rough = uncounted(model, ())

    assert rough is not None
    assert rough.inputs[-1].name == "count shots"
    assert rough.inputs[-1].values == ("2", "4", "7", "8")
    first, second, third = rough.regions[0].transitions()
    assert first.when == Is("count shots", ("4", "7", "8"))
    assert second.when == Is("count shots", ("7",))
    assert third.does == ()
    assert uncounted(model, ["shots"]) is None


def test_what_is_done_at_the_end_of_cues_is_not_counted_either():
    shot = state("shot", cues=[(0.1, {})], end=way("idle", do=[take("shots")]))
    idle = state("idle", leave=[way("shot", count("shots", ">", 0))])
    model = prop(region("own", idle, shot), counters=[counter("shots", 0, 5, 5)])

    rough = uncounted(model, ())

    assert rough is not None
    assert [way.does for way in rough.regions[0].transitions()] == [(), ()]


def test_a_counter_that_is_drawn_already_is_not_drawn_again():
    (rough, _) = sketches(counting(3), {"own"})

    assert uncounted(rough, ()) is None
