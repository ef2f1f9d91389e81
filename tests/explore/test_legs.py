"""When the moves of a path can be: earliest times worked out by hand, and by another library."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.budget import Budget
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.scheduling import Blame, Schedule, schedule
from behaviour.explore.search import explore
from behaviour.explore.situations import Question
from tests.explore.charts import Chart, Times, arrow, clock, spot
from tests.making import becomes, button, held, input_, inside, is_, prop, region, state, way

NAMES = ("x", "y", "z")


@dataclass(frozen=True)
class Part:
    """One move of a path: `waits` is None where it comes in the very next loop.

    Without `goes` the path ends in a loop of waiting.
    """

    least: Times
    most: Times
    starts: str = ""
    waits: Times | None = None
    goes: bool = True
    also: Times | None = None
    """What a mark asks for in the loop of the move."""


def legs_for(parts: Sequence[Part]) -> list[Leg]:
    """Lay parts one after the other, from a power-up that asks for nothing."""
    arrows = [
        arrow(n, n + 1, part.least, part.most, part.starts)
        for n, part in enumerate(parts)
        if part.goes
    ]
    stays = {n: [part.waits] for n, part in enumerate(parts) if part.waits is not None}
    chart = Chart(arrows, dict.fromkeys(NAMES, 9), stays)
    legs = [Leg(chart, None, None, chart.begin()[0])]
    for number, part in enumerate(parts):
        here = chart.moves(spot(number))
        stay = here.stays[0] if part.waits is not None else None
        move = here.moves[0] if part.goes else None
        lows = tuple((clock(name), least) for name, least in (part.also or {}).items())
        legs.append(Leg(chart, spot(number), stay, move, lows))
    return legs


def times_of(*parts: Part) -> tuple[int, ...]:
    plan = schedule(legs_for(parts))
    assert isinstance(plan, Schedule), plan
    return plan.loops


def blamed(*parts: Part) -> set[str]:
    plan = schedule(legs_for(parts))
    assert isinstance(plan, Blame), plan
    return {name for name, _, _ in plan.clocks}


# --- By hand ------------------------------------------------------------------------------------


def test_moves_without_waiting_come_one_loop_after_the_other():
    assert times_of(Part({}, {}), Part({}, {}), Part({}, {})) == (0, 1, 2, 3)


def test_a_move_comes_as_soon_as_its_clock_allows():
    assert times_of(Part({"x": 7}, {}, waits={})) == (0, 7)


def test_a_clock_counts_from_the_move_that_started_it():
    first = Part({"x": 3}, {}, "x", waits={})
    second = Part({"x": 4, "y": 5}, {}, waits={})

    # x begins in 3 and has 4 in 7; y has 5 by then
    assert times_of(first, second) == (0, 3, 7)
    assert times_of(first, Part({"x": 1, "y": 9}, {}, waits={})) == (0, 3, 9)


def test_an_earlier_move_is_put_off_where_a_later_one_cannot_wait_for_long():
    # y may have 2 at the most when x has 8: so the move that starts y waits until 6
    start, end = Part({}, {}, "y", waits={}), Part({"x": 8}, {"y": 2}, waits={})

    assert times_of(start, end) == (0, 6, 8)


def test_a_move_comes_at_most_one_loop_after_the_last_of_waiting():
    assert times_of(Part({"x": 5}, {}, waits={"x": 4})) == (0, 5)
    assert blamed(Part({"x": 6}, {}, waits={"x": 4})) == {"x"}


def test_a_mark_in_a_move_adds_what_it_asks_for():
    assert times_of(Part({}, {}, waits={}, also={"x": 4})) == (0, 4)


def test_a_path_may_end_in_a_loop_of_waiting():
    assert times_of(Part({}, {}, "x"), Part({}, {}, waits={"x": 3}, goes=False)) == (0, 1, 2)
    assert times_of(Part({}, {}, "x"), Part({}, {}, waits={"x": 3}, goes=False, also={"x": 3})) == (
        0,
        1,
        4,
    )


def test_a_path_that_ends_in_a_zone_ends_with_clocks_in_it():
    *legs, last = legs_for([Part({}, {}, "x"), Part({}, {}, waits={}, goes=False)])
    # x from 4 on, and y exactly 1 more; z is anything
    free = 1 << 40
    piece = (*(0, -4, -5, 0), *(free, 0, -1, free), *(free, 1, 0, free), *(free, free, free, 0))

    plan = schedule([*legs, Leg(last.space, last.before, last.stay, None, (), piece)])

    assert isinstance(plan, Schedule)
    assert plan.loops == (0, 1, 5)
    assert plan.age(2, clock("x")) == 4
    assert plan.age(2, clock("y")) == 5


def test_what_cannot_be_met_together_is_named():
    # x and y run together from power-up, z only from the second move on
    waits = Part({}, {"x": 2}, "z", waits={})
    assert blamed(waits, Part({"z": 1}, {}, waits={}), Part({"y": 7}, {"x": 6}, waits={})) == {
        "x",
        "y",
    }


def test_of_what_forbids_a_path_as_few_clocks_of_inputs_are_named_as_will_do():
    # either of x and the region's time alone is too long for the watch, and x the longer one
    late = {"x": 8, "region": 7}
    assert blamed(Part(late, {"watch": 5}, waits={})) == {"region", "watch"}
    assert blamed(Part({"x": 8}, {"watch": 5}, waits={})) == {"x", "watch"}


def test_times_that_no_input_can_help_are_blamed_before_an_input_is_followed():
    """After x for 50 ms, r waits for 300 ms; by then q is late."""
    on = held("x", "on", 50)
    regions = [
        region(
            "r",
            state("a", leave=[way("b", on)]),
            state("b", leave=[way("c", after=300)]),
            state("c", leave=[way("d", inside("q", "early"))]),
            state("d"),
            interlocks=[way("a", is_("x", "off"))],
        ),
        region("q", state("early", leave=[way("late", after=100)]), state("late")),
    ]
    model = prop(*regions, inputs=[input_("x", "on", "off")])
    space = Lookout(model, Question(), Budget()).space(frozenset())
    goal = explore(space, Budget(), goal=lambda at: at.places[0].leaf == 3).goal
    assert goal is not None

    plan = schedule(legs_to(space, goal))

    assert plan == Blame(frozenset({("region", 0, 0), ("region", 1, 0)}))


def test_a_move_in_the_next_loop_that_asks_for_more_names_its_clock():
    assert blamed(Part({}, {}, "y"), Part({"y": 2}, {})) == {"y"}
    assert times_of(Part({}, {}, "y"), Part({"y": 2}, {}, waits={})) == (0, 1, 3)


def test_an_input_that_nobody_followed_changes_as_far_apart_as_its_filter_needs():
    """The button's filter is 3 loops: raw reads pressed from 1 on, which counts in 4; then 8."""
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", becomes("x", "pressed"))]),
            state("b", leave=[way("c", becomes("x", "released"))]),
            state("c"),
        ),
        inputs=[button("x", steady=30)],
    )

    witness = reach(Lookout(model, Question(), Budget()), lambda at: at.places[0].leaf == 2)

    assert witness is not None
    assert witness.plan.loops == (0, 4, 8)
    raw = [each.raw[0] for each in witness.run.stimuli]
    assert raw == ["released", *["pressed"] * 4, *["released"] * 4]


