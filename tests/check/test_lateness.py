"""Where props are late while inputs are held, and what is possible from there: random props."""

from hypothesis import given
from hypothesis import strategies as st

from behaviour.check.asking import Asking
from behaviour.check.lateness import Lateness, lateness_of
from behaviour.check.leaving import late_leaves
from behaviour.explore.backwards import Bounds
from behaviour.explore.budget import Budget
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Move, Question, Situation, Stay
from behaviour.explore.sketch import lasting, left_to_others, sketches
from behaviour.explore.twin import Graph
from behaviour.explore.ways import Possible
from behaviour.findings import Stimulus
from behaviour.model import Condition, Model
from tests.explore.test_holding import (
    LIMIT,
    known_of,
    known_to_the_twin,
    one_of_the_leaves,
    possible,
)
from tests.making import (
    counter,
    input_,
    inside,
    is_,
    mechanism,
    moves,
    not_inside,
    prop,
    put,
    region,
    stands,
    state,
    way,
)
from tests.strategies import each_once, models
from tests.twin.props import walked


def lateness(model: Model, told: frozenset[str] = frozenset()) -> Lateness:
    return lateness_of(Asking(model, Budget(100_000, 60)), told)


def late_states(model: Model, graph: Graph, at: dict[str, str]) -> set[int]:
    """Number the states that a prop can be in for ever again, or after those, with inputs held."""

    def is_held(stimulus: Stimulus) -> bool:
        states = zip(model.mechanism, stimulus.mechanism, strict=True)
        forced = {name for each, state in states for name, _ in each.states[state].reads}
        return all(
            item.name in forced or raw == at[item.name]
            for item, raw in zip(model.inputs, stimulus.raw, strict=True)
        )

    onward = {
        number: [loop.target for loop in loops if is_held(loop.stimulus)]
        for number, loops in enumerate(graph.loops)
    }
    ahead = [
        number
        for group in strongly_connected(onward)
        for number in group
        if len(group) > 1 or number in onward[number]
    ]
    found: set[int] = set()
    while ahead:
        number = ahead.pop()
        if number not in found:
            found.add(number)
            ahead += onward[number]
    return found


def assert_late_nowhere_else(model: Model, graph: Graph) -> None:
    """Where movements may last, that is so with any one of them stalled too."""
    asked = lateness(model, frozenset(model.counter))
    late = late_states(model, graph, dict(asked.held))
    stalled = lasting(model)
    drawings = [(model, graph.healthy)]
    drawings += [] if stalled is None else [(stalled, len(graph.states))]

    for drawn, states in drawings:
        together = asked.together(Lookout(drawn, Question(), Budget()))
        if together is not None:
            known = {known_of(at) for at in together}
            for number in late & set(range(states)):
                assert known_to_the_twin(graph.states[number]) in known


def is_proved(
    model: Model, asked: Lateness, name: str, leaf: int, free: frozenset[int] = frozenset()
) -> bool:
    """Tell whether a drawing shows from where it is late that a leaf is always possible."""
    drawn = Lookout(model, Question(free=free), Budget(100_000, 60))
    number = model.region_index[name]

    def is_good(at: Situation, step: Move | Stay) -> Bounds | None:
        after = at if isinstance(step, Stay) else step.to
        return () if after.places[number].leaf == leaf else None

    late = asked.together(drawn)
    goal = Possible(drawn, is_good, lambda _: True, free=free)
    return late is not None and goal.is_proved_from(late, asked.vector(model))


def assert_possible(model: Model, graph: Graph, name: str, leaf: int) -> None:
    """What is proved from where a prop is late is possible."""
    asked = lateness(model)
    for rough in (*sketches(model, {name}), model):
        if is_proved(rough, asked, name, leaf, left_to_others(model, rough)):
            assert possible(model, graph, name, leaf) == set(range(graph.healthy))


def assert_possible_with_a_stall(model: Model, graph: Graph, name: str, leaf: int) -> None:
    """What is proved so where movements may last is possible with a stall."""
    drawn = lasting(model)
    if drawn is not None and is_proved(drawn, lateness(model), name, leaf):
        able = possible(model, graph, name, leaf, stalled=True)
        assert able == set(range(len(graph.states)))


@given(models(), st.integers(0, 9))
@each_once
def test_a_prop_is_late_nowhere_else_and_what_is_proved_from_there_is_possible(model, number):
    graph = walked(model, LIMIT)
    if graph is None:
        return
    name, leaf = one_of_the_leaves(model, number)

    assert_late_nowhere_else(model, graph)
    assert_possible(model, graph, name, leaf)
    assert_possible_with_a_stall(model, graph, name, leaf)


# --- By hand ------------------------------------------------------------------------------------

LID, MARK = input_("lid", "closed", "open"), input_("mark", "clear", "made")
EITHER_WAY = mechanism("m", stands("at", {"mark": "made"}), stands("off", {"mark": "clear"}))


def late_places(model: Model) -> set[tuple[int, ...]] | None:
    together = lateness(model).together(Lookout(model, Question(), Budget()))
    return together and {tuple(place.leaf for place in at.places) for at in together}


