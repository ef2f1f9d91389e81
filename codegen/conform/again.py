"""Power off and on again, wherever a prop has come to: nothing of before may be left in memory."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import filter_loops

FEW = 3
"""So many loops are looked at once a change has come to count."""


def again(model: Model, runs: Mapping[str, Run], most: int) -> dict[str, Run]:
    """Give such runs by what they do; `most` loops are waited before power-up and after it."""
    found = {
        f"{name}, again": Run((*run.stimuli, *_waited(run.stimuli[-1], most)))
        for name, run in runs.items()
    }
    safe = Stimulus(tuple(item.safe or item.values[0] for item in model.inputs))
    for number, item in enumerate(model.inputs):
        for before in item.values:
            for then in item.values:
                if before != then:
                    words = f"{item.name} {before} before power-up, {then} at it"
                    found |= dict(_of_input(model, number, words, safe, (before, then), most))
    return found


def _waited(last: Stimulus, most: int) -> tuple[Stimulus, ...]:
    still = replace(last, draws=())
    return (*[still] * most, replace(still, beat=Beat.STARTS), *[still] * most)


def _of_input(
    model: Model, number: int, words: str, safe: Stimulus, values: tuple[str, str], most: int
) -> Iterator[tuple[str, Run]]:
    """Have an input change with power-up and back after it, and just before power-up."""
    before, then = (
        replace(safe, raw=(*safe.raw[:number], value, *safe.raw[number + 1 :])) for value in values
    )
    item = model.inputs[number]
    back, there = (filter_loops(model, item, value) for value in values)
    starts = replace(then, beat=Beat.STARTS)
    yield words, Run((*[before] * most, starts, *[before] * (back + FEW)))
    yield (
        f"{words} and just before",
        Run((*[before] * most, *[then] * max(there, 1), starts, *[before] * (back + FEW))),
    )
