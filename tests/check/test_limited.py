"""What a limit leaves open is left open: nothing is told that a whole check would not tell."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from behaviour.check.run import Limits, check_model
from behaviour.model import Model
from tests.strategies import models

NEVER = ("never-reached", "never-taken")


def never(model: Model, states: int) -> set[tuple[str, int, str]]:
    """Name what is said never to come, with so many states to look at."""
    found = check_model(model, Limits(states=states)).findings
    return {(f.kind.name, f.at.span.line, f.message) for f in found if f.kind.name in NEVER}


@settings(
    max_examples=100,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(models(), st.sampled_from((5, 20, 60, 150, 400)))
def test_what_never_comes_is_told_under_a_limit_as_without_one(model: Model, states: int):
    assert never(model, states) <= never(model, 50_000)
