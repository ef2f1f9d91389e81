"""A prop and its explicit graph, cut up in the ways that the checks ask for. It knows no check."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import networkx as nx

from behaviour.explore.twin import Graph, Loop, Stalled
from behaviour.model import (
    Input,
    Model,
    Output,
    Region,
    Role,
    Transition,
)
from behaviour.semantics import PropState, RegionState

Vector = tuple[str, ...]


@dataclass(frozen=True)
class Case:
    """A prop and its graph, cut up in the ways that the checks ask for."""

    model: Model
    graph: Graph

    @cached_property
    def worlds(self) -> Mapping[Stalled | None, list[int]]:
        """The states of the healthy world, and of each with one movement stalled."""
        found: dict[Stalled | None, list[int]] = defaultdict(list)
        for number, state in enumerate(self.graph.states):
            found[state.stalled].append(number)
        return found

    @cached_property
    def healthy(self) -> tuple[Loop, ...]:
        """Every loop of the healthy world, loops 0 first."""
        onward = (loop for n in range(self.graph.healthy) for loop in self.graph.loops[n])
        return (*self.graph.starts, *onward)

    @cached_property
    def everywhere(self) -> tuple[Loop, ...]:
        return (*self.graph.starts, *(loop for loops in self.graph.loops for loop in loops))

    @cached_property
    def lefts(self) -> tuple[PropState, ...]:
        """What the loops leave, each object that `step` gave once."""
        return once(self.everywhere)

    @cached_property
    def entered(self) -> frozenset[tuple[str, str]]:
        """The states, with those around them, in which some loop leaves their region."""
        return self._entered(self.lefts)

    @cached_property
    def entered_in_health(self) -> frozenset[tuple[str, str]]:
        """Those in which some loop of the healthy world does."""
        return self._entered(once(self.healthy))

    @cached_property
    def all_states(self) -> frozenset[tuple[str, str]]:
        return frozenset(
            (region.name, state.name) for region in self.model.regions for state in region.states
        )

    @cached_property
    def all_stands(self) -> frozenset[tuple[str, str]]:
        return frozenset(
            (each.name, state.name) for each in self.model.mechanism for state in each.states
        )

    @cached_property
    def stood(self) -> frozenset[tuple[str, str]]:
        """The states of mechanism regions in which a run stands, or which it passes."""
        found = set()
        for loop in self.moves:
            for each, at, ended in zip(
                self.model.mechanism, loop.stimulus.mechanism, loop.ended, strict=True
            ):
                numbers = {at, *(movement.target for movement in ended)}
                found |= {(each.name, each.states[number].name) for number in numbers}
        return frozenset(found)

    @cached_property
    def moves(self) -> tuple[Loop, ...]:
        """One loop for each different thing that the mechanisms do."""
        every = {(loop.stimulus.mechanism, id(loop.ended)): loop for loop in self.everywhere}
        return tuple(every.values())

    @cached_property
    def forced(self) -> frozenset[str]:
        """The inputs that a mechanism region forces in some state."""
        return frozenset(
            name
            for each in self.model.mechanism
            for state in each.states
            for name, _ in state.reads
        )

    @cached_property
    def hazards(self) -> tuple[tuple[int, Output], ...]:
        return tuple((at, output) for at, output in enumerate(self.model.outputs) if output.hazard)

    @cached_property
    def regions(self) -> tuple[tuple[int, Region], ...]:
        return tuple(enumerate(self.model.regions))

    def _entered(self, lefts: Iterable[PropState]) -> frozenset[tuple[str, str]]:
        leaves = {(at, left.regions[at].leaf) for left in lefts for at, _ in self.regions}
        return frozenset(
            (region.name, region.states[number].name)
            for at, region in self.regions
            for leaf_of, leaf in leaves
            if leaf_of == at
            for number in region.path(leaf)
        )

    def leaf(self, state: int, region: int) -> int:
        return self.graph.states[state].prop.regions[region].leaf

    def in_lockout(self, state: int) -> bool:
        return state in self._locked

    @cached_property
    def _locked(self) -> frozenset[int]:
        return frozenset(
            number
            for number, state in enumerate(self.graph.states)
            if any(is_locked(region, state.prop.regions[at].leaf) for at, region in self.regions)
        )

    @cached_property
    def before(self) -> tuple[frozenset[int], ...]:
        """For each state, those from which a loop leads to it."""
        found: list[set[int]] = [set() for _ in self.graph.states]
        for number, loops in enumerate(self.graph.loops):
            for loop in loops:
                found[loop.target].add(number)
        return tuple(map(frozenset, found))

    def still(self, loop: Loop) -> Iterator[Vector]:
        """The values at which people may be holding every input, so that this loop can happen.

        A `hold_to_run` input is let go. An input that is forced in this loop may be at any.
        """
        forced = self.forced_in(loop)
        for vector in product(*self.held_values):
            if all(
                held == raw or item.name in forced
                for item, held, raw in zip(
                    self.model.inputs, vector, loop.stimulus.raw, strict=True
                )
            ):
                yield vector

    @cached_property
    def held_values(self) -> tuple[Vector, ...]:
        return tuple(
            item.values[:1] if item.role is Role.HOLD_TO_RUN else self.people_hold(item)
            for item in self.model.inputs
        )

    def people_hold(self, item: Input) -> Vector:
        """The values at which people can hold an input; any will do where it is always forced."""
        always = any(
            all(item.name in dict(state.reads) for state in each.states)
            for each in self.model.mechanism
        )
        return item.values[:1] if always else item.values

    def forced_in(self, loop: Loop) -> frozenset[str]:
        return frozenset(
            name
            for each, at in zip(self.model.mechanism, loop.stimulus.mechanism, strict=True)
            for name, _ in each.states[at].reads
        )

    @cached_property
    def standing_still(self) -> Mapping[tuple[Stalled | None, Vector], tuple[Loop, ...]]:
        """The loops of each world that can happen while everybody holds still at some values."""
        found: dict[tuple[Stalled | None, Vector], list[Loop]] = defaultdict(list)
        vectors: dict[object, tuple[Vector, ...]] = {}
        for loops in self.graph.loops:
            for loop in loops:
                key = (loop.stimulus.raw, loop.stimulus.mechanism)
                if key not in vectors:
                    vectors[key] = tuple(self.still(loop))
                for vector in vectors[key]:
                    found[self.graph.states[loop.target].stalled, vector].append(loop)
        return {key: tuple(loops) for key, loops in found.items()}


def is_locked(region: Region, leaf: int) -> bool:
    return any(region.states[number].lockout for number in region.path(leaf))


def taken(now: RegionState) -> Transition | None:
    """The transition that a region took in a loop, if it did; a cue is none."""
    return None if now.fired is None else now.fired.transition


def moves_on(now: RegionState) -> bool:
    """Tell whether a region left or entered anew a state in a loop."""
    way = taken(now)
    return way is not None and way.target is not None


def entered_in(case: Case, loop: Loop, at: int, region: Region) -> tuple[int, ...]:
    """The states of a region that a loop enters: its target, what is in it, and what is new."""
    now = loop.left.regions[at]
    path = region.path(now.leaf)
    if loop.source is None:
        return path
    way = taken(now)
    if way is None or way.target is None:
        return ()
    before = region.path(case.graph.states[loop.source].prop.regions[at].leaf)
    target = path.index(target_of(way))
    return tuple(state for n, state in enumerate(path) if n >= target or state not in before)


def target_of(way: Transition) -> int:
    assert isinstance(way.target, int)
    return way.target


def once(loops: Iterable[Loop]) -> tuple[PropState, ...]:
    """What some loops leave, each object that `step` gave once."""
    return tuple({id(loop.left): loop.left for loop in loops}.values())


def never(_: object) -> bool:
    return False


def backwards(
    case: Case, states: Iterable[int], goal: Callable[[Loop], bool], home: Callable[[int], bool]
) -> set[int]:
    """The states of one world that are home, or from which a run comes home or has a goal loop."""
    good = [n for n in states if home(n) or any(goal(loop) for loop in case.graph.loops[n])]
    found = set(good)
    while good:
        onward = case.before[good.pop()] - found
        found |= onward
        good += onward
    return found


def circles(loops: Iterable[Loop]) -> list[tuple[Loop, ...]]:
    """The loops that lie on circles, grouped by strongly connected part."""
    loops = on_the_way_round(loops)
    graph = nx.DiGraph((loop.source, loop.target) for loop in loops)
    part = {
        number: index
        for index, numbers in enumerate(nx.strongly_connected_components(graph))
        for number in numbers
    }
    found: dict[int, list[Loop]] = defaultdict(list)
    for loop in loops:
        if loop.source is not None and part[loop.source] == part[loop.target]:
            found[part[loop.target]].append(loop)
    return [tuple(group) for group in found.values()]


def on_the_way_round(loops: Iterable[Loop]) -> list[Loop]:
    """Leave out, again and again, loops after which nothing follows: empty without a circle."""
    left = list(loops)
    before: dict[int, list[int]] = defaultdict(list)
    after: dict[int, int] = defaultdict(int)
    for loop in left:
        if loop.source is not None:
            before[loop.target].append(loop.source)
            after[loop.source] += 1
    ends = [number for number in before if not after[number]]
    gone = set(ends)
    while ends:
        for number in before[ends.pop()]:
            after[number] -= 1
            if not after[number]:
                gone.add(number)
                ends.append(number)
    return [loop for loop in left if loop.target not in gone]
