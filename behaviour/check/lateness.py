"""One way to hold the inputs in which a prop comes to few places, and where regions then are."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from behaviour.check.asking import Asking
from behaviour.check.felt import named
from behaviour.check.leaving import late_leaves, rests
from behaviour.check.standstill import Resting
from behaviour.explore.aiming import Vector, vectors
from behaviour.explore.guards import atoms
from behaviour.explore.late import Held, Spot, late_in, late_together, spot_in
from behaviour.explore.places import asked
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question, Situation
from behaviour.explore.sketch import standing_for
from behaviour.model import InState, Model

LATENESS = "lateness"

MOST_TOGETHER = 40
"""A part of a prop that is late in more situations is not looked at."""


@dataclass(eq=False)
class Lateness:
    """Where the regions of a prop are late; each is asked once, in its own first sketch.

    Counters that are `told` are known there, and of others what somebody may come to ask for. Some
    inputs are `kept` at a value, and how the others are held is chosen.
    """

    asking: Asking
    told: frozenset[str]
    kept: Held = field(default_factory=dict)
    held: Held = field(init=False)
    _known: dict[str, tuple[frozenset[str], tuple[Spot, ...]] | None] = field(
        default_factory=dict, init=False
    )

    def __post_init__(self) -> None:
        self.held = _few_rests(self.asking.model, self.kept)

    def vector(self, model: Model) -> Vector:
        """Give how the inputs are held, with those that only a drawing has at anything."""
        return tuple(self.held.get(item.name, item.values[0]) for item in model.inputs)

    def together(self, lookout: Lookout) -> list[Situation] | None:
        """List the situations of a drawing in which it is late; None where they are too many."""
        names = set(lookout.model.region_index)
        parts: list[tuple[Spot, ...]] = []
        covered: set[str] = set()
        several = 1
        for name in lookout.model.region_index:
            if name in covered:
                continue
            known = self._of(name)
            if known is None or not known[0] <= names - covered:
                return None
            covered |= known[0]
            parts.append(known[1])
            several *= len(known[1])
        for mechanism in lookout.model.mechanism:
            several *= len(mechanism.states)
        if several > MOST_TOGETHER:
            return None
        held = dict(zip(lookout.model.input, self.vector(lookout.model), strict=True))
        return late_together(lookout, parts, held)

    def _of(self, region: str) -> tuple[frozenset[str], tuple[Spot, ...]] | None:
        """Give the regions of the first sketch of a region, and where they are late."""
        if region not in self._known:
            self._known[region] = None
            self._known[region] = self._asked(region)
        return self._known[region]

    def _asked(self, region: str) -> tuple[frozenset[str], tuple[Spot, ...]] | None:
        written = self._written(region, {})
        if written is None and (resting := dict(self._resting(region))):
            written = self._written(region, resting)
        if written is not None:
            return frozenset({region}), written
        drawn = self.asking.sketches(Question(), regions=(region,), at_rest=True, told=self.told)
        rough = next(drawn, None) or self.asking.lookout(Question(), regions=(region,))
        late = late_in(rough, self.held, {})
        if late is None:
            return None
        names = frozenset(rough.model.region_index)
        if len(_leaves(late, region)) > 1 and (settled := self._settled(rough)):
            late = late_in(rough, self.held, settled) or late
        return names, late

    def _written(self, region: str, resting: Resting) -> tuple[Spot, ...] | None:
        """List where a region is late, where the file itself says in which leaves it rests."""
        model = self.asking.model
        leaves = late_leaves(model, model.region[region], self.held, resting)
        if leaves is None:
            return None
        spots = [spot_in(model, model.region[region], leaf, self.told) for leaf in sorted(leaves)]
        found = tuple(spot for spot in spots if spot is not None)
        return found if len(found) == len(spots) else None

    def _resting(self, region: str) -> Iterator[tuple[str, frozenset[int]]]:
        """Give where the regions are late that a region looks at."""
        conditions = [way.when for way in self.asking.model.region[region].transitions()]
        looked_at = {a.region for c in conditions for a in atoms(c) if isinstance(a, InState)}
        for other in sorted(looked_at & self.asking.model.region_index.keys() - {region}):
            if (known := self._of(other)) is not None:
                yield other, frozenset(_leaves(known[1], other))

    def _settled(self, rough: Lookout) -> Mapping[str, str]:
        """Give the inputs of a sketch that stand for regions which are late in one state alone."""
        model = rough.model
        ways = (way.when for region in model.regions for way in region.transitions())
        inputs = asked(model, ways).inputs
        found: dict[str, str] = {}
        for other in self.asking.model.region_index:
            for number in standing_for(model, (other,)) & inputs:
                known = self._of(other)
                if known is not None and len(leaves := _leaves(known[1], other)) == 1:
                    found[model.inputs[number].name] = str(*leaves)
        return found


def _few_rests(model: Model, kept: Held) -> Held:
    """Choose how to hold the inputs: what takes a region out of most states comes first.

    To whatever nobody asks for an input is held at its safe or first value, but those that are
    `kept`.
    """
    every = ({**dict(zip(model.input, at, strict=True)), **kept} for at in vectors(model))
    quiet, *others = every
    asks = [(each, named(way.when for way in each.transitions())) for each in model.regions]

    def gain(held: Held, change: Held) -> int:
        those = [region for region, names in asks if not names.isdisjoint(change)]
        then = {**held, **change}
        return sum(rests(model, each, held) - rests(model, each, then) for each in those)

    changes = [{n: v for n, v in each.items() if v != quiet[n]} for each in others]
    held = quiet
    for change in sorted(changes, key=lambda each: -gain(quiet, each)):
        if gain(held, change) > 0:
            held = {**held, **change}
    return held


NONE: Held = MappingProxyType({})


def lateness_of(asking: Asking, told: frozenset[str], kept: Held = NONE) -> Lateness:
    """Give where a prop is late, and the counters that are `told`, worked out once."""
    name = " ".join((LATENESS, *sorted(told), *(f"{n}={v}" for n, v in sorted(kept.items()))))
    known = asking.known.get(name)
    if not isinstance(known, Lateness):
        known = asking.known[name] = Lateness(asking, told, kept)
    return known


def _leaves(late: tuple[Spot, ...], region: str) -> set[int]:
    return {place.leaf for spot in late for name, place in spot.places if name == region}
