"""A run of a part of a prop told for the whole prop: what was left out does what it does by itself.

What a search left out cannot change what it found. Its mechanisms stay as long as they may, moved
by what the outputs really have, and force their inputs; its regions follow by the definition, in
the loops that the controller runs.
"""

from dataclasses import replace

from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import Look, PropState, look_back
from behaviour.world.circuit import Circuit
from behaviour.world.mechanism import Stand, at_power_up, choose, settle
from behaviour.world.playing import play, skipped_after


def whole(model: Model, run: Run, mechanisms: tuple[str, ...]) -> Run:
    """Tell a run for the whole model; `mechanisms` names those that the run speaks of, in order."""
    if len(mechanisms) == len(model.mechanism):
        return run
    stimuli: list[Stimulus] = []
    prop: PropState | None = None
    stands: dict[str, Stand] = {}
    circuit, skipped = Circuit(model, run.faults), 0
    look: Look | None = None
    for stimulus in run.stimuli:
        spoken = dict(zip(mechanisms, stimulus.mechanism, strict=True))
        states: list[int] = []
        raw, true = list(stimulus.raw), list(stimulus.true)
        for mechanism in model.mechanism:
            if mechanism.name in spoken:
                states.append(spoken[mechanism.name])
                continue
            if look is None:
                stand = at_power_up(mechanism)[0]
            else:
                choices = list(choose(model, mechanism, stands[mechanism.name], look.holds))
                stand = choices[-1].stand
            stands[mechanism.name] = stand
            states.append(stand.state)
            for name, value in mechanism.states[stand.state].reads:
                raw[model.input_index[name]] = value
                if true:
                    true[model.input_index[name]] = value
        stood, stuck = tuple(states), stimulus.stalled
        if stuck is not None:
            stuck = model.mechanism_index[mechanisms[stuck[0]]], stuck[1]
        given = replace(stimulus, raw=tuple(raw), true=tuple(true), mechanism=stood, stalled=stuck)
        prop = play(model, prop, given, skipped)
        skipped = skipped_after(given, skipped)
        real = circuit.real(given.wrong, prop.outputs)
        look = look_back(model, prop, stood)._replace(outputs=real, outputs_before=real)
        for mechanism in model.mechanism:
            if mechanism.name in stands:
                stands[mechanism.name] = settle(mechanism, stands[mechanism.name], look.holds)
        stimuli.append(given)
    return replace(run, stimuli=tuple(stimuli))