def test_a_prop_is_late_where_an_interlock_takes_it():
    work = (
        state("a", leave=[way("b", is_("mark", "made"))]),
        state("b", leave=[way("a", is_("mark", "clear"))]),
        state("open", leave=[way("a", is_("lid", "closed"))]),
    )
    model = prop(
        region("r", *work, interlocks=[way("open", is_("lid", "open"))]),
        inputs=[LID, MARK],
        mechanism=[EITHER_WAY],
    )

    assert late_places(model) == {(2,)}


def test_what_follows_a_region_is_late_where_that_leads_it():
    follower = region(
        "f",
        state("waits", leave=[way("goes", inside("r", "a"))]),
        state("goes", leave=[way("waits", not_inside("r", "a"))]),
    )
    leader = region(
        "r",
        state("a", leave=[way("open", is_("lid", "open"))]),
        state("open", leave=[way("a", is_("lid", "closed"))]),
    )
    model = prop(follower, leader, inputs=[LID])

    assert late_places(model) in ({(0, 1)}, {(1, 0)})


def test_nobody_holds_what_a_mechanism_moves():
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", is_("mark", "clear"))]),
            state("b", leave=[way("a", is_("mark", "made"))]),
        ),
        inputs=[MARK],
        mechanism=[
            mechanism("m", stands("at", {"mark": "made"}), stands("off", {"mark": "clear"}))
        ],
    )

    assert late_places(model) == {(0,), (1,)}


def test_where_something_moves_by_itself_it_is_not_told_where_a_prop_is_late():
    model = prop(
        region("r", state("a", leave=[way("b", is_("mark", "made"))]), state("b")),
        inputs=[MARK],
        mechanism=[
            mechanism(
                "m",
                stands("at", {"mark": "made"}, moves("off", 10, 20)),
                stands("off", {"mark": "clear"}, moves("at", 10, 20)),
            )
        ],
    )

    assert late_places(model) is None


def moved_by_itself(during: Condition | None = None) -> Model:
    """What stands at the mark comes off it and then goes further."""
    return prop(
        region("r", state("a", leave=[way("b", is_("mark", "clear"))]), state("b")),
        inputs=[LID, MARK],
        mechanism=[
            mechanism(
                "m",
                stands("at", {"mark": "made"}, moves("off", 10, 20, during)),
                stands("off", {"mark": "clear"}, moves("far", 10, 20)),
                stands("far", {"mark": "clear"}),
            )
        ],
    )


def late_standings(model: Model) -> set[tuple[int, ...]] | None:
    together = lateness(model).together(Lookout(model, Question(), Budget()))
    return together and {tuple(each.state for each in at.standings) for at in together}


def test_what_moves_by_itself_only_so_far_is_late_where_that_leads():
    model = moved_by_itself()

    assert late_standings(model) == {(2,)}


def test_where_a_movement_asks_for_what_is_forced_it_is_not_told_where_a_prop_is_late():
    """What is told of it may be in its filter for as long as it goes on."""
    assert late_standings(moved_by_itself(is_("lid", "closed"))) == {(2,)}
    assert late_standings(moved_by_itself(is_("mark", "made"))) is None


def test_the_file_itself_says_where_a_region_comes_to_rest():
    work = (
        state("a", leave=[way("b", is_("mark", "made"), do=[put("n", 1)])]),
        state("b", leave=[way("a", is_("mark", "clear"))], cues=[(10, {}), (20, {})]),
        state("open", leave=[way("a", is_("lid", "closed"), do=[put("n", 0)])]),
    )
    model = prop(
        region("r", *work, interlocks=[way("open", is_("lid", "open"))]),
        inputs=[LID, MARK],
        mechanism=[EITHER_WAY],
        counters=[counter("n", 0, 1)],
    )

    assert late_places(model) == {(2,)}
    assert late_leaves(model, model.regions[0], {"lid": "open"}, {}) == {2}
    assert late_leaves(model, model.regions[0], {"lid": "closed"}, {}) is None
    told = lateness(model, frozenset({"n"})).together(Lookout(model, Question(), Budget()))
    assert {at.counters for at in told or ()} == {(0,), (1,)}


def test_it_does_not_where_something_stays_goes_round_or_leads_on_some_day():
    def late_with(*ways) -> frozenset[int] | None:
        states = (state("a", leave=list(ways)), state("b"))
        model = prop(region("r", *states), inputs=[LID, MARK], mechanism=[EITHER_WAY])
        return late_leaves(model, model.regions[0], {"lid": "open"}, {})

    assert late_with(way("b", is_("lid", "open"), after=50)) == {1}
    assert late_with(way("b", is_("lid", "closed"))) == {0, 1}
    assert late_with(way("b", is_("mark", "made"))) is None
    assert late_with(way("a", is_("mark", "made"), after=10), way("b", after=50)) is None
    assert late_with(way("b", is_("lid", "open")), way("a", is_("mark", "made"))) == {1}
    assert late_with(way("stay", is_("mark", "made")), way("b", after=50)) is None
