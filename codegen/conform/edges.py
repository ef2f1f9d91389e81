"""Every edge of what can be explored, with a run that takes it as early as can be.

An edge is what a region does from one place: a transition or the next cue, from a leaf as its cues
have left it. The firmware knows no mechanism, so people move every input here: what cannot come
about so, cannot at all.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.cone import cone
from behaviour.explore.meeting import Wanted, cover, cover_by
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.explore.sketch import sketches
from behaviour.findings import Run
from behaviour.model import Model, Region, Transition
from behaviour.semantics import NextCue, candidates, is_open
from behaviour.wording import cue_name, full_name
from codegen.vocabulary import phases

CUE = -1
"""For the number of a transition, where a leaf fires its next cue."""


@dataclass(frozen=True, slots=True, order=True)
class Edge:
    """What a region does from a leaf that has fired `cue` cues: a transition by number, or CUE."""

    region: str
    leaf: int
    cue: int
    way: int


@dataclass(slots=True)
class Explored:
    """A run for each edge that can be; an edge in neither `runs` nor `open` can never be."""

    runs: dict[Edge, Run] = field(default_factory=dict)
    open: set[Edge] = field(default_factory=set)


def edges_of(model: Model) -> tuple[Edge, ...]:
    """List what each region would look at from each of its places."""
    found: list[Edge] = []
    for region in model.regions:
        for state in region.states:
            if state.begins is None:
                for cue in range(phases(state)):
                    found += _from(region, state.number, cue)
    return tuple(dict.fromkeys(found))


def explore_edges(model: Model, seconds: float) -> Explored:
    """Find a run to each edge, the earliest one, within about so many seconds."""
    free = replace(model, mechanism=())
    budget = Budget(seconds=seconds)
    explored = Explored()
    edges = edges_of(model)
    for region in model.regions:
        mine = {edge for edge in edges if edge.region == region.name}
        try:
            runs, still_open = _of_region(free, region.name, budget)
        except LimitError:
            explored.open |= mine
            continue
        explored.runs |= runs
        explored.open |= still_open & mine - runs.keys()
    explored.runs = {edge: explored.runs[edge] for edge in edges if edge in explored.runs}
    return explored


def edge_name(model: Model, edge: Edge) -> str:
    """Say an edge in the words of a file: `carousel.turn -> shot, line 41`."""
    region = model.region[edge.region]
    here = place_name(region, edge.leaf, edge.cue)
    if edge.way == CUE:
        return f"{here}, its cue {edge.cue + 1}"
    way = region.transition(edge.way)
    return f"{here} -> {target_name(region, way)} ({way.part.value}{line_of(way)})"


def place_name(region: Region, leaf: int, cue: int) -> str:
    """Name where a region is: `carousel.shot@100ms`."""
    outer = full_name(region, leaf).removesuffix(region.states[leaf].name)
    return f"{region.name}.{outer}{cue_name(region.states[leaf], cue)}"


def way_name(model: Model, region_name: str, way: Transition) -> str:
    """Say a transition, wherever it is taken from."""
    region = model.region[region_name]
    here = region_name if way.source is None else f"{region_name}.{region.states[way.source].name}"
    return f"{here} -> {target_name(region, way)} ({way.part.value}{line_of(way)})"


def target_name(region: Region, way: Transition) -> str:
    """Name where a transition goes."""
    return region.states[way.target].name if isinstance(way.target, int) else "stay"


def line_of(way: Transition) -> str:
    """Give the line of a transition as the end of a list; nothing where it has none."""
    return f", line {way.span.line}" if way.span.line else ""


def edge_taken(moment: Moment, region: str) -> Edge | None:
    """Give the edge that a region takes in a loop of the search."""
    at = moment.model.region_index[region]
    way = moment.ways[at]
    if way is None or moment.before is None:
        return None
    place = moment.before.places[at]
    number = CUE if way.transition is None else way.transition.number
    return Edge(region, place.leaf, place.cue, number)


@dataclass(frozen=True, slots=True)
class _Taken:
    """Marks the edge that a region takes in a loop."""

    region: str

    def __call__(self, moment: Moment, _: Situation) -> Iterable[Mark]:
        edge = edge_taken(moment, self.region)
        if edge is not None:
            yield Mark(edge)


def _of_region(
    model: Model, region: str, budget: Budget
) -> tuple[dict[Edge, Run], frozenset[Edge]]:
    part = cone(model, (), (region,)).model
    question = Question(observers=(_Taken(region),))
    lookout = Lookout(part, question, budget.share())
    drawn = [
        Lookout(cone(rough, (), (region,)).model, question, budget.share())
        for rough in sketches(part, (region,))
    ]
    covered = cover_by(drawn, lookout, Wanted()) if drawn else cover(lookout, Wanted())
    runs = {mark: run for mark, run in covered.runs.items() if isinstance(mark, Edge)}
    return runs, frozenset(mark for mark in covered.open if isinstance(mark, Edge))


def _from(region: Region, leaf: int, cue: int) -> Iterator[Edge]:
    for way in candidates(region, leaf, cue):
        if isinstance(way, NextCue):
            yield Edge(region.name, leaf, cue, CUE)
        elif is_open(region, leaf, way):
            yield Edge(region.name, leaf, cue, way.number)
