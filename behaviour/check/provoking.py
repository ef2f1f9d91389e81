"""Healthy runs that put a requirement to the test, told again with something wrong.

It knows what a requirement names and what people may do, and searches nothing but a short walk.
Whatever it lays out is played by the definition and judged by it like any other run.

Strategy: a walk gives runs into the states that a requirement names, or that drive what it names.
Then people go on: they stand still, or move one input that is named or at fault. The fault begins
in the first loop, or where people do something; and what it makes of a line they may have left as
it was.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from behaviour.check.asking import Asking
from behaviour.check.retold import Retold, is_plain, told_as
from behaviour.check.roles.check import asks_of
from behaviour.check.walks import walked
from behaviour.explore.guards import atoms
from behaviour.explore.walking.later import Runs
from behaviour.faults import Chatters, Fault, InputFault, OutputFault, Swapped, touched
from behaviour.findings import Run, Stimulus
from behaviour.model import Input, InState, Model, Region, Rule
from behaviour.semantics import filter_loops, settings
from behaviour.world.circuit import Circuit, is_whole

LONGEST = 3000
"""Runs of more loops are not told again."""

MOST_TOLD = 200
"""So many runs are told for one requirement and one fault."""

MOST_BEGINNINGS = 4
"""So many loops are tried for a fault to begin in, besides the first."""


@dataclass(frozen=True, slots=True)
class _Named:
    """What a requirement names."""

    inputs: frozenset[str]
    outputs: frozenset[str]
    states: frozenset[tuple[str, int]]


def provoked(
    asking: Asking, name: str, rule: Rule | None, fault: Fault, loops: int
) -> Iterator[Retold]:
    """Tell healthy runs again with a fault, in the ways that may break a requirement.

    Afterwards each goes on for so many `loops`.
    """
    if isinstance(fault, InputFault | OutputFault):
        named = _named(asking.model, name, rule)
        circuit = Circuit(asking.model, (fault,))
        every = (
            told for run in _tests(asking, named) for told in _told(circuit, run, named, loops)
        )
        yield from islice(every, MOST_TOLD)


def _named(model: Model, name: str, rule: Rule | None) -> _Named:
    if rule is None:
        asked = list(asks_of(model, name))
        return _Named(
            frozenset(item.name for asks in asked for item in asks.inputs),
            frozenset(asks.output.name for asks in asked if asks.output is not None),
            frozenset(),
        )
    found = [atom for condition in rule.conditions() for atom in atoms(condition)]
    names = {atom.name for atom in found if not isinstance(atom, InState)}
    return _Named(
        frozenset(names & model.input_index.keys()),
        frozenset(names & model.output_index.keys()),
        frozenset((atom.region, atom.state) for atom in found if isinstance(atom, InState)),
    )


def _tests(asking: Asking, named: _Named) -> Iterator[Run]:
    """Give runs of a walk into the states that are named, or that drive what is."""
    model = asking.model
    wanted = [
        ("state", region.name, state.number)
        for region in model.regions
        for state in region.states
        if not state.children and _is_wanted(model, region, state.number, named)
    ]
    known, key = asking.common.known, "walked"
    if key not in known:
        known[key] = walked(asking, model, may_stall=False)
    runs = known[key]
    if not isinstance(runs, Runs):
        return
    for mark in wanted:
        run = runs.get(mark)
        if run is not None and len(run.stimuli) <= LONGEST and is_plain(model, run):
            yield run


def _is_wanted(model: Model, region: Region, leaf: int, named: _Named) -> bool:
    if any(name == region.name and region.contains(at, leaf) for name, at in named.states):
        return True
    cues = range(len(region.states[leaf].cues) + 1)
    return any(
        value != model.output[output].rest
        for cue in cues
        for output, value in settings(region, leaf, cue).items()
        if output in named.outputs
    )


def _told(circuit: Circuit, run: Run, named: _Named, loops: int) -> Iterator[Retold]:
    (fault,) = circuit.faults
    model = circuit.model
    wrong = [model.input[name] for name in touched(fault) if name in model.input]
    moved = dict.fromkeys((*wrong, *(item for item in model.inputs if item.name in named.inputs)))
    may_wait = any(is_whole(lives) for lives in circuit.at_power_up())
    begins = _beginnings(run.stimuli) if may_wait else [0]
    ways = (False, True) if isinstance(fault, Swapped) else (False,)
    for stimuli in _gone_on(model, run.stimuli, moved, loops):
        alone = tuple(_left_alone(model, stimuli, wrong))
        unseen = _unseen(stimuli, len(run.stimuli)) if isinstance(fault, Chatters) else stimuli
        for given in dict.fromkeys((stimuli, alone, unseen)):
            for first in begins:
                for as_told in ways:
                    told = told_as(circuit, given, as_told=as_told, begins=first)
                    if told is not None:
                        yield told


def _gone_on(
    model: Model, stimuli: tuple[Stimulus, ...], items: Iterable[Input], loops: int
) -> Iterator[tuple[Stimulus, ...]]:
    """Let people stand still after a run, or move an input first, or move it there and back."""
    last = stimuli[-1]
    yield stimuli + (last,) * loops
    for item in items:
        at = model.input_index[item.name]
        for value in item.values:
            if value != last.raw[at]:
                moved = replace(last, raw=(*last.raw[:at], value, *last.raw[at + 1 :]))
                seen = (moved,) * (filter_loops(model, item, value) + 2)
                yield stimuli + (moved,) * loops
                yield stimuli + seen + (last,) * loops


def _left_alone(
    model: Model, stimuli: Sequence[Stimulus], items: Iterable[Input]
) -> Iterator[Stimulus]:
    """Let people leave some inputs as they were at first, whatever is read of them."""
    numbers = {model.input_index[item.name] for item in items}
    first = stimuli[0].raw
    for each in stimuli:
        true = tuple(first[n] if n in numbers else value for n, value in enumerate(each.raw))
        yield each if true == each.raw else replace(each, true=true)


def _unseen(stimuli: tuple[Stimulus, ...], begins: int) -> tuple[Stimulus, ...]:
    """Let nothing be told of what people do from a loop on, as far as that can be."""
    raw = stimuli[begins - 1].raw
    return stimuli[:begins] + tuple(
        replace(each, raw=raw, true=each.raw) for each in stimuli[begins:]
    )


def _beginnings(stimuli: Sequence[Stimulus]) -> list[int]:
    """List loops for a fault to begin in: the first, the last, and where people do something."""
    moved = [n for n in range(1, len(stimuli)) if stimuli[n].raw != stimuli[n - 1].raw]
    later = [*moved, len(stimuli) - 1]
    return list(dict.fromkeys([0, *later[-MOST_BEGINNINGS:]]))
