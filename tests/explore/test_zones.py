"""Zones against a published example, and every operation against all whole numbers of a box."""

from collections.abc import Iterable, Sequence
from functools import cache, partial
from itertools import permutations, product
from operator import sub

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from behaviour.explore.zones import (
    FREE,
    Ends,
    Zone,
    at_least,
    at_most,
    carry,
    close,
    down,
    everything,
    extrapolate,
    includes,
    needed,
    shift,
    subtract,
    tighten,
    uncarry,
    uncovered,
    up,
    width,
    zeroes,
)

Point = tuple[int, ...]
Bounded = tuple[int, int, int]
"""x_i - x_j <= bound, with x_0 the constant 0."""

LARGEST = 3
"""The largest number in a bound that the random zones are made of."""

SIDE = 14
"""Points are listed up to here: beyond all that bounds on three clocks add up to."""


@cache
def box(clocks: int, side: int = SIDE) -> frozenset[Point]:
    return frozenset(product(range(side + 1), repeat=clocks))


@cache
def half(clocks: int, side: int, one: Bounded) -> frozenset[Point]:
    """The points of a box that meet a bound."""
    i, j, bound = one
    return frozenset(each for each in box(clocks, side) if (0, *each)[i] - (0, *each)[j] <= bound)


def meeting(bounds: Iterable[Bounded], clocks: int, side: int = SIDE) -> frozenset[Point]:
    """The points of a box that meet every one of some bounds."""
    halves = sorted({half(clocks, side, each) for each in bounds}, key=len)
    return box(clocks, side).intersection(*halves)


def points(zone: Zone | None, clocks: int, side: int = SIDE) -> frozenset[Point]:
    """The points of a box that are in a zone, by every one of its bounds."""
    if zone is None:
        return frozenset()
    pairs = product(range(clocks + 1), repeat=2)
    bounds = [(i, j, bound) for (i, j), bound in zip(pairs, zone, strict=True)]
    return meeting(bounds, clocks, side)


def made(clocks: int, bounds: Sequence[Bounded]) -> Zone | None:
    """Make a zone by writing the bounds down and closing once."""
    size = clocks + 1
    found = list(everything(clocks))
    for i, j, bound in bounds:
        found[i * size + j] = min(found[i * size + j], bound)
    return close(found, size)


@cache
def several_bounds(clocks: int) -> st.SearchStrategy[list[Bounded]]:
    bounds = product(permutations(range(clocks + 1), 2), range(-LARGEST, LARGEST + 1))
    return st.lists(st.sampled_from([(i, j, bound) for (i, j), bound in bounds]), max_size=5)


@cache
def zones(clocks: int) -> st.SearchStrategy[Zone]:
    return several_bounds(clocks).map(partial(not_empty, clocks))


def not_empty(clocks: int, bounds: Iterable[Bounded]) -> Zone:
    """Make a zone of as many of the bounds as leave a point, in their order."""
    kept: list[Bounded] = []
    found = everything(clocks)
    for each in bounds:
        closed = made(clocks, [*kept, each])
        if closed is not None:
            kept.append(each)
            found = closed
    return found


numbers_of_clocks = st.integers(1, 3)


@cache
def sized(clocks: int) -> st.SearchStrategy[tuple[int, Zone]]:
    return st.tuples(st.just(clocks), zones(clocks))


@cache
def paired(clocks: int) -> st.SearchStrategy[tuple[int, Zone, Zone]]:
    return st.tuples(st.just(clocks), zones(clocks), zones(clocks))


sized_zones = numbers_of_clocks.flatmap(sized)
pairs = numbers_of_clocks.flatmap(paired)


# --- Published ----------------------------------------------------------------------------------

Z2 = ((0, 1, -1), (1, 0, 3), (0, 3, 0), (3, 0, 3), (2, 3, 1), (3, 2, -1), (1, 2, -2))
"""1 <= x1 <= 3, x2 >= 0, 0 <= x3 <= 3, x2 - x3 = 1, x2 - x1 >= 2.

The zone: R. Alur, CIS 540 Principles of Embedded Computation, lecture of 20 April 2017. Its closed
form was worked out again from that by hand. The other two examples of values have strict bounds,
which zones of whole numbers have not.
"""

Z2_CLOSED = (
    *(0, -1, -3, -2),
    *(2, 0, -2, -1),
    *(4, 3, 0, 1),
    *(3, 2, -1, 0),
)


