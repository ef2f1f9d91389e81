"""What is told of a prop does not hang on the order in which sets give what is in them.

That order changes from one start of Python to the next (PYTHONHASHSEED of its documentation), so
the same props are checked in processes of their own.
"""

import os
import pickle
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.source import Source
from tests.strategies import models

FAULTY = sorted((Path(__file__).parents[2] / "specs" / "faulty").glob("*.yaml"))
PROPS = 30
SEEDS = ("0", "2", "3")

CHECKED = """
import pickle, sys
from behaviour.check.run import Limits, check_model
for model in pickle.load(sys.stdin.buffer):
    outcome = check_model(model, Limits(seconds=600))
    explored = outcome.explored.symbolic_states, outcome.explored.complete
    print([outcome.rules, outcome.checks, outcome.findings, explored])
"""

TILTING = """language: 1
prop: Chest
loop: 10 ms
inputs:
  go: {kind: button, steady: 20 ms}
  tilt: {kind: button, steady: 20 ms}
outputs:
  lamp: {kind: light, values: [dark, lit]}
regions:
  chest:
    begins: homing
    states:
      homing: {leave: [{when: go becomes pressed, go: idle}]}
      idle:
        leave: [{when: tilt is pressed, go: tilted}, {when: go becomes released, go: shown}]
      shown: {set: {lamp: lit}, leave: [{when: go becomes pressed, go: idle}]}
      tilted: {lockout: yes}
"""
"""From `idle` and from `shown` there is no way back; the first is told."""


def read(name: str, text: str) -> Model:
    model, _ = read_model(Source(name, text))
    assert model is not None
    return model


def random_props() -> list[Model]:
    props: list[Model] = []

    @settings(
        max_examples=PROPS,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(models())
    def collect(model: Model) -> None:
        props.append(model)

    collect()
    return props


@pytest.mark.parametrize("kind", ["written", "random"])
def test_the_same_is_told_whatever_the_order_of_sets(kind):
    if kind == "written":
        written = [read(path.name, path.read_text(encoding="utf-8")) for path in FAULTY]
        props = [read("chest.yaml", TILTING), *written]
    else:
        props = random_props()

    told = {
        subprocess.run(
            [sys.executable, "-c", CHECKED],
            input=pickle.dumps(props),
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in SEEDS
    }

    assert len(told) == 1
    assert told.pop().count(b"\n") == len(props)
