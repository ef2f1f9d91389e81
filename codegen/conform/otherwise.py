"""The run of an edge once more with one input that reads otherwise.

A run that takes an edge shows what the firmware does where all that the edge asks for is so. Here
each input that the region looks at from there, in turn and with each of its other values, is not
as it was. Either it is so from where the region came to the place of the edge on, and all is waited
out; or the other value comes to count in the very loop in which the edge is due, and something
else may be due as well. Where a change is asked for, each value is come to anew in that loop.

And in each place each input, whether it is looked at there or not, goes to another value and back.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from behaviour.explore.guards import atoms
from behaviour.findings import Run, Stimulus
from behaviour.model import Becomes, HeldFor, Is, Model, Region, Transition
from behaviour.semantics import candidates, filter_loops
from codegen.conform.edges import Edge, place_name
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


def arrivals(model: Model, runs: Sequence[tuple[str, Edge, Run]]) -> dict[str, Run]:
    """Give the runs up to where a region comes to the place that it leaves in the end, each once.

    The last to come to a place has its name: interlocks stand first, and are often taken at once.
    """
    found: dict[tuple[Stimulus, ...], str] = {}
    for name, edge, run in reversed(runs):
        place = place_name(model.region[edge.region], edge.leaf, edge.cue)
        came = run.stimuli[: _arrival(model, edge, run) + 1]
        found.setdefault(came, f"{place}, to {name}" if place in found.values() else place)
    return {name: Run(stimuli) for stimuli, name in found.items()}


def together(model: Model, runs: Mapping[str, Run]) -> dict[str, Run]:
    """Give for all places that regions are in together, somewhere in some runs, the run up to there
    that is the shortest.
    """
    found: dict[tuple[tuple[int, int], ...], tuple[str, Run]] = {}
    for name, run in runs.items():
        loop = 0
        for call in timeline_of(model, name, run).calls:
            loop += call.loops
            places = tuple((region.leaf, region.cue) for region in call.leaves.regions)
            short = Run(run.stimuli[: loop + 1])
            if places not in found or len(short.stimuli) < len(found[places][1].stimuli):
                found[places] = f"{name}, loop {loop}", short
    return dict(found.values())


def there_and_back(model: Model, runs: Mapping[str, Run], most: int) -> dict[str, Run]:
    """Give the runs in which an input does so from where a run ends; `most` more are waited out."""
    found: dict[str, Run] = {}
    for where, run in runs.items():
        last = replace(run.stimuli[-1], draws=())
        for number, item in enumerate(model.inputs):
            for value in item.values:
                if value != last.raw[number]:
                    there = _reading(last, number, value)
                    lasting = filter_loops(model, item, value) + 2
                    stimuli = (*run.stimuli, *[there] * lasting, *[last] * most)
                    found[f"{where}, {item.name} {value} and back"] = replace(run, stimuli=stimuli)
    return found


def _otherwise(
    model: Model, edge: Edge, stimuli: tuple[Stimulus, ...], came: int, most: int
) -> Iterator[tuple[str, tuple[Stimulus, ...]]]:
    due = len(stimuli) - 1
    for part in _looked_at(model.region[edge.region], edge):
        number, item = model.input_index[part.name], model.input[part.name]
        for value in item.values:
            counts = max(due - filter_loops(model, item, value), 1)
            words = f"{item.name} {value}"
            if any(each.raw[number] != value for each in stimuli[came + 1 :]):
                yield f"{words} from before", _with(stimuli, number, value, came + 1, most)
            if stimuli[-1].raw[number] != value:
                yield f"{words} at once", _with(stimuli, number, value, counts, FEW)
            if isinstance(part, Becomes):
                other = next(each for each in item.values if each != value)
                let_go = max(counts - filter_loops(model, item, other) - 1, 1)
                before = _with(stimuli, number, other, let_go, 0)
                yield f"{words} anew", _with(before, number, value, counts, FEW)


def _arrival(model: Model, edge: Edge, run: Run) -> int:
    """Find the loop in which the region came to the place that it leaves in the last loop."""
    at, loop, came = model.region_index[edge.region], 0, 0
    for call in timeline_of(model, "", run).calls[:-1]:
        loop += call.loops
        came = came if call.leaves.regions[at].fired is None else loop
    return came


def _looked_at(region: Region, edge: Edge) -> list[Is | Becomes | HeldFor]:
    """List what a region asks of inputs from the place of an edge, of each input once.

    Where it asks for a change of an input, that stands for the input.
    """
    ways = candidates(region, edge.leaf, edge.cue)
    parts = [part for way in ways if isinstance(way, Transition) for part in atoms(way.when)]
    asked = [part for part in parts if isinstance(part, Is | Becomes | HeldFor)]
    asked.sort(key=lambda part: isinstance(part, Becomes))
    return list({part.name: part for part in asked}.values())


def _with(
    stimuli: tuple[Stimulus, ...], number: int, value: str, first: int, more: int
) -> tuple[Stimulus, ...]:
    """Have an input read a value from the loop `first` on, and go on for `more` loops."""
    last = replace(stimuli[-1], draws=())
    changed = (*stimuli[first:], *[last] * more)
    return stimuli[:first] + tuple(_reading(each, number, value) for each in changed)


def _reading(stimulus: Stimulus, number: int, value: str) -> Stimulus:
    return replace(stimulus, raw=(*stimulus.raw[:number], value, *stimulus.raw[number + 1 :]))
