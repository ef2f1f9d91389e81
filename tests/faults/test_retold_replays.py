"""Runs that are played once more: what is kept of them is what replaying them gives."""

from dataclasses import replace
from random import Random

from hypothesis import given
from hypothesis.strategies import randoms

from behaviour.check.retold import as_far_as_it_goes, told_as
from behaviour.faults import faults_of
from behaviour.findings import Beat, Stimulus
from behaviour.model import Model
from behaviour.story import Views, play_on, replay
from behaviour.world.circuit import Circuit
from tests.strategies import models


def given_at_random(model: Model, chance: Random) -> tuple[Stimulus, ...]:
    """Lay out loops in which little changes; now and then the controller hangs, or starts again."""
    raw = [chance.choice(item.values) for item in model.inputs]
    stands = tuple(chance.randrange(len(each.states)) for each in model.mechanism)
    found: list[Stimulus] = []
    for _ in range(6):
        at = chance.randrange(len(raw))
        raw[at] = chance.choice(model.inputs[at].values)
        now = chance.choice((Beat.RUNS, Beat.RUNS, Beat.SKIPS)) if found else Beat.RUNS
        found += [Stimulus(tuple(raw), stands, beat=now)] * chance.randint(1, 12)
        if chance.random() < 0.2:
            found += [replace(found[-1], beat=each) for each in (Beat.IS_DOWN, Beat.STARTS)]
    return tuple(found)


@given(models(), randoms())
def test_what_is_kept_of_a_run_is_what_replaying_it_gives(model: Model, chance: Random) -> None:
    fault = chance.choice(faults_of(model))
    circuit = Circuit(model, (fault,))
    told = told_as(circuit, given_at_random(model, chance), begins=chance.randrange(20))
    if told is None:
        return
    run, still = as_far_as_it_goes(circuit, told)
    for each in (run, run.until(chance.randrange(len(run.stimuli)))):
        before, plain = None, []
        for stimulus in each.stimuli:
            before = play_on(circuit, before, stimulus)
            plain.append(before)
        assert list(replay(model, each)) == plain
        assert list(Views(model, each)) == plain
    for view, now in zip(still, replay(model, run), strict=True):
        assert (view.stimulus, view.real) == (now.stimulus, now.real)
        assert view.state.counters == now.state.counters
        assert [i.steady for i in view.state.inputs] == [i.steady for i in now.state.inputs]
        assert [r.fired for r in view.state.regions] == [r.fired for r in now.state.regions]
