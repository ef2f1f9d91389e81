"""One run through the explicit graph, chosen by what people and the mechanism do."""

from collections.abc import Sequence

from behaviour.explore.twin import Graph, Loop, walk
from behaviour.model import Model

Raw = str | tuple[str, ...]


def follow(
    model: Model,
    *raws: Raw,
    at: Sequence[str] | None = None,
    drawn: Sequence[int | None] | None = None,
) -> list[Loop]:
    """Give the loops in which the inputs read so, loop 0 first; each must be the only one.

    `at` names where the one mechanism stands in each loop, `drawn` is the time drawn in it.
    """
    graph = walk(model)
    found: list[Loop] = []
    for number, raw in enumerate(raws):
        ahead = graph.loops[found[-1].target] if found else graph.starts
        wanted = (raw,) if isinstance(raw, str) else raw
        fitting = [
            loop
            for loop in ahead
            if loop.stimulus.raw == wanted
            and (at is None or stands_of(model, loop) == at[number])
            and (drawn is None or _drawn(loop) == drawn[number])
        ]
        assert len(fitting) == 1, f"{len(fitting)} ways on in loop {number}"
        found += fitting
    return found


def states_of(model: Model, loops: Sequence[Loop], region: int = 0) -> list[str]:
    """Name the leaf in which each loop leaves a region."""
    names = model.regions[region].states
    return [names[loop.left.regions[region].leaf].name for loop in loops]


def outputs_of(loops: Sequence[Loop], output: int = 0) -> list[str]:
    return [loop.left.outputs[output] for loop in loops]


def steady_of(loops: Sequence[Loop], item: int = 0) -> list[str]:
    return [loop.left.inputs[item].steady for loop in loops]


def became_in(loops: Sequence[Loop], item: int = 0) -> list[int]:
    """Number the loops in which an input became what it is."""
    return [at for at, loop in enumerate(loops) if loop.left.inputs[item].became]


def counts_of(loops: Sequence[Loop], counter: int = 0) -> list[int]:
    return [loop.left.counters[counter] for loop in loops]


def stands_of(model: Model, loop: Loop, mechanism: int = 0) -> str:
    return model.mechanism[mechanism].states[loop.stimulus.mechanism[mechanism]].name


def arrivals(model: Model, graph: Graph, driven: Raw, *, stalled: bool = False) -> list[set[str]]:
    """Where the one mechanism may stand, loop by loop, while the inputs that are free read so."""
    free = (driven,) if isinstance(driven, str) else driven
    ahead = [loop for loop in graph.starts if loop.stimulus.raw[: len(free)] == free]
    found = []
    for _ in range(9):
        found.append({stands_of(model, loop) for loop in ahead})
        onward = {loop.target for loop in ahead}
        if stalled and len(found) == 1:
            onward = {to for number, to in graph.stalls if number in onward}
        ahead = [
            loop
            for number in onward
            for loop in graph.loops[number]
            if loop.stimulus.raw[: len(free)] == free
        ]
    return found


def _drawn(loop: Loop) -> int | None:
    draws = loop.stimulus.draws
    return draws[0][1] if draws else None