def test_the_published_zone_closes_to_its_published_form():
    assert made(3, Z2) == Z2_CLOSED


@given(st.permutations(Z2))
def test_the_order_in_which_its_bounds_are_added_does_not_matter(bounds):
    zone: Zone | None = everything(3)
    for i, j, bound in bounds:
        assert zone is not None
        zone = tighten(zone, 4, i, j, bound)

    assert zone == Z2_CLOSED


def test_the_published_zone_has_the_points_that_its_bounds_allow():
    assert points(Z2_CLOSED, 3) == {(1, 3, 2), (1, 4, 3), (2, 4, 3)}


# --- Closing ------------------------------------------------------------------------------------


@given(st.data(), numbers_of_clocks)
def test_closing_keeps_the_points_and_finds_nothing_where_there_is_none(data, clocks):
    bounds = data.draw(several_bounds(clocks))

    zone = made(clocks, bounds)

    allowed = meeting(bounds, clocks)
    assert points(zone, clocks) == allowed
    assert (zone is None) == (not allowed)


@given(sized_zones)
def test_every_bound_of_a_closed_zone_is_reached_by_a_point(sized):
    clocks, zone = sized
    size = clocks + 1
    inside = list(zip(*((0, *each) for each in points(zone, clocks)), strict=True))

    for i, j in product(range(size), repeat=2):
        furthest = max(map(sub, inside[i], inside[j]))
        bound = zone[i * size + j]
        assert furthest == bound if bound < FREE else furthest > 2 * LARGEST


@given(sized_zones)
def test_what_is_not_bounded_is_free_and_nothing_near_it(sized):
    _, zone = sized

    assert all(abs(bound) <= 3 * LARGEST or bound == FREE for bound in zone)


def test_a_sum_with_what_is_not_bounded_is_not_bounded_either():
    # x1 is at least 5 behind x2; how far x2 is before x3 is open, so that of x1 is open too
    zone = made(3, [(1, 2, -5)])

    assert zone is not None
    assert zone[1 * 4 + 3] == FREE


def test_zeroes_is_one_point_and_everything_is_every_one():
    assert points(zeroes(2), 2) == {(0, 0)}
    assert points(everything(2), 2) == set(box(2))
    assert width(zeroes(2)) == width(everything(2)) == 3
    assert zeroes(0) == everything(0) == (0,)


# --- Bounds -------------------------------------------------------------------------------------


@given(sized_zones, st.data())
def test_a_bound_that_is_added_leaves_the_points_that_meet_it(sized, data):
    clocks, zone = sized
    i, j = data.draw(st.permutations(range(clocks + 1)))[:2]
    bound = data.draw(st.integers(-LARGEST, LARGEST))

    found = tighten(zone, clocks + 1, i, j, bound)

    left = points(zone, clocks) & meeting([(i, j, bound)], clocks)
    assert points(found, clocks) == left
    assert (found is None) == (not left)
    if found is not None:
        assert found == close(found, clocks + 1)


@given(sized_zones, st.data())
def test_at_least_and_at_most_keep_the_clocks_between(sized, data):
    clocks, zone = sized
    several = st.lists(st.tuples(st.integers(0, clocks - 1), st.integers(0, LARGEST)), max_size=3)
    lows, highs = data.draw(several), data.draw(several)

    found = at_most(at_least(zone, clocks + 1, lows), clocks + 1, highs)

    assert points(found, clocks) == {
        each
        for each in points(zone, clocks)
        if all(each[clock] >= least for clock, least in lows)
        and all(each[clock] <= most for clock, most in highs)
    }


# --- Time ---------------------------------------------------------------------------------------


def moved(point: Point, loops: int) -> Point:
    return tuple(value + loops for value in point)


@cache
def first(point: Point) -> tuple[Point, int]:
    """Where a point comes from before which there is none, and in how many loops."""
    return moved(point, -min(point)), min(point)


@given(sized_zones)
def test_up_is_every_point_that_loops_lead_to(sized):
    clocks, zone = sized

    later = up(zone, clocks + 1)

    soonest: dict[Point, int] = {}
    for begins, loops in map(first, points(zone, clocks)):
        soonest[begins] = min(loops, soonest.get(begins, SIDE))
    came = ((each, *first(each)) for each in box(clocks))
    expected = {each for each, begins, loops in came if soonest.get(begins, FREE) <= loops}
    assert points(later, clocks) == expected
    assert later == close(later, clocks + 1)


