"""The states of a region and the ways between them, as the tables that `transitions` takes."""

from collections.abc import Iterator
from itertools import pairwise

from behaviour.model import Part, Region, State
from codegen.python.spelling import place_name
from codegen.vocabulary import phases


def states_table(region: Region) -> list[str]:
    """Give the lines of the states, those inside another inside it."""
    return [
        f"{line},"
        for state in region.states
        if state.parent is None
        for line in _lines(region, state)
    ]


def _lines(region: Region, state: State) -> list[str]:
    if state.begins is None:
        return [f'"{place_name((), state, fired)}"' for fired in range(phases(state))]
    begins = place_name((), region.states[state.begins], 0)
    inner = [line for child in state.children for line in _lines(region, region.states[child])]
    return [f'{{"name": "{state.name}", "initial": "{begins}", "children": [{", ".join(inner)}]}}']


def ways_table(region: Region) -> list[tuple[str, int]]:
    """Give the lines of the ways, as (from where, to where), each with its line in the file.

    They stand in the order of the file. Cues are ways too, and their end is one from the last.
    """
    found: dict[tuple[str, str], int] = {}
    for way in region.transitions():
        if not isinstance(way.target, int):
            continue
        target = _name(region, way.target, 0)
        sources = ["*"] if way.source is None else list(_names(region, way.source))
        for source in sources[-1:] if way.part is Part.END else sources:
            found.setdefault((source, target), way.span.line)
    for state in region.states:
        names = list(_names(region, state.number))
        for fired, (before, after) in enumerate(pairwise(names)):
            found.setdefault((before, after), state.cues[fired].span.line)
    in_order = sorted(found.items(), key=lambda each: each[1])
    return [(f'("{source}", "{target}"),', line) for (source, target), line in in_order]


def _names(region: Region, number: int) -> Iterator[str]:
    """Name a state, and a leaf also as its cues leave it."""
    state = region.states[number]
    for fired in range(phases(state) if state.begins is None else 1):
        yield _name(region, number, fired)


def _name(region: Region, number: int, fired: int) -> str:
    around = tuple(region.states[outer] for outer in region.path(number)[:-1])
    return place_name(around, region.states[number], fired)
