"""Where all leads to the goal: turns tried one by one, against all of them at once."""

from collections.abc import Iterator
from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.courses import Courses, Onward


@dataclass(frozen=True)
class Place:
    """What follows one place: what may come by itself, and what each turn may bring."""

    moves: frozenset[int]
    is_rest: bool
    turns: tuple[frozenset[int], ...]


SOME = st.frozensets(st.integers(0, 7), max_size=3)

PLACES = st.lists(
    st.builds(Place, SOME, st.booleans(), st.lists(SOME, max_size=3).map(tuple)),
    min_size=8,
    max_size=8,
)


def home_by_definition(places: list[Place], turns: int, *, waits: bool) -> set[tuple[int, int]]:
    """Give (place, turns left) from where all leads to the goal: the least set that is closed."""
    home: set[tuple[int, int]] = set()
    while True:
        more = set(home)
        for at, here in enumerate(places):
            for left in range(turns + 1):
                goes_on = not here.is_rest or not waits
                is_led = not goes_on or all((to, left) in home for to in here.moves)
                turned = left > 0 and any(
                    all((to, left - 1) in home for to in outcomes) for outcomes in here.turns
                )
                if is_led and (turned or not here.is_rest):
                    more.add((at, left))
        if more == home:
            return home
        home = more


def courses_of(places: list[Place], asked: list[int], *, waits: bool) -> Courses[int]:
    def turns(here: Place) -> Iterator[frozenset[int]]:
        for outcomes in here.turns:
            asked.append(1)
            yield outcomes

    def look(at: int) -> Onward[int]:
        here = places[at]
        return Onward(here.moves, here.is_rest, turns(here) if here.is_rest else iter(()))

    return Courses(look, waits=waits)


@given(PLACES, st.integers(0, 2), st.booleans())
def test_turns_tried_one_by_one_show_all_that_trying_them_at_once_does(
    places: list[Place], turns: int, waits: bool
) -> None:
    courses = courses_of(places, [], waits=waits)
    courses.follow(range(8), turns, lambda: False)
    everything = home_by_definition(places, turns, waits=waits)
    without_end = home_by_definition(places, 8, waits=waits)

    led = {at for at, left in everything if left == turns}
    assert led <= courses.home <= {at for at, _ in without_end}


@given(PLACES, st.integers(0, 2))
def test_following_some_places_first_changes_nothing(places: list[Place], turns: int) -> None:
    at_once = courses_of(places, [], waits=True)
    at_once.follow(range(8), turns, lambda: False)
    bit_by_bit = courses_of(places, [], waits=True)
    bit_by_bit.follow([0], turns, lambda: 0 in bit_by_bit.home)
    bit_by_bit.follow(range(8), turns, lambda: False)

    assert bit_by_bit.home == at_once.home


def test_a_turn_is_tried_only_where_nothing_is_shown_without_it() -> None:
    goal, nowhere = Place(frozenset(), is_rest=False, turns=()), frozenset({1})
    rest = Place(frozenset(), is_rest=True, turns=(frozenset({0}), nowhere))
    places = [goal, Place(frozenset(), is_rest=True, turns=()), rest]
    asked: list[int] = []
    courses = courses_of(places, asked, waits=True)
    courses.follow([0], 2, lambda: 0 in courses.home)

    assert (courses.home, len(asked)) == ({0}, 0)

    courses.follow([2], 2, lambda: 2 in courses.home)

    assert (courses.home, len(asked)) == ({0, 2}, 1)
