"""The test of agreement finds a search that is broken on purpose, in three ways."""

from collections.abc import Callable, Iterable

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from behaviour.explore import choosing, search, surroundings
from behaviour.explore.places import Decided, Option, Spot, decided_at
from behaviour.explore.sight import Sight
from behaviour.explore.zones import Bound, Zone, at_most
from behaviour.model import Input, Model
from behaviour.semantics import filter_loops
from tests.strategies import models
from tests.test_agreement import assert_agreement

MOST = 400
"""So many random props may pass before a mutation is found."""

Plant = Callable[[pytest.MonkeyPatch], None]


def what_stands_above_does_not_win(patch: pytest.MonkeyPatch) -> None:
    def any_way(here: Spot, sight: Sight) -> list[Decided]:
        return [
            (masks, tuple(Option(option.way, option.lows, ()) for option in options))
            for masks, options in decided_at(here, sight)
        ]

    patch.setattr(choosing, "decided_at", any_way)


def a_filter_is_a_loop_too_short(patch: pytest.MonkeyPatch) -> None:
    def short(model: Model, item: Input, value: str) -> int:
        return max(filter_loops(model, item, value) - 1, 0)

    patch.setattr(surroundings, "filter_loops", short)


def one_must_go_on_a_loop_too_soon(patch: pytest.MonkeyPatch) -> None:
    """Only too little is found out so: what is too much no run of `step` confirms."""

    def soon(zone: Zone | None, size: int, bounds: Iterable[Bound]) -> Zone | None:
        return at_most(zone, size, [(clock, most - 1) for clock, most in bounds])

    patch.setattr(search, "at_most", soon)


@pytest.mark.parametrize(
    "plant",
    [what_stands_above_does_not_win, a_filter_is_a_loop_too_short, one_must_go_on_a_loop_too_soon],
    ids=lambda plant: plant.__name__.replace("_", " "),
)
def test_a_search_that_is_broken_is_found_out(
    plant: Plant, monkeypatch: pytest.MonkeyPatch
) -> None:
    @settings(
        max_examples=MOST,
        suppress_health_check=list(HealthCheck),
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
    )
    @given(models())
    def hunt(model: Model) -> None:
        assert_agreement(model)

    plant(monkeypatch)
    with pytest.raises(AssertionError):
        hunt()
