"""What holding the inputs proves possible is possible: held against every state of random props."""

from collections.abc import Iterable

from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.budget import Budget
from behaviour.explore.holding import Holding
from behaviour.explore.reach import Lookout
from behaviour.explore.search import explore
from behaviour.explore.situations import Move, Question, Situation, Stay
from behaviour.explore.sketch import lasting, left_to_others, sketches
from behaviour.explore.twin import Graph, WorldState
from behaviour.model import Model
from tests.making import (
    Inside,
    Way,
    becomes,
    both,
    button,
    held,
    inside,
    is_,
    mechanism,
    motor,
    moves,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.strategies import each_once, models
from tests.twin.props import walked

LIMIT = 3_000

Known = tuple[object, ...]
"""What the twin and the search both know of where a prop is."""


def known_of(at: Situation) -> Known:
    return (
        tuple((place.leaf, place.cue) for place in at.places),
        at.counters,
        tuple(each.state for each in at.standings),
    )


def known_to_the_twin(at: WorldState) -> Known:
    return (
        tuple((each.leaf, each.cue) for each in at.prop.regions),
        at.prop.counters,
        tuple(each.state for each in at.stands),
    )


def unproved(
    model: Model, name: str, leaf: int, free: frozenset[int] = frozenset()
) -> tuple[set[Situation], set[Situation]]:
    """Give all situations, and those for which no proof is found that `leaf` stays possible."""
    lookout = Lookout(model, Question(free=free), Budget(100_000, 60))
    space = lookout.space(frozenset())
    every = set(explore(space, lookout.budget).by_situation)
    number = model.region_index[name]

    def is_reached(at: Situation, step: Move | Stay) -> bool:
        after = at if isinstance(step, Stay) else step.to
        return after.places[number].leaf == leaf

    return every, Holding(lookout, space, is_reached, free).unproved(every)


def possible(
    model: Model, graph: Graph, name: str, leaf: int, *, stalled: bool = False
) -> set[int]:
    """Number the healthy states from which some run comes to `leaf` in a later loop.

    With `stalled` those too in which a movement has stalled.
    """
    at = model.region_index[name]
    before: dict[int, set[int]] = {}
    able: list[int] = []
    for number in range(len(graph.states) if stalled else graph.healthy):
        for loop in graph.loops[number]:
            before.setdefault(loop.target, set()).add(number)
            if loop.left.regions[at].leaf == leaf:
                able.append(number)
    found = set(able)
    while able:
        news = before.get(able.pop(), set()) - found
        found |= news
        able += news
    return found


def leaves(model: Model) -> Iterable[tuple[str, int]]:
    for each in model.regions:
        yield from ((each.name, state.number) for state in each.states if not state.children)


def one_of_the_leaves(model: Model, number: int) -> tuple[str, int]:
    every = list(leaves(model))
    return every[number % len(every)]


def assert_possible(model: Model, graph: Graph, name: str, leaf: int) -> None:
    """What is proved possible is possible."""
    able = possible(model, graph, name, leaf)
    _, left = unproved(model, name, leaf)

    open_ones = {known_of(at) for at in left}
    for number in range(graph.healthy):
        is_proved = known_to_the_twin(graph.states[number]) not in open_ones
        assert number in able or not is_proved


def assert_possible_by_sketches(model: Model, graph: Graph, name: str, leaf: int) -> None:
    """What a sketch proves possible is possible whatever the others do."""
    for rough in sketches(model, {name}):
        _, left = unproved(rough, name, leaf, left_to_others(model, rough))
        if not left:
            assert possible(model, graph, name, leaf) == set(range(graph.healthy))


def assert_possible_in_what_lasts(model: Model, graph: Graph, name: str, leaf: int) -> None:
    """What is proved where movements may last is possible with a stall and without."""
    drawn = lasting(model)
    if drawn is None:
        return
    able = possible(model, graph, name, leaf, stalled=True)

    every, left = unproved(drawn, name, leaf)

    everywhere, open_ones = {known_of(at) for at in every}, {known_of(at) for at in left}
    for number, at in enumerate(graph.states):
        known = known_to_the_twin(at)
        assert known in everywhere
        assert number in able or known in open_ones


@given(models(), st.integers(0, 9))
@each_once
def test_what_is_proved_possible_is_possible(model, number):
    """In the prop itself, in its sketches, and where movements may last."""
    graph = walked(model, LIMIT)
    if graph is None:
        return
    name, leaf = one_of_the_leaves(model, number)

    assert_possible(model, graph, name, leaf)
    assert_possible_by_sketches(model, graph, name, leaf)
    assert_possible_in_what_lasts(model, graph, name, leaf)


# --- By hand ------------------------------------------------------------------------------------

X = button("x", steady=30)
PRESSED = becomes("x", "pressed")


def left_over(model: Model, name: str = "r", leaf: int = 0) -> set[tuple[int, ...]]:
    """Give where the regions are in what is not proved."""
    _, left = unproved(model, name, leaf)
    return {tuple(place.leaf for place in at.places) for at in left}


def test_what_times_out_is_proved():
    model = prop(
        region("r", state("a", leave=[way("b", PRESSED)]), state("b", leave=[way("a", after=500)])),
        inputs=[X],
    )

    assert left_over(model) == set()


def test_what_a_held_input_brings_is_proved():
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state("b", leave=[way("a", held("x", "released", 200))]),
        ),
        inputs=[X],
    )

    assert left_over(model) == set()


