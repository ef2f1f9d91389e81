"""How far a prop is from something wanted, at a guess: the transitions that it still has to take.

It knows the model's states, counters and conditions, and neither time nor inputs: those can be
had. A guess only steers; it may be too low, and FAR where there is no way at all.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from heapq import heappop, heappush
from typing import NamedTuple

from behaviour.explore.walking.goals import Goal, unhindered
from behaviour.model import (
    And,
    Compare,
    Comparison,
    Condition,
    HeldFor,
    InState,
    Is,
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

HARD = 1000
"""So many steps is one worth that needs more than people's inputs, until it is the next one."""

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


class _Step(NamedTuple):
    """A step of a part, what it needs, and whether that is more than people's inputs and time."""

    after: int
    when: Condition | None
    is_hard: bool


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
        self._spread: dict[tuple[str, int], dict[int, int]] = {}
        self._steps: dict[tuple[str, int], tuple[_Step, ...]] = {}
        self._counts: dict[Compare, dict[int, int]] = {}
        self._far: dict[Whereabouts, dict[object, tuple[int, Condition | None]]] = {}
        """Distances by a condition's identity, and the condition, so that it stays its own."""
        self._at: Whereabouts | None = None
        self._from_here: dict[object, tuple[int, Condition | None]] = {}
        self._giving: dict[
            tuple[str, tuple[str, ...], bool], tuple[str, frozenset[int]] | None
        ] = {}
        self._forced = _forced(model)
        self._followed: frozenset[str] = frozenset()
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
        known = self._known(at)
        key = (goal.part, goal.state, goal.past, id(goal.when))
        if key not in known:
            known[key] = (self._count(goal, at), goal.when)
        return known[key][0]

    def _known(self, at: Whereabouts) -> dict[object, tuple[int, Condition | None]]:
        if at is not self._at:
            self._at, self._from_here = at, self._far.setdefault(at, {})
        return self._from_here

    def _count(self, goal: Goal, at: Whereabouts) -> int:
        found = self.of_condition(at, goal.when)
        if goal.past is not None:
            found += self._counter(at, goal.past)
        if goal.state is not None:
            steps = self._to(at, goal.part, goal.state)
            found += 0 if COUNTED <= found < FAR and steps < FAR else steps
        return min(found, FAR)

    def _to(self, at: Whereabouts, part: str, state: int) -> int:
        """Count the steps until a part is in a state; the first one may need others on the way."""
        if part in self.model.region_index:
            start = at.leaves[self.model.region_index[part]]
        else:
            start = at.stands[self.model.mechanism_index[part]]
        least = self._spread_from(part, start).get(state, FAR)
        if not 0 < least < FAR or part in self._followed:
            return least
        known, key = self._known(at), (part, state, self._followed)
        if key not in known:
            known[key] = (self._by_first_step(at, part, start, state), None)
        return known[key][0]

    def _by_first_step(self, at: Whereabouts, part: str, start: int, state: int) -> int:
        before = self._followed
        self._followed = before | {part}
        found = FAR
        for step in self._steps_from(part, start):
            left = 1 + self._spread_from(part, step.after).get(state, FAR)
            if left < found and step.is_hard:
                left += min(self.of_condition(at, step.when), HARD)
            found = min(found, left)
        self._followed = before
        return found

    def _spread_from(self, part: str, start: int) -> dict[int, int]:
        """Map the states of a part to the steps from a leaf, by the nearest leaf inside each."""
        known = self._spread.get((part, start))
        if known is None:
            leaves = self._leaves_from(part, start)
            known = self._spread[part, start] = leaves
            if part in self.model.region_index:
                region = self.model.region[part]
                known = self._spread[part, start] = {}
                for leaf, steps in leaves.items():
                    for state in region.path(leaf):
                        known[state] = min(known.get(state, FAR), steps)
        return known

    def _leaves_from(self, part: str, start: int) -> dict[int, int]:
        found: dict[int, int] = {}
        edge = [(0, start)]
        while edge:
            steps, at = heappop(edge)
            if at not in found:
                found[at] = steps
                for step in self._steps_from(part, at):
                    heappush(edge, (steps + (1 + HARD if step.is_hard else 1), step.after))
        return found

    def _steps_from(self, part: str, start: int) -> tuple[_Step, ...]:
        known = self._steps.get((part, start))
        if known is None:
            known = self._steps[part, start] = tuple(
                _Step(after, when, self._is_hard(when))
                for after, when in self._ways_out(part, start)
            )
        return known

    def _ways_out(self, part: str, start: int) -> Iterator[tuple[int, Condition | None]]:
        if part in self.model.region_index:
            region = self.model.region[part]
            for way in _ways_from(region, start):
                if isinstance(way.target, int):
                    yield region.leaf(way.target), unhindered(region, way)
        else:
            for movement in self.model.mechanisms[part].states[start].movements:
                yield movement.target, movement.during

    def _is_hard(self, condition: Condition | None) -> bool:
        """Tell whether more than people's inputs and time are needed for a condition."""
        match condition:
            case And(parts=parts):
                return any(self._is_hard(part) for part in parts)
            case Or(parts=parts):
                return all(self._is_hard(part) for part in parts)
            case Not(part=part):
                return self._is_hard(part)
            case InState() | Compare():
                return True
            case Is(name=name) | HeldFor(name=name):
                return name in self._forced or name in self.model.output_index
            case _:
                return False

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
            case Is(name=name, values=values, negated=negated):
                return self._input(at, name, values, wanted=not negated)
            case HeldFor(name=name, value=value):
                return self._input(at, name, (value,), wanted=True)
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
            case Is(name=name, values=values, negated=negated):
                return self._input(at, name, values, wanted=negated)
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

    def _input(self, at: Whereabouts, name: str, values: tuple[str, ...], *, wanted: bool) -> int:
        """Count the steps until a mechanism stands where an input reads so; people can turn any."""
        by = self._forced.get(name)
        if by is None:
            return 0
        mechanism, reads = by
        here = reads.get(at.stands[self.model.mechanism_index[mechanism]])
        if here is None or (here in values) == wanted:
            return 0
        fits = [stand for stand, value in reads.items() if (value in values) == wanted]
        left = min((self._to(at, mechanism, stand) for stand in fits), default=FAR)
        return FAR if left >= FAR else COUNTED + left

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


def _forced(model: Model) -> dict[str, tuple[str, dict[int, str]]]:
    """Map each input that a mechanism forces to its name, and to what it reads by state."""
    found: dict[str, tuple[str, dict[int, str]]] = {}
    for mechanism in model.mechanism:
        for state in mechanism.states:
            for name, value in state.reads:
                found.setdefault(name, (mechanism.name, {}))[1][state.number] = value
    return found


def _ways_from(region: Region, leaf: int) -> Iterator[Transition]:
    for cue in range(len(region.states[leaf].cues) or 1):
        yield from open_ways(region, leaf, cue)


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
