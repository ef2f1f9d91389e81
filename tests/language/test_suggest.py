"""Which known names are near to a wrong one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.suggest import distance, nearest


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("", "", 0),
        ("lid", "lid", 0),
        ("lid", "lidd", 1),
        ("lid", "id", 1),
        ("lid", "led", 1),
        ("idle", "idel", 1),
        ("kitten", "sitting", 3),
        ("ca", "abc", 3),
        ("", "abc", 3),
    ],
)
def test_the_distance_counts_changes_and_swaps(one: str, other: str, apart: int) -> None:
    # kitten/sitting is the textbook example of Levenshtein's distance; ca/abc is 3 where no letter
    # is touched twice (from memory).
    assert distance(one, other) == apart
    assert distance(other, one) == apart


@pytest.mark.parametrize(
    ("word", "known", "near"),
    [
        ("idel", ["idle", "turn", "idler"], ("idle",)),
        ("closed", ["close", "closed", "clothed"], ("close", "clothed")),
        ("trigger", ["trigge", "triger", "tigger", "trigers"], ("tigger", "triger", "trigge")),
        ("LID", ["lid"], ("lid",)),
        ("x", ["y"], ()),
        ("xy", ["zw"], ()),
        ("lamp", ["drum"], ()),
        ("a" * 61, ["a" * 60], ()),
    ],
)
def test_at_most_three_names_are_near_the_nearest_first(
    word: str, known: list[str], near: tuple[str, ...]
) -> None:
    assert nearest(word, known) == near


@given(st.text(max_size=12), st.text(max_size=12))
def test_the_distance_lies_between_what_lengths_allow(one: str, other: str) -> None:
    apart = distance(one, other)

    assert abs(len(one) - len(other)) <= apart <= max(len(one), len(other))
    assert (apart == 0) == (one == other)
