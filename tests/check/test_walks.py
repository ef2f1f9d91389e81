"""Short walks of parts: what a smaller one has settled is told for a larger one, not looked for."""

import pytest

from behaviour.check import walks
from behaviour.check.asking import Asking
from behaviour.check.walks import walked
from behaviour.explore.budget import Budget
from behaviour.explore.cone import cone
from behaviour.explore.walk import walk
from behaviour.explore.walking.marks import marks_of
from behaviour.model import Transition
from tests.explore.test_walk import is_met
from tests.reading import SPECS, spec


def asking_of(name: str) -> Asking:
    return Asking(spec(f"specs/{name}.yaml"), Budget(400_000, 60.0))


@pytest.fixture
def wanted(monkeypatch):
    """What each walk that is made looks for, by the regions of its part."""
    seen = []

    def made(part, **options):
        names = tuple(region.name for region in part.regions)
        seen.append((names, options["may_stall"], set(options["wanted"])))
        return walk(part, **options)

    monkeypatch.setattr(walks, "walk", made)
    return seen


def test_a_larger_part_looks_for_nothing_that_a_smaller_one_has_settled(wanted):
    asking = asking_of("rotating-sign")
    walked(asking, asking.model, may_stall=False)
    swing = cone(asking.model, regions=("swing",)).model
    walked(asking, swing, may_stall=False)

    (first, _, of_swing), (second, _, of_both) = wanted
    assert (first, second) == (("swing",), ("swing", "lighting"))
    assert of_swing == set(marks_of(swing)) - {("beyond", "swings")}
    assert of_both == set(marks_of(asking.model)) - set(marks_of(swing))


def test_neither_races_nor_counts_are_looked_for_that_the_file_itself_shows_never_to_come(
    monkeypatch,
):
    """A turn of the sign is over long before its limit, and `swings` is counted within bounds."""
    told: list[set[object]] = []

    def made(part, **options):
        told.append({*options["wanted"], *(each.mark for each in options["sought"])})
        return walk(part, **options)

    monkeypatch.setattr(walks, "walk", made)
    asking = asking_of("rotating-sign")
    walked(asking, cone(asking.model, regions=("swing",)).model, may_stall=False)

    [looked_for] = told
    limits = {way.number for way in asking.model.region["swing"].transitions() if is_limit(way)}
    assert limits
    assert ("beyond", "swings") not in looked_for
    assert {("taken", "swing", number) for number in limits} <= looked_for
    assert not [m for m in looked_for if m[0] == "order" and not limits.isdisjoint(m[2:])]


def is_limit(way: Transition) -> bool:
    return way.after is not None and way.after.low == 4_000_000


def test_with_a_stall_only_what_only_a_stall_may_bring_is_looked_for(wanted):
    asking = asking_of("confetti-carousel")
    stalled = walked(asking, asking.model, may_stall=True)
    healthy = walked(asking, asking.model, may_stall=False)

    (_, _, all_of_it), (_, is_stalled, left) = wanted
    assert all_of_it == set(marks_of(asking.model)) - {("beyond", "loaded")}
    assert is_stalled
    assert left.isdisjoint(healthy)
    assert ("beyond", "loaded") not in left
    assert set(stalled) >= left | set(healthy)


@pytest.mark.parametrize("may_stall", [False, True], ids=["healthy", "stalled"])
@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_what_is_told_of_a_smaller_part_happens_in_the_larger_one(path, may_stall):
    asking = asking_of(path.stem)
    found = walked(asking, asking.model, may_stall=may_stall)

    for mark in set(found) & set(marks_of(asking.model)):
        run = found[mark]
        if len(run.stimuli) < 3000:
            assert is_met(asking.model, mark, run)


def test_what_was_walked_before_makes_no_difference():
    one, other = asking_of("lift-platform"), asking_of("lift-platform")
    for region in reversed(other.model.regions):
        part = cone(other.model, regions=(region.name,)).model
        for run in walked(other, part, may_stall=True).values():
            assert run.stimuli

    assert dict(walked(one, one.model, may_stall=False)) == dict(
        walked(other, other.model, may_stall=False)
    )
