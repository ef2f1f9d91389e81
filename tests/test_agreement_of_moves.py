"""The search and the twin agree on random props with moves by distance, and every story replays."""

from collections import Counter
from collections.abc import Callable

from hypothesis import HealthCheck, given, settings

from behaviour.model import Model
from tests.conftest import SHOWN
from tests.strategies import different_models_with_moves
from tests.test_agreement import assert_agreement

LEAST = 0.5
"""How many of the props must have a move."""

SEEN: Counter[str] = Counter()


@settings(
    max_examples=max(100, (settings.default.max_examples if settings.default else 100) // 2),
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(different_models_with_moves())
def test_search_and_twin_agree_on_moves(model: Model) -> None:
    SEEN["props"] += 1
    SEEN["moves"] += any(
        setting.move
        for region in model.regions
        for state in region.states
        for setting in state.sets
    )

    assert_agreement(model)


def test_enough_props_had_a_move(record_property: Callable[[str, object], None]) -> None:
    record_property(SHOWN, f"props with moves: {SEEN['moves']} of {SEEN['props']}")

    assert SEEN["moves"] >= LEAST * SEEN["props"]
