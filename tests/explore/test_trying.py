"""What a walk tries for apart: it does not hang on what else was tried, and its runs can happen."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.check.seeking import sought
from behaviour.explore.walk import walk
from behaviour.explore.walking.marks import marks_of
from tests.explore.legal import last_loop
from tests.explore.test_walk import A_MINUTE, is_met
from tests.reading import model_of, spec
from tests.strategies import different_models

FEW = settings(
    max_examples=max(20, (settings.default.max_examples if settings.default else 0) // 8)
)
"""Each of these walks and tries again and again, which takes as long as a check."""


def walk_of(model, steps, **options):
    return walk(model, seed=1, steps=steps, seconds=A_MINUTE, may_stall=False, **options)


def races_of(model):
    return sought(model, model, [region.name for region in model.regions])


@FEW
@given(different_models(), st.booleans())
def test_what_is_tried_for_can_happen_and_ends_in_its_mark(model, may_stall):
    found = walk(model, seed=1, steps=30, seconds=A_MINUTE, may_stall=may_stall)

    for mark in set(marks_of(model)) - set(found):
        run = found.attempt(mark)
        assert run is None or is_met(model, mark, run)


@FEW
@given(different_models())
def test_a_try_does_not_hang_on_what_else_was_tried(model):
    first, second = walk_of(model, 30), walk_of(model, 30)
    unmet = [mark for mark in marks_of(model) if mark not in first]

    there = {mark: first.attempt(mark) for mark in unmet}
    back = {mark: second.attempt(mark) for mark in reversed(unmet)}

    assert there == back
    assert dict(first) == dict(second)


@FEW
@given(different_models(), st.integers(0, 9))
def test_a_walk_that_goes_on_after_another_tells_runs_that_can_happen(model, seed):
    before = walk_of(model, 60)
    left = set(marks_of(model)) - set(before)
    found = walk(
        model,
        seed=seed,
        steps=100,
        seconds=A_MINUTE,
        may_stall=True,
        wanted=left,
        after=before,
    )

    assert set(found) <= left
    for mark, run in found.items():
        assert is_met(model, mark, run)


RACES = [
    ("rotating-sign", ("order", "lighting", 2, 1)),
    ("fortune-teller", ("order", "purse", 0, 1)),
    ("fortune-teller", ("order", "eyes", 2, 1)),
    ("lift-platform", ("order", "warning", 3, 1)),
]


@pytest.mark.parametrize(("name", "race"), RACES)
def test_a_race_between_regions_is_met_or_found_by_a_try(name, race):
    model = spec(f"specs/{name}.yaml")
    found = walk_of(model, 1500, sought=races_of(model), idle=120)

    run = found.get(race) or found.attempt(race)

    assert run is not None
    _, region, first, _ = race
    fired = last_loop(model, run)[0].regions[model.region_index[region]].fired
    assert fired is not None
    assert fired.transition.number == first


def test_nothing_is_tried_for_that_nobody_wanted_or_that_nothing_leads_to():
    model = spec("specs/fog-cannon.yaml")
    found = walk_of(model, 50, wanted=[("state", "boiler", 0)])

    assert found.attempt(("state", "cannon", 2)) is None
    assert found.attempt(("deaf", "cannon", 2, "fire", "pressed")) is None


def test_coming_nearer_counts_as_news():
    """Twenty coins are more than a walk without news is given time for."""
    model = model_of("""
        language: 1
        prop: Purse
        loop: 10 ms
        inputs:
          coin: {kind: sensor, values: [clear, passing], steady: 20 ms}
        counters:
          coins: {from: 0, to: 40, begins: 0}
        regions:
          purse:
            begins: open
            states:
              open:
                leave:
                  - {when: coin becomes passing and coins < 40, do: add 1 to coins, go: stay}
                  - {when: coins = 40, go: full}
              full: {lockout: yes}
    """)
    full = ("state", "purse", 1)

    assert full in walk_of(model, 5000, wanted=[full], idle=60)