@given(sized_zones)
def test_down_is_every_point_from_which_loops_lead_there(sized):
    clocks, zone = sized

    sooner = down(zone, clocks + 1)

    latest: dict[Point, int] = {}
    for begins, loops in map(first, points(zone, clocks, SIDE + 3 * LARGEST)):
        latest[begins] = max(loops, latest.get(begins, 0))
    came = ((each, *first(each)) for each in box(clocks))
    expected = {each for each, begins, loops in came if latest.get(begins, -1) >= loops}
    assert points(sooner, clocks) == expected
    assert sooner == close(sooner, clocks + 1)


@given(sized_zones, st.integers(1, 4))
def test_a_shift_moves_every_point_by_as_many_loops_and_back(sized, loops):
    clocks, zone = sized

    shifted = shift(zone, clocks + 1, loops)

    assert points(shifted, clocks) == {
        moved(each, loops) for each in points(zone, clocks, SIDE - loops)
    }
    assert shift(shifted, clocks + 1, -loops) == zone


# --- Clocks that begin and end ------------------------------------------------------------------


@st.composite
def sources_of(draw: st.DrawFn, clocks: int) -> tuple[int, ...]:
    """For each clock to come the one that it was, each at most once, or -1."""
    kept = draw(st.permutations(range(clocks)))[: draw(st.integers(0, clocks))]
    begun = [-1] * draw(st.integers(0, 3 - len(kept)))
    return tuple(draw(st.permutations([*kept, *begun])))


def carried(point: Point, sources: Sequence[int]) -> Point:
    return tuple(0 if source < 0 else point[source] for source in sources)


@given(sized_zones, st.data())
def test_carry_takes_every_point_along_and_nothing_else(sized, data):
    clocks, zone = sized
    sources = data.draw(sources_of(clocks))

    found = carry(zone, clocks + 1, sources)

    near = {carried(each, sources) for each in points(zone, clocks)}
    assert near <= points(found, len(sources))
    # a clock that is dropped need not be more than the bounds' sum beyond one that is kept
    assert points(found, len(sources), LARGEST) <= near
    assert found == close(found, len(sources) + 1)


@given(st.data(), numbers_of_clocks)
def test_uncarry_is_every_point_that_is_carried_into_the_zone(data, clocks):
    sources = data.draw(sources_of(clocks))
    assume(sources)
    zone = data.draw(zones(len(sources)))

    found = uncarry(zone, len(sources) + 1, sources, clocks)

    inside = points(zone, len(sources))
    expected = {each for each in box(clocks) if carried(each, sources) in inside}
    assert points(found, clocks) == expected
    assert (found is None) == (not expected)


# --- What no guard can tell ---------------------------------------------------------------------


@given(sized_zones, st.data())
def test_extrapolating_adds_only_points_that_no_guard_can_tell_from_one_inside(sized, data):
    clocks, zone = sized
    most = data.draw(st.tuples(*[st.integers(0, LARGEST)] * clocks))

    wide = extrapolate(zone, clocks + 1, most)

    beyond = [limit + 1 for limit in most]

    def told(several: Iterable[Point]) -> set[Point]:
        return {tuple(map(min, each, beyond)) for each in several}

    inside, added = points(zone, clocks), points(wide, clocks) - points(zone, clocks)
    assert includes(wide, zone)
    assert inside <= points(wide, clocks)
    assert told(added) <= told(inside)
    assert wide == close(wide, clocks + 1)


@given(sized_zones, st.data())
def test_extrapolating_after_any_time_leaves_small_bounds_or_none(sized, data):
    """So there are finitely many: a search over them ends."""
    clocks, zone = sized
    most = data.draw(st.tuples(*[st.integers(0, LARGEST)] * clocks))

    wide = extrapolate(shift(up(zone, clocks + 1), clocks + 1, 50), clocks + 1, most)

    assert all(abs(bound) <= 3 * (LARGEST + 1) or bound == FREE for bound in wide)


def test_a_clock_beyond_what_it_is_asked_for_is_only_known_to_be_beyond():
    seven = (0, -7, 7, 0)

    assert extrapolate(seven, 2, (4,)) == (0, -5, FREE, 0)
    assert extrapolate(seven, 2, (7,)) == seven


