"""What a limit leaves open is left open: nothing is told that a whole check would not tell."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from behaviour.check import coverage
from behaviour.check.run import Limits, check_model
from behaviour.explore.budget import LimitError
from behaviour.model import Model
from behaviour.source import Source
from tests.reading import model_in
from tests.strategies import different_models

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
@given(different_models(), st.sampled_from((5, 20, 60, 150, 400)))
def test_what_never_comes_is_told_under_a_limit_as_without_one(model: Model, states: int):
    assert never(model, states) <= never(model, 50_000)


BEATEN = """language: 1
prop: Bell
loop: 10 ms
inputs:
  go: {kind: button, steady: 10 ms}
outputs:
  bell: {kind: lamp, values: [dark, lit]}
regions:
  main:
    begins: waiting
    states:
      waiting: {leave: [{when: go becomes pressed, go: ringing}]}
      ringing:
        cues: [{at: 30 ms, set: {bell: lit}}]
        leave: [{after: 20 ms, go: waiting}, {after: 40 ms, go: waiting}]
"""


@pytest.mark.parametrize("is_open", [False, True])
def test_of_a_state_that_may_never_be_entered_nothing_within_is_told(monkeypatch, is_open):
    shown = coverage.covered_healthy

    def stopped(*asked):
        found = shown(*asked)
        mark = ("state", "main", 1)
        runs = {name: run for name, run in found.runs.items() if name != mark}
        return replace(found, runs=runs, open={mark: LimitError("states", "3 states")})

    if is_open:
        monkeypatch.setattr(coverage, "covered_healthy", stopped)
    told = {m for _, _, m in never(model_in(Source("bell.yaml", BEATEN)), 1_000)}

    assert told == (
        set()
        if is_open
        else {
            "no run ever comes to `main.ringing@30ms`",
            "no run ever takes this transition of `ringing`",
        }
    )
