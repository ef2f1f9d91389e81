"""The search on charts written by hand: what it reaches, in which order, and where it stops."""

import time

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.search import explore
from behaviour.explore.situations import Move
from behaviour.explore.zones import everything
from tests.explore.charts import Arrow, Chart, arrow, clock, number_of, spot

SEVERAL = 8


def reached_in(found) -> set[int]:
    return {number_of(at) for at in found.by_situation}


# --- Without clocks -----------------------------------------------------------------------------

pairs = st.lists(st.tuples(st.integers(0, SEVERAL), st.integers(0, SEVERAL)), max_size=20)


@given(pairs)
def test_without_clocks_what_is_reached_is_what_a_graph_reaches(edges):
    graph = nx.DiGraph(edges)
    graph.add_node(0)

    found = explore(Chart(arrow(a, b) for a, b in edges), Budget())

    assert reached_in(found) == {0} | nx.descendants(graph, 0)
    assert len(found.nodes) == len(found.by_situation)


@given(pairs)
def test_a_node_comes_as_early_as_its_shortest_path(edges):
    graph = nx.DiGraph(edges)
    graph.add_node(0)

    found = explore(Chart(arrow(a, b) for a, b in edges), Budget())

    early = {number_of(node.situation): node.earliest for node in found.nodes}
    assert early == dict(nx.single_source_shortest_path_length(graph, 0))


@given(pairs)
def test_looking_for_rounds_keeps_every_step_onward(edges):
    graph = nx.DiGraph(edges)
    graph.add_node(0)
    inside = {0} | nx.descendants(graph, 0)

    found = explore(Chart(arrow(a, b) for a, b in edges), Budget(), rounds=True)

    kept = {
        (number_of(found.nodes[source].situation), number_of(to.situation))
        for source, several in found.onward.items()
        for to, _, _ in several
    }
    assert kept == set(graph.subgraph(inside).edges)


@given(pairs, st.sets(st.integers(1, SEVERAL)))
def test_within_keeps_the_search_inside(edges, walls):
    graph = nx.DiGraph(edges)
    graph.add_node(0)
    graph.remove_nodes_from(walls)

    found = explore(
        Chart(arrow(a, b) for a, b in edges),
        Budget(),
        within=lambda at: number_of(at) not in walls,
    )

    assert reached_in(found) == {0} | nx.descendants(graph, 0)


@given(pairs, st.integers(0, SEVERAL))
def test_a_goal_is_met_by_a_path_of_moves_exactly_if_there_is_one(edges, target):
    graph = nx.DiGraph(edges)
    graph.add_nodes_from([0, target])

    found = explore(
        Chart(arrow(a, b) for a, b in edges), Budget(), goal=lambda at: number_of(at) == target
    )

    assert (found.goal is not None) == nx.has_path(graph, 0, target)
    node, path = found.goal, []
    while node is not None:
        path.append(number_of(node.situation))
        node = node.parent
    if path:
        assert path == path[:1] or nx.is_path(graph, path[::-1])
        assert (path[0], path[-1]) == (target, 0)


# --- With clocks --------------------------------------------------------------------------------

CLOCKS = ("x", "y")
MOST = 3


def times():
    return st.lists(st.tuples(st.sampled_from(CLOCKS), st.integers(0, MOST)), max_size=2).map(dict)


@st.composite
def timed_arrows(draw: st.DrawFn) -> list[Arrow]:
    number = st.integers(0, 4)
    starts = st.sampled_from(["", "x", "y", "x y"])
    one = st.builds(arrow, number, number, times(), times(), starts)
    return draw(st.lists(one, max_size=8))


def counted(arrows, stays) -> set[int]:
    """Collect the numbers that are reached, with each clock counted loop by loop."""
    first = (0, dict.fromkeys(CLOCKS, 0))
    seen, waiting = set(), [first]
    while waiting:
        at, clocks = waiting.pop()
        key = (at, *clocks.values())
        if key in seen:
            continue
        seen.add(key)
        now = {name: min(value + 1, MOST + 1) for name, value in clocks.items()}
        if any(all(now[c] <= most for c, most in stay.items()) for stay in stays.get(at, ())):
            waiting.append((at, now))
        for each in arrows:
            enough = all(now[c] >= least for c, least in each.least)
            if each.source == at and enough and all(now[c] <= most for c, most in each.most):
                begun = {c: 0 if c in each.starts else value for c, value in now.items()}
                waiting.append((each.target, begun))
    return {at for at, *_ in seen}


