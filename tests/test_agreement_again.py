"""The search and the twin on as many random props again, drawn otherwise.

In a file of its own, so that both halves can run side by side.
"""

from hypothesis import HealthCheck, given, settings

from behaviour.model import Model
from tests.strategies import different_models
from tests.test_agreement import PROPS, assert_agreement


@settings(
    max_examples=PROPS,
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(different_models())
def test_search_and_twin_agree_on_other_props(model: Model) -> None:
    assert_agreement(model)