def can_do_all(inside: Point, point: Point, ends: Ends) -> bool:
    """Tell whether one value can do all that another can, clock by clock; each can what it can.

    G. Behrmann, P. Bouyer, K. Larsen and R. Pelanek, Lower and Upper Bounds in Zone-Based
    Abstractions of Timed Automata, STTT 8(3), 2006, doi 10.1007/s10009-005-0190-0 (from memory),
    with bounds that are met where they are come to.
    """
    return all(
        here == there or low <= there < here or high < here < there
        for here, there, low, high in zip(point, inside, ends.lows[1:], ends.highs[1:], strict=True)
    )


@st.composite
def some_ends(draw: st.DrawFn, clocks: int) -> Ends:
    many = st.tuples(*[st.integers(-1, LARGEST)] * clocks)
    return Ends(clocks + 1, (0, *draw(many)), (0, *draw(many)))


@given(pairs, st.data())
def test_of_a_zone_that_includes_what_is_needed_some_value_can_do_all(pair, data):
    clocks, outer, inner = pair
    ends = data.draw(some_ends(clocks))

    if includes(outer, needed(inner, ends)):
        others = sorted(points(outer, clocks), key=sum)
        for each in points(inner, clocks, LARGEST + 1).difference(others):
            assert any(can_do_all(other, each, ends) for other in others)


@given(st.integers(1, 2).flatmap(paired), st.data())
def test_no_more_is_needed_than_that(pair, data):
    clocks, outer, inner = pair
    ends = data.draw(some_ends(clocks))

    others = sorted(points(outer, clocks), key=sum)
    assert includes(outer, needed(inner, ends)) == all(
        any(can_do_all(other, each, ends) for other in others)
        for each in points(inner, clocks).difference(others)
    )


@given(pairs, st.data())
def test_less_is_needed_than_to_do_just_the_same(pair, data):
    """Published with both, and to be tested of any two: the one is coarser than the other."""
    clocks, outer, inner = pair
    ends = data.draw(some_ends(clocks))
    most = [max(each) for each in zip(ends.lows[1:], ends.highs[1:], strict=True)]

    if includes(outer, extrapolate(inner, clocks + 1, [max(each, 0) for each in most])):
        assert includes(outer, needed(inner, ends))


def test_a_clock_that_is_only_asked_to_have_come_far_enough_may_have_come_further():
    five, four = (0, -5, 5, 0), (0, -4, 4, 0)

    assert includes(four, needed(five, Ends(2, (0, 4), (0, -1))))
    assert not includes(four, needed(five, Ends(2, (0, 5), (0, -1))))
    assert not includes(five, needed(four, Ends(2, (0, 4), (0, 4))))
    assert includes(five, needed(four, Ends(2, (0, 4), (0, 3))))


# --- Parts --------------------------------------------------------------------------------------


@given(pairs)
def test_a_zone_includes_another_where_no_point_of_that_is_outside(pair):
    clocks, outer, inner = pair

    assert includes(outer, inner) == (points(inner, clocks) <= points(outer, clocks))


@given(pairs)
def test_what_is_left_of_a_zone_without_another_comes_in_pieces_that_do_not_overlap(pair):
    clocks, zone, other = pair

    pieces = subtract(zone, clocks + 1, other)

    parts = [points(each, clocks) for each in pieces]
    assert all(parts)
    assert sum(len(each) for each in parts) == len(set().union(*parts))
    assert set().union(*parts) == points(zone, clocks) - points(other, clocks)


@given(numbers_of_clocks, st.data())
def test_what_is_uncovered_is_outside_all_of_the_others(clocks, data):
    zone = data.draw(zones(clocks))
    others = data.draw(st.lists(zones(clocks), max_size=4))

    left = uncovered(zone, clocks + 1, others)

    outside = points(zone, clocks).difference(*(points(each, clocks) for each in others))
    assert set().union(*(points(each, clocks) for each in left)) == outside
    assert bool(left) == bool(outside)


@pytest.mark.parametrize("clocks", [1, 2, 3])
def test_nothing_of_a_zone_is_outside_itself(clocks):
    assert uncovered(everything(clocks), clocks + 1, [everything(clocks)]) == []
    assert uncovered(zeroes(clocks), clocks + 1, [everything(clocks)]) == []
    assert uncovered(zeroes(clocks), clocks + 1, []) == [zeroes(clocks)]
