"""Whatever the language allows, the Python that is made of it does what the definition says."""

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.model import Model
from codegen.conform.match import match_on_pi
from codegen.conform.runs import Effort
from tests.firmware.any_prop import any_prop

IS_LONG = settings.default.max_examples > 500


@settings(max_examples=200 if IS_LONG else 12)
@given(any_prop(), st.integers(0, 999))
def test_any_small_prop_runs_in_lockstep_at_mock_pins(model: Model, seed: int) -> None:
    effort = Effort(seed=seed, calls=1000, most_calls=1000, walks=1, seconds=10)
    assert match_on_pi(model, "any.yaml", effort=effort).mismatch is None
