"""Whatever the language allows, the Python that is made of it does what the definition says."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.model import Model
from codegen.conform.match import match_on_pi
from codegen.conform.runs import Effort, runs_of
from codegen.vocabulary import motors_moved
from tests.firmware.any_prop import any_prop
from tests.firmware.props import PROPS
from tests.strategies import models_with_moves

IS_LONG = settings.default.max_examples > 500


@settings(max_examples=200 if IS_LONG else 8)
@given(any_prop(), st.integers(0, 999))
def test_any_small_prop_runs_in_lockstep_at_mock_pins(model: Model, seed: int) -> None:
    effort = Effort(seed=seed, calls=1000, most_calls=1000, walks=1, seconds=10)
    assert match_on_pi(model, "any.yaml", runs_of(model, effort)).mismatch is None


def with_steps(model: Model) -> Model:
    """Give every motor that is moved by distance a pin for steps, which count how far it went."""
    moved = motors_moved(model)
    return replace(
        model,
        outputs=tuple(
            replace(each, wiring=replace(each.wiring, pins=(("step", "5"), ("dir", "6"))))
            if each.name in moved
            else each
            for each in model.outputs
        ),
    )


@settings(max_examples=100 if IS_LONG else 5)
@given(models_with_moves(), st.integers(0, 999))
def test_any_moves_by_distance_run_in_lockstep_at_mock_pins(model: Model, seed: int) -> None:
    effort = Effort(seed=seed, calls=1000, most_calls=1000, walks=1, seconds=10)
    stepping = with_steps(model)
    assert match_on_pi(stepping, "any.yaml", runs_of(stepping, effort)).mismatch is None


@pytest.mark.parametrize("name", PROPS)
def test_a_prop_in_python_does_what_the_definition_says_from_every_state(name: str) -> None:
    effort = Effort(calls=2_000, most_calls=40_000 if IS_LONG else 6_000)
    report = match_on_pi(PROPS[name], f"{name}.yaml", runs_of(PROPS[name], effort))
    assert report.mismatch is None
    assert report.coverage.row("from each state").wanting == ()