@given(timed_arrows(), st.dictionaries(st.integers(0, 4), st.lists(times(), max_size=2)))
def test_with_clocks_what_is_reached_is_what_counting_reaches(arrows, stays):
    expected = counted(arrows, stays)
    limits = dict.fromkeys(CLOCKS, MOST)

    for asked in ({}, {"exact": True}, {"rounds": True}):
        assert reached_in(explore(Chart(arrows, limits, stays), Budget(), **asked)) == expected


@given(timed_arrows(), st.dictionaries(st.integers(0, 4), st.lists(times(), max_size=2)))
def test_with_fewer_clocks_more_is_reached_and_nothing_less(arrows, stays):
    exact = reached_in(explore(Chart(arrows, dict.fromkeys(CLOCKS, MOST), stays), Budget()))
    one = reached_in(explore(Chart(arrows, {"x": MOST}, stays), Budget()))
    none = reached_in(explore(Chart(arrows, {}, stays), Budget()))

    assert exact <= one <= none


def test_a_move_waits_for_the_clock_that_it_asks_for():
    chart = Chart([arrow(0, 1, least={"x": 5})], {"x": 5}, {0: [{}]})

    found = explore(chart, Budget())

    assert [(number_of(n.situation), n.earliest) for n in found.nodes] == [(0, 0), (1, 5)]


def test_a_move_that_comes_after_the_last_loop_of_waiting_is_not_made():
    def stays(most):
        return reached_in(
            explore(Chart([arrow(0, 1, least={"x": 5})], {"x": 5}, {0: [{"x": most}]}), Budget())
        )

    assert stays(3) == {0}
    assert stays(4) == {0, 1}


# --- What lies in what is known already ---------------------------------------------------------

LATE_FIRST = [
    arrow(0, 1, least={"x": 2}, most={"x": 2}),
    arrow(0, 2, most={"x": 1}),
    arrow(2, 1, most={"x": 3}),
]
"""1 is reached with x exactly 2, and again with x from 2 to 3: the first lies in the second."""


def test_a_zone_that_lies_in_another_is_dropped():
    chart = Chart(LATE_FIRST, {"x": 4}, {0: [{}], 2: [{}]})

    found = explore(chart, Budget())

    here = found.by_situation[spot(1)]
    assert [(node.zone[1], node.zone[2]) for node in here] == [(-2, 3)]


def test_a_zone_that_can_do_no_more_than_another_is_dropped():
    """A loop later 2 is still no more than 3 and no less, which 3 is not both."""
    chart = Chart(LATE_FIRST, {"x": 3}, {0: [{}], 2: [{}]})

    found = explore(chart, Budget())

    here = found.by_situation[spot(1)]
    assert [(node.zone[1], node.zone[2]) for node in here] == [(-2, 2)]


def test_looking_for_rounds_drops_only_what_is_equal():
    chart = Chart(LATE_FIRST, {"x": 3}, {0: [{}], 2: [{}]})

    found = explore(chart, Budget(), rounds=True)

    here = found.by_situation[spot(1)]
    assert sorted((node.zone[1], node.zone[2]) for node in here) == [(-2, 2), (-2, 3)]


def test_a_round_is_kept_only_where_its_clocks_come_round_too():
    # the first time round x is 1, and then never again: what only that time allows is no round
    once = Chart([arrow(0, 1, most={"x": 1}), arrow(1, 0)], {"x": 1})
    again = Chart([arrow(0, 1, most={"x": 1}), arrow(1, 0, starts="x")], {"x": 1})

    def has_round(chart):
        found = explore(chart, Budget(), rounds=True)
        steps = [(a, to.number) for a, several in found.onward.items() for to, *_ in several]
        return not nx.is_directed_acyclic_graph(nx.DiGraph(steps))

    assert not has_round(once)
    assert has_round(again)


# --- Marks --------------------------------------------------------------------------------------


