"""Every edge of a place from which a region looks at counters, at each count that can be there.

The run that takes an edge at its earliest shows it at one count. What a condition asks of a count,
and which of two transitions comes first there, shows at others.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.meeting import Wanted, cover
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.findings import Run
from behaviour.model import Becomes, Condition, Model, Region, Transition
from behaviour.semantics import candidates
from codegen.conform.aiming import counters_in
from codegen.conform.edges import Edge, edge_name, edge_taken


@dataclass(frozen=True, slots=True, order=True)
class Counted:
    """An edge that is taken while the counters that are looked at there stand so.

    `steady` is how inputs counted before, whose changes are looked at there.
    """

    edge: Edge
    counts: tuple[tuple[str, int], ...]
    steady: tuple[tuple[str, str], ...] = ()


def explore_counts(model: Model, seconds: float) -> dict[Counted, Run]:
    """Find a run to each edge at each count, as far as some seconds for each region go."""
    free = replace(model, mechanism=())
    found: dict[Counted, Run] = {}
    for region in model.regions:
        if any(counters_in(way.when) for way in region.transitions()):
            part = cone(free, (), (region.name,)).model
            question = Question(observers=(_AtCounts(region.name),))
            changing = _changing(way.when for way in region.transitions())
            follow = frozenset(part.input_index[name] for name in changing)
            try:
                runs = cover(
                    Lookout(part, question, Budget(seconds=seconds), follow), Wanted()
                ).runs
            except LimitError:
                continue
            found |= {mark: run for mark, run in runs.items() if isinstance(mark, Counted)}
    return dict(sorted(found.items()))


def counted_name(model: Model, counted: Counted) -> str:
    """Say it in the words of a file."""
    counts = ", ".join(f"{name} {count}" for name, count in (*counted.counts, *counted.steady))
    return f"{edge_name(model, counted.edge)}, {counts}"


@dataclass(frozen=True, slots=True)
class _AtCounts:
    """Marks the edge that a region takes in a loop, with what it sees counted."""

    region: str

    def __call__(self, moment: Moment, _: Situation) -> Iterable[Mark]:
        model, edge = moment.model, edge_taken(moment, self.region)
        if edge is None or moment.before is None:
            return
        asked = _asked(model.region[self.region], edge)
        names = sorted(frozenset().union(*map(counters_in, asked)))
        if names:
            counters, readings = moment.before.counters, moment.before.readings
            counts = tuple((name, counters[model.counter_index[name]]) for name in names)
            found = ((name, readings[model.input_index[name]]) for name in _changing(asked))
            steady = tuple((name, at.steady) for name, at in found if at is not None)
            yield Mark(Counted(edge, counts, steady))


def _changing(asked: Iterable[Condition | None]) -> list[str]:
    """List the inputs of which a change is asked for."""
    parts = (part for when in asked for part in atoms(when))
    return sorted({part.name for part in parts if isinstance(part, Becomes)})


def _asked(region: Region, edge: Edge) -> list[Condition | None]:
    """List what a region asks from the place of an edge."""
    ways = candidates(region, edge.leaf, edge.cue)
    return [way.when for way in ways if isinstance(way, Transition)]
