"""Loops that do nothing are passed over, and what is told of them is what playing them gives."""

from dataclasses import replace
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.lulls import played as played_through
from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import NotKnownError, PropState, power_up, step
from behaviour.story import replay
from tests.reading import SPECS, model_of
from tests.strategies import different_models

LOOPS = 400


def run_of(model: Model, random: Random, loops: int) -> Run:
    """Hold each reading for a while, mostly for longer than most filters and times."""
    raw = [random.choice(item.values) for item in model.inputs]
    stimuli: list[Stimulus] = []
    while len(stimuli) < loops:
        stimulus = Stimulus(tuple(raw))
        times = random.choice((1, 1, 2, 3, 10, 100))
        stimuli += [replace(stimulus) if at % 7 == 3 else stimulus for at in range(times)]
        if raw:
            at = random.randrange(len(raw))
            raw[at] = random.choice(model.inputs[at].values)
    return Run(tuple(stimuli[:loops]))


def played(model: Model, run: Run) -> list[PropState]:
    states = [power_up(model, run.stimuli[0].raw, {})]
    for stimulus in run.stimuli[1:]:
        states.append(step(model, states[-1], stimulus.raw, {}))
    return states


@given(different_models(), st.integers(0, 1 << 30))
def test_passing_over_loops_gives_what_playing_each_gives(model, seed):
    run = run_of(model, Random(seed), LOOPS)
    try:
        states = played(model, run)
    except NotKnownError:
        return
    views = replay(model, run)

    assert played_through(model, run.stimuli) == states[-1]
    assert [view.state for view in views] == states
    assert [views[loop].state for loop in range(LOOPS)] == states
    assert [view.loop for view in views[-3:]] == [LOOPS - 3, LOOPS - 2, LOOPS - 1]


def test_the_demo_props_are_played_as_they_are_told():
    for path in SPECS:
        model = model_of(path.read_text())
        run = run_of(model, Random(path.name), 20 * LOOPS)

        assert [view.state for view in replay(model, run)] == played(model, run)
