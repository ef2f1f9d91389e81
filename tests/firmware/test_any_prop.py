"""Whatever the language allows, the C that is made of it does what the definition says."""

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.model import Model
from codegen.conform.match import match
from codegen.conform.runs import Effort
from tests.firmware.any_prop import any_prop
from tests.strategies import models_with_moves


@settings(max_examples=40)
@given(any_prop(), st.sampled_from(["gcc", "clang"]), st.integers(0, 999))
def test_any_small_prop_compiles_and_runs_in_lockstep(
    model: Model, compiler: str, seed: int
) -> None:
    effort = Effort(seed=seed, calls=1500, most_calls=1500, walks=1, seconds=10)
    report = match(model, "any.yaml", compiler=compiler, effort=effort, sanitize=False)
    assert report.mismatch is None


@settings(max_examples=20)
@given(models_with_moves(), st.sampled_from(["gcc", "clang"]), st.integers(0, 999))
def test_any_moves_by_distance_compile_and_run_in_lockstep(
    model: Model, compiler: str, seed: int
) -> None:
    effort = Effort(seed=seed, calls=1500, most_calls=1500, walks=1, seconds=10)
    report = match(model, "any.yaml", compiler=compiler, effort=effort, sanitize=False)
    assert report.mismatch is None