# --- By another library -------------------------------------------------------------------------


def small(names: Sequence[str]) -> st.SearchStrategy[dict[str, int]]:
    return st.dictionaries(st.sampled_from(names), st.integers(0, 9), max_size=2)


starts = st.sets(st.sampled_from(NAMES)).map(lambda several: " ".join(sorted(several)))
one_part = st.builds(Part, small(NAMES), small(NAMES), starts, st.none() | small(NAMES))

Constraint = tuple[int, int, int, str]
"""Loop of the first is at least so much after loop of the second, because of a clock or none."""


def constraints(parts: Sequence[Part]) -> Iterator[Constraint]:
    """Write a path's times down as differences, straight from what waiting and guards mean."""
    begun = dict.fromkeys(NAMES, 0)
    for at, part in enumerate(parts, start=1):
        yield at, at - 1, 1, ""
        if part.waits is None:
            yield at - 1, at, -1, ""
        for name, most in (part.waits or {}).items():
            yield begun[name], at, -most - 1, name
        for name, least in part.least.items():
            yield at, begun[name], least, name
        for name, most in part.most.items():
            yield begun[name], at, -most, name
        begun |= dict.fromkeys(part.starts.split(), at)


def longest(wanted: Sequence[Constraint], count: int) -> list[int] | None:
    """Give the earliest times; None where there are none."""
    strongest = {(0, at): 0 for at in range(1, count)}
    for later, sooner, least, _ in wanted:
        strongest[sooner, later] = max(least, strongest.get((sooner, later), least))
    graph = nx.DiGraph()
    graph.add_weighted_edges_from((a, b, -least) for (a, b), least in strongest.items())
    try:
        lengths = nx.single_source_bellman_ford_path_length(graph, 0)
    except nx.NetworkXUnbounded:
        return None
    return [-lengths[at] for at in range(count)]


@given(st.lists(one_part, min_size=1, max_size=6))
def test_the_times_of_a_path_are_its_longest_paths(parts):
    wanted = list(constraints(parts))
    expected = longest(wanted, len(parts) + 1)

    plan = schedule(legs_for(parts))

    if expected is None:
        assert isinstance(plan, Blame)
    else:
        assert isinstance(plan, Schedule)
        assert list(plan.loops) == expected


@given(st.lists(one_part, min_size=1, max_size=6))
def test_the_clocks_that_are_named_alone_already_forbid_the_path(parts):
    plan = schedule(legs_for(parts))

    if isinstance(plan, Blame):
        named = {name for name, _, _ in plan.clocks}
        alone = [each for each in constraints(parts) if each[3] in named | {""}]
        assert named
        assert longest(alone, len(parts) + 1) is None


@given(st.lists(one_part, min_size=1, max_size=6))
def test_what_a_clock_reads_is_the_loops_since_it_was_started(parts):
    plan = schedule(legs_for(parts))

    if isinstance(plan, Schedule):
        begun = dict.fromkeys(NAMES, 0)
        for at, part in enumerate(parts, start=1):
            for name, loop in begun.items():
                assert plan.age(at, clock(name)) == plan.loops[at] - loop
            begun |= dict.fromkeys(part.starts.split(), plan.loops[at])
