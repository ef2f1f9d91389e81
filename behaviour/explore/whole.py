"""A run of a part of a prop told for the whole prop: what was left out does what it does by itself.

What a search left out cannot change what it found. Its mechanisms stay as long as they may, and
force their inputs; its regions follow by `step`.
"""

from dataclasses import replace

from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import PropState, look_back, power_up, step
from behaviour.world.mechanism import Stand, at_power_up, choose, settle


def whole(model: Model, run: Run, mechanisms: tuple[str, ...]) -> Run:
    """Tell a run for the whole model; `mechanisms` names those that the run speaks of, in order."""
    if len(mechanisms) == len(model.mechanism):
        return run
    stimuli: list[Stimulus] = []
    prop: PropState | None = None
    stands: dict[str, Stand] = {}
    stood: tuple[int, ...] = ()
    for stimulus in run.stimuli:
        given = dict(zip(mechanisms, stimulus.mechanism, strict=True))
        states: list[int] = []
        raw = list(stimulus.raw)
        for mechanism in model.mechanism:
            if mechanism.name in given:
                states.append(given[mechanism.name])
                continue
            if prop is None:
                stand = at_power_up(mechanism)[0]
            else:
                look = look_back(model, prop, stood)
                choices = list(choose(model, mechanism, stands[mechanism.name], look.holds))
                stand = choices[-1].stand
            stands[mechanism.name] = stand
            states.append(stand.state)
            for name, value in mechanism.states[stand.state].reads:
                raw[model.input_index[name]] = value
        draws = dict(stimulus.draws)
        prop = power_up(model, raw, draws) if prop is None else step(model, prop, raw, draws)
        stood = tuple(states)
        look = look_back(model, prop, stood)
        for mechanism in model.mechanism:
            if mechanism.name in stands:
                stands[mechanism.name] = settle(mechanism, stands[mechanism.name], look.holds)
        stuck = stimulus.stalled
        if stuck is not None:
            stuck = model.mechanism_index[mechanisms[stuck[0]]], stuck[1]
        stimuli.append(replace(stimulus, raw=tuple(raw), mechanism=stood, stalled=stuck))
    return replace(run, stimuli=tuple(stimuli))
