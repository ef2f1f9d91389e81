"""The run of an edge once more with one input that reads otherwise.

A run that takes an edge shows what the firmware does where all that the edge asks for is so. Here
each input that the region looks at from there, in turn and with each of its other values, is not
as it was. Either it is so from where the region came to the place of the edge on, and all is waited
out; or the other value comes to count in the very loop in which the edge is due, and something
else may be due as well.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from behaviour.explore.guards import atoms
from behaviour.findings import Run, Stimulus
from behaviour.model import Becomes, HeldFor, Is, Model, Region, Transition
from behaviour.semantics import candidates, filter_loops
from codegen.conform.edges import Edge
from codegen.conform.timeline import timeline_of

FEW = 3
"""So many loops are looked at after the loop in which an edge is due."""


def otherwise(model: Model, runs: Iterable[tuple[str, Edge, Run]], most: int) -> dict[str, Run]:
    """Give such runs by what they do, of runs with their names and the edges that they take.

    Each loop is punctual, and `most` loops are waited out.
    """
    found: dict[tuple[Stimulus, ...], tuple[str, Run]] = {}
    for name, edge, run in runs:
        came = _arrival(model, edge, run)
        for words, stimuli in _otherwise(model, edge, run.stimuli, came, most):
            other = replace(run, stimuli=stimuli, breach=None)
            found.setdefault(stimuli, (f"{name}, {words}", other))
    return dict(found.values())


def _otherwise(
    model: Model, edge: Edge, stimuli: tuple[Stimulus, ...], came: int, most: int
) -> Iterator[tuple[str, tuple[Stimulus, ...]]]:
    due = len(stimuli) - 1
    for name in inputs_looked_at(model.region[edge.region], edge.leaf, edge.cue):
        number, item = model.input_index[name], model.input[name]
        for value in item.values:
            counts = max(due - filter_loops(model, item, value), 1)
            words = f"{item.name} {value}"
            if any(each.raw[number] != value for each in stimuli[came + 1 :]):
                yield f"{words} from before", _with(stimuli, number, value, came + 1, most)
            if stimuli[-1].raw[number] != value:
                yield f"{words} at once", _with(stimuli, number, value, counts, FEW)


def _arrival(model: Model, edge: Edge, run: Run) -> int:
    """Find the loop in which the region came to the place that it leaves in the last loop."""
    at, loop, came = model.region_index[edge.region], 0, 0
    for call in timeline_of(model, "", run).calls[:-1]:
        loop += call.loops
        came = came if call.leaves.regions[at].fired is None else loop
    return came


def inputs_looked_at(region: Region, leaf: int, cue: int) -> tuple[str, ...]:
    """List the inputs that a region looks at from a place."""
    ways = candidates(region, leaf, cue)
    parts = [part for way in ways if isinstance(way, Transition) for part in atoms(way.when)]
    names = (part.name for part in parts if isinstance(part, Is | Becomes | HeldFor))
    return tuple(dict.fromkeys(names))


def _with(
    stimuli: tuple[Stimulus, ...], number: int, value: str, first: int, more: int
) -> tuple[Stimulus, ...]:
    """Have an input read a value from the loop `first` on, and go on for `more` loops."""
    last = replace(stimuli[-1], draws=())
    return stimuli[:first] + tuple(
        replace(each, raw=(*each.raw[:number], value, *each.raw[number + 1 :]))
        for each in (*stimuli[first:], *[last] * more)
    )