def test_what_takes_a_turn_at_a_rest_is_proved():
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state("b", leave=[way("c", PRESSED)]),
            state("c", leave=[way("a", PRESSED)]),
        ),
        inputs=[X],
    )

    assert left_over(model) == set()


def test_a_state_that_nothing_leaves_is_not_proved():
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED), way("c", after=1000)]),
            state("b", leave=[way("a", after=500)]),
            state("c"),
        ),
        inputs=[X],
    )

    assert left_over(model) >= {(2,)}


def test_what_asks_for_two_values_at_once_is_not_proved():
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state("b", leave=[way("a", both(is_("x", "pressed"), is_("x", "released")))]),
        ),
        inputs=[X],
    )

    assert left_over(model) >= {(1,)}


def test_what_a_movement_brings_is_proved_only_where_the_motor_runs():
    def turning(sets: dict[str, str]) -> Model:
        drum = mechanism(
            "drum",
            stands("clear", {"mark": "released"}, moves("made", 50, 80, is_("m", "forward"))),
            stands("made", {"mark": "pressed"}, moves("clear", 20, 40, is_("m", "forward"))),
        )
        return prop(
            region(
                "r",
                state("a", leave=[way("b", PRESSED)]),
                state("b", sets=sets, leave=[way("a", becomes("mark", "pressed"))]),
            ),
            inputs=[X, button("mark")],
            outputs=[motor("m")],
            mechanism=[drum],
        )

    assert left_over(turning({"m": "forward"})) == set()
    assert left_over(turning({})) >= {(1,)}


def test_two_regions_that_wait_for_each_other_are_not_proved():
    def waiting(name: str, other: str, ready: Inside):
        return region(
            name,
            state("a", leave=[way("b", PRESSED)]),
            state("b", leave=[way("c", ready)]),
            state("c", leave=[way("a", inside(other, "a"))]),
        )

    model = prop(
        waiting("r", "s", inside("s", "c")), waiting("s", "r", inside("r", "c")), inputs=[X]
    )

    assert left_over(model) >= {(1, 1)}


def turning_until_the_mark(*more: Way) -> Model:
    drum = mechanism(
        "drum",
        stands("clear", {"mark": "released"}, moves("made", 50, 80, is_("m", "forward"))),
        stands("made", {"mark": "pressed"}, moves("clear", 20, 40, is_("m", "forward"))),
    )
    return prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state("b", sets={"m": "forward"}, leave=[way("a", becomes("mark", "pressed")), *more]),
        ),
        inputs=[X, button("mark")],
        outputs=[motor("m")],
        mechanism=[drum],
    )


def test_what_only_a_movement_brings_is_not_proved_where_it_may_last():
    model = turning_until_the_mark()
    drawn = lasting(model)

    assert drawn is not None
    assert left_over(model) == set()
    assert left_over(drawn) >= {(1,)}


def test_what_times_out_as_well_is_proved_where_a_movement_may_last():
    drawn = lasting(turning_until_the_mark(way("a", after=1000)))

    assert drawn is not None
    assert left_over(drawn) == set()


def test_what_one_waits_for_is_not_proved_where_a_movement_may_come_first():
    """The mark, once made, takes away the only way out; one may not wait until it comes."""
    drum = mechanism(
        "drum",
        stands("clear", {"mark": "released"}, moves("made", 50, 80, is_("m", "forward"))),
        stands("made", {"mark": "pressed"}),
    )
    out = both(PRESSED, is_("mark", "released"))
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", PRESSED)]),
            state("b", sets={"m": "forward"}, leave=[way("a", out)]),
        ),
        inputs=[X, button("mark")],
        outputs=[motor("m")],
        mechanism=[drum],
    )
    drawn = lasting(model)

    assert drawn is not None
    assert left_over(drawn) >= {(1,)}
