"""How far a prop is from something wanted, at a guess: the transitions that it still has to take.

It knows the model's states, counters and conditions, and neither time nor inputs: those can be
had. A guess only steers; it may be too low, and FAR where there is no way at all.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from behaviour.explore.walking.goals import Goal
from behaviour.model import (
    And,
    Compare,
    Comparison,
    Condition,
    InState,
    Is,
    Mechanism,
    Model,
    Not,
    Or,
    Region,
    Transition,
)
from behaviour.semantics import NextCue, acted, candidates, compare, is_open, settings

FAR = 1_000_000
"""More steps than any way takes: there is none."""

COUNTED = 10
"""So many steps is each change of a counter worth, for it may take a round of states. Where the
next state lies counts only once the counters are right."""

MOST_VALUES = 1000
"""So many values of a counter are looked at."""

OPPOSITE: dict[Comparison, Comparison] = {
    "=": "!=",
    "!=": "=",
    "<": ">=",
    ">=": "<",
    "<=": ">",
    ">": "<=",
}


class Whereabouts(NamedTuple):
    """The leaf of each region, the counters, and where each mechanism stands."""

    leaves: tuple[int, ...]
    counters: tuple[int, ...]
    stands: tuple[int, ...]


def open_ways(region: Region, leaf: int, cue: int) -> tuple[Transition, ...]:
    """List the transitions with a known target that a region may take from a leaf."""
    return tuple(
        way
        for way in candidates(region, leaf, cue)
        if not isinstance(way, NextCue)
        and (way.target is None or isinstance(way.target, int))
        and is_open(region, leaf, way)
    )


class Nearness:
    """Guesses distances in one model; what was worked out once is kept."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self._steps: dict[tuple[str, int], dict[int, int]] = {}
        self._counts: dict[Compare, dict[int, int]] = {}
        self._far: dict[object, tuple[int, Condition | None]] = {}
        """Distances by a condition's identity, and the condition, so that it stays its own."""
        self._giving: dict[
            tuple[str, tuple[str, ...], bool], tuple[str, frozenset[int]] | None
        ] = {}
        self._changes = {
            counter.name: tuple(
                (number, way.source, action)
                for number, region in enumerate(model.regions)
                for way in region.transitions()
                for action in way.does
                if action.counter == counter.name
            )
            for counter in model.counters
        }

    def after(self, at: Whereabouts, number: int, way: Transition) -> Whereabouts:
        """Give where everything is once a region has taken a transition."""
        leaves, counters = list(at.leaves), list(at.counters)
        if isinstance(way.target, int):
            leaves[number] = self.model.regions[number].leaf(way.target)
        for action in way.does:
            which = self.model.counter_index[action.counter]
            counter = self.model.counters[which]
            counters[which] = min(max(acted(action, counters[which]), counter.low), counter.high)
        return Whereabouts(tuple(leaves), tuple(counters), at.stands)

    def far(self, goal: Goal, at: Whereabouts) -> int:
        """Count the steps to a goal, 0 where only inputs and time are missing."""
        key = (goal.part, goal.state, goal.past, id(goal.when), at)
        known = self._far.get(key)
        if known is None:
            known = self._far[key] = (self._count(goal, at), goal.when)
        return known[0]

    def _count(self, goal: Goal, at: Whereabouts) -> int:
        found = self.of_condition(at, goal.when)
        if goal.past is not None:
            found += self._counter(at, goal.past)
        if goal.state is not None:
            steps = self._to(at, goal.part, goal.state)
            found += 0 if COUNTED <= found < FAR and steps < FAR else steps
        return min(found, FAR)

    def _to(self, at: Whereabouts, part: str, state: int) -> int:
        if part in self.model.region_index:
            number = self.model.region_index[part]
            start = at.leaves[number]
        else:
            start = at.stands[self.model.mechanism_index[part]]
        steps = self._steps.get((part, start))
        if steps is None:
            steps = self._steps[part, start] = self._spread(part, start)
        return steps.get(state, FAR)

    def _spread(self, part: str, start: int) -> dict[int, int]:
        if part in self.model.region_index:
            return _region_steps(self.model.region[part], start)
        return _mechanism_steps(self.model.mechanisms[part], start)

    # --- Conditions -----------------------------------------------------------------------------

    def of_condition(self, at: Whereabouts, condition: Condition | None) -> int:
        """Count the steps to where a condition holds, inputs apart."""
        match condition:
            case And(parts=parts):
                return sum(self.of_condition(at, part) for part in parts)
            case Or(parts=parts):
                return min(self.of_condition(at, part) for part in parts)
            case Not(part=part):
                return self._opposite(at, part)
            case InState(region=region, state=state, negated=negated):
                return self._state(at, region, state, wanted=not negated)
            case Compare():
                return self._counter(at, condition)
            case Is(name=name, values=values, negated=negated) if name in self.model.output_index:
                return self._output(at, name, values, wanted=not negated)
            case _:
                return 0

    def _opposite(self, at: Whereabouts, condition: Condition) -> int:
        match condition:
            case And(parts=parts):
                return min(self._opposite(at, part) for part in parts)
            case Or(parts=parts):
                return sum(self._opposite(at, part) for part in parts)
            case Not(part=part):
                return self.of_condition(at, part)
            case InState(region=region, state=state, negated=negated):
                return self._state(at, region, state, wanted=negated)
            case Compare(name=name, sign=sign, number=number):
                return self._counter(at, Compare(name, OPPOSITE[sign], number))
            case Is(name=name, values=values, negated=negated) if name in self.model.output_index:
                return self._output(at, name, values, wanted=negated)
            case _:
                return 0

    def _state(self, at: Whereabouts, part: str, state: int, *, wanted: bool) -> int:
        steps = self._to(at, part, state)
        if wanted:
            return steps
        return 0 if steps else 1

    def _output(self, at: Whereabouts, name: str, values: tuple[str, ...], *, wanted: bool) -> int:
        key = (name, values, wanted)
        if key not in self._giving:
            self._giving[key] = self._leaves_giving(name, values, wanted=wanted)
        giving = self._giving[key]
        if giving is None:
            return 0
        region, leaves = giving
        return min((self._to(at, region, leaf) for leaf in leaves), default=FAR)

    def _leaves_giving(
        self, name: str, values: tuple[str, ...], *, wanted: bool
    ) -> tuple[str, frozenset[int]] | None:
        """Find the leaves in which, with some cue, an output has one of the values, or none."""
        output = self.model.output[name]
        owner = self.model.owner.get(name)
        if owner is None or output.keeps:
            return None
        region = self.model.region[owner]
        return owner, frozenset(
            state.number
            for state in region.states
            if state.begins is None
            and any(
                (settings(region, state.number, cue).get(name, output.rest) in values) == wanted
                for cue in range(len(state.cues) + 1)
            )
        )

    # --- Counters -------------------------------------------------------------------------------

    def _counter(self, at: Whereabouts, wanted: Compare) -> int:
        """Count the changes until a counter compares so, and the steps to where one is made."""
        name = wanted.name
        value = at.counters[self.model.counter_index[name]]
        if compare(value, wanted.sign, wanted.number):
            return 0
        counts = self._counts.get(wanted)
        if counts is None:
            counts = self._counts[wanted] = self._count_back(wanted)
        left = counts.get(value, FAR)
        ways = [
            0 if source is None else self._to(at, self.model.regions[number].name, source)
            for number, source, action in self._changes[name]
            if counts.get(self._held(name, acted(action, value)), FAR) < left
        ]
        return COUNTED * left + min(ways, default=FAR)

    def _held(self, name: str, value: int) -> int:
        counter = self.model.counter[name]
        return min(max(value, counter.low), counter.high)

    def _count_back(self, wanted: Compare) -> dict[int, int]:
        """Map each value, up to a bound, to the changes that it is away from being wanted."""
        counter = self.model.counter[wanted.name]
        values = range(counter.low, min(counter.high, counter.low + MOST_VALUES) + 1)
        before: dict[int, set[int]] = {}
        for value in values:
            for _, _, action in self._changes[wanted.name]:
                after = self._held(wanted.name, acted(action, value))
                before.setdefault(after, set()).add(value)
        fits = [value for value in values if compare(value, wanted.sign, wanted.number)]
        return _breadth_first(fits, lambda value: sorted(before.get(value, ())))


def _region_steps(region: Region, start: int) -> dict[int, int]:
    """Count the transitions from a leaf into each state, by the nearest leaf inside it."""

    def onward(leaf: int) -> Iterator[int]:
        for cue in range(len(region.states[leaf].cues) or 1):
            for way in open_ways(region, leaf, cue):
                if isinstance(way.target, int):
                    yield region.leaf(way.target)

    leaves = _breadth_first([start], onward)
    found: dict[int, int] = {}
    for leaf, steps in leaves.items():
        for state in region.path(leaf):
            found[state] = min(found.get(state, FAR), steps)
    return found


def _mechanism_steps(mechanism: Mechanism, start: int) -> dict[int, int]:
    return _breadth_first([start], lambda at: [m.target for m in mechanism.states[at].movements])


def _breadth_first(starts: Iterable[int], onward: Callable[[int], Iterable[int]]) -> dict[int, int]:
    found = dict.fromkeys(starts, 0)
    edge = deque(found)
    while edge:
        at = edge.popleft()
        for after in onward(at):
            if after not in found:
                found[after] = found[at] + 1
                edge.append(after)
    return found