def test_marks_are_met_in_moves_and_in_stays_in_which_one_can_wait():
    chart = Chart(
        [arrow(0, 1, marks="gone"), arrow(1, 2, least={"x": 9}, marks="never")],
        {"x": 9},
        {0: [{"x": 3}], 1: [{"x": 1}]},
        {0: "waited", 1: "stuck"},
    )

    found = explore(chart, Budget())

    # in 1 x is 1 at the least, and 2 in the first loop of waiting
    assert set(found.hits) == {"gone", "waited"}
    assert found.hits["gone"].move.to == spot(1)


def test_a_search_stops_at_the_mark_that_it_looks_for():
    chart = Chart([arrow(0, 1, marks="first"), arrow(1, 2, marks="second"), arrow(2, 3)])

    found = explore(chart, Budget(), stop_at=lambda name: name == "second")

    assert set(found.hits) == {"first", "second"}
    assert 3 not in reached_in(found)


def test_before_sees_each_step_and_stops_the_search_by_yes():
    chart = Chart([arrow(0, 1), arrow(1, 2), arrow(2, 3)])
    steps = []

    def before(node, move):
        steps.append((number_of(node.situation), number_of(move.to)))
        return number_of(move.to) == 2

    found = explore(chart, Budget(), before=before)

    assert steps == [(0, 1), (1, 2)]
    assert reached_in(found) == {0, 1}


def test_a_search_may_begin_elsewhere_with_any_clocks():
    chart = Chart([arrow(1, 2, least={"x": 5}), arrow(0, 3)], {"x": 5})
    begun = Move(spot(1), (), (), (), (), chart.begin()[0].moment)

    found = explore(chart, Budget(), starts=[(begun, everything(1))])

    assert reached_in(found) == {1, 2}


# --- The nearest first --------------------------------------------------------------------------

WIDE = [*(arrow(0, n) for n in range(1, 40)), *(arrow(n, 100 + n) for n in range(1, 40))]


def test_what_is_said_to_be_nearest_is_looked_at_first():
    def far(at):
        return abs(number_of(at) % 100 - 39)

    def states(**led):
        budget = Budget()
        found = explore(Chart(WIDE), budget, goal=lambda at: number_of(at) == 139, **led)
        assert found.goal is not None
        return budget.used

    # 0, its 39 followers, and then 139 itself; without being led all the others come first
    assert states(far=far) == 41
    assert states() == 79


def test_a_wrong_guess_of_what_is_near_loses_nothing():
    found = explore(Chart(WIDE), Budget(), far=lambda at: -number_of(at))

    assert reached_in(found) == {0, *range(1, 40), *range(101, 140)}


# --- Limits -------------------------------------------------------------------------------------


def test_a_search_stops_at_its_number_of_states_and_says_how_far_it_got():
    chart = Chart(arrow(n, n + 1) for n in range(30))

    with pytest.raises(LimitError, match=r"10 states: 11 states in") as stop:
        explore(chart, Budget(states=10))
    assert stop.value.limit == "10 states"
    assert len(explore(chart, Budget(states=31)).nodes) == 31


def test_a_search_stops_at_its_time():
    chart = Chart(arrow(n, n + 1) for n in range(200))

    with pytest.raises(LimitError) as stop:
        explore(chart, Budget(seconds=0.5, began=time.monotonic() - 1))
    assert stop.value.limit == "0.5 s"


def test_a_question_s_share_is_counted_in_the_whole_budget_and_has_a_quarter_of_its_time():
    whole = Budget(states=50, seconds=100.0)
    part = whole.share()

    explore(Chart(arrow(n, n + 1) for n in range(10)), part)

    assert part.used == whole.used == 11
    assert part.states == 50
    assert part.seconds == 25.0


def test_no_share_has_more_time_than_is_left():
    late = Budget(seconds=100.0, began=time.monotonic() - 200)

    assert late.share().seconds == 0.0


def test_charts_ask_only_for_clocks_that_run():
    chart = Chart([arrow(0, 1, least={"x": 1, "y": 2})], {"y": 2})

    (move,) = chart.moves(spot(0)).moves

    assert move.lows == ((0, 2),)
    assert list(chart.clocks(spot(0))) == [clock("y")]
