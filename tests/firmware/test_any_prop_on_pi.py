"""Whatever the language allows, the Python that is made of it does what the definition says."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.model import Model
from codegen.conform.match import match_on_pi
from codegen.conform.runs import Effort, runs_of
from tests.firmware.any_prop import any_prop
from tests.firmware.props import PROPS

IS_LONG = settings.default.max_examples > 500


@settings(max_examples=200 if IS_LONG else 12)
@given(any_prop(), st.integers(0, 999))
def test_any_small_prop_runs_in_lockstep_at_mock_pins(model: Model, seed: int) -> None:
    effort = Effort(seed=seed, calls=1000, most_calls=1000, walks=1, seconds=10)
    assert match_on_pi(model, "any.yaml", runs_of(model, effort)).mismatch is None


@pytest.mark.parametrize("name", PROPS)
def test_a_prop_in_python_does_what_the_definition_says_from_every_state(name: str) -> None:
    effort = Effort(calls=2_000, most_calls=40_000 if IS_LONG else 6_000)
    report = match_on_pi(PROPS[name], f"{name}.yaml", runs_of(PROPS[name], effort))
    assert report.mismatch is None
    assert report.coverage.row("from each state").wanting == ()
