"""Every edge of a place from which a region looks at counters, at each count that can be there.

The run that takes an edge at its earliest shows it at one count. What a condition asks of a count,
and which of two transitions comes first there, shows at others.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from behaviour.explore.cone import cone
from behaviour.explore.reach import Lookout, cover
from behaviour.explore.search import Budget, LimitError
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.findings import Run
from behaviour.model import Model, Region, Transition
from behaviour.semantics import candidates
from codegen.conform.aiming import counters_in
from codegen.conform.edges import Edge, edge_name, edge_taken


@dataclass(frozen=True, slots=True, order=True)
class Counted:
    """An edge that is taken while the counters that are looked at there stand so."""

    edge: Edge
    counts: tuple[tuple[str, int], ...]


def explore_counts(model: Model, seconds: float) -> dict[Counted, Run]:
    """Find a run to each edge at each count, as far as some seconds go."""
    free = replace(model, mechanism=())
    budget, found = Budget(seconds=seconds), dict[Counted, Run]()
    for region in model.regions:
        if any(counters_in(way.when) for way in region.transitions()):
            part = cone(free, (), (region.name,)).model
            question = Question(observers=(_AtCounts(region.name),))
            try:
                runs = cover(Lookout(part, question, budget.share())).runs
            except LimitError:
                continue
            found |= {mark: run for mark, run in runs.items() if isinstance(mark, Counted)}
    return dict(sorted(found.items()))


def counted_name(model: Model, counted: Counted) -> str:
    """Say it in the words of a file."""
    counts = ", ".join(f"{name} {count}" for name, count in counted.counts)
    return f"{edge_name(model, counted.edge)}, {counts}"


@dataclass(frozen=True, slots=True)
class _AtCounts:
    """Marks the edge that a region takes in a loop, with what it sees counted."""

    region: str

    def __call__(self, moment: Moment, _: Situation) -> Iterable[Mark]:
        model, edge = moment.told.model, edge_taken(moment, self.region)
        if edge is None or moment.before is None:
            return
        names = _looked_at(model.region[self.region], edge)
        if names:
            counters = moment.before.counters
            counts = tuple((name, counters[model.counter_index[name]]) for name in names)
            yield Mark(Counted(edge, counts))


def _looked_at(region: Region, edge: Edge) -> list[str]:
    """List the counters that a region looks at from the place of an edge."""
    ways = candidates(region, edge.leaf, edge.cue)
    seen = (counters_in(way.when) for way in ways if isinstance(way, Transition))
    return sorted(frozenset().union(*seen))
