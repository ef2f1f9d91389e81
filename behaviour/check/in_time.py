"""Times that are up only where a movement stalls, and what a region meets in no other way.

It searches nothing. Strategy: a region waits in a state for what a mechanism brings. While it waits
its outputs are as the state sets them, so the file says which movements go on meanwhile, and when
the last of them has ended at the latest, wherever the mechanism stood at first. With the filter
that is as long as the region can wait there; where it goes from one inner state to another, these
times are added up. What would be due later than that is never due in the healthy prop.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from behaviour.explore.walking.marks import cues_of
from behaviour.model import (
    And,
    Becomes,
    Condition,
    InState,
    Is,
    Mechanism,
    MechanismState,
    Model,
    Movement,
    Not,
    Or,
    Region,
    State,
    Transition,
    Unknown,
)
from behaviour.semantics import (
    NotKnownError,
    candidates,
    filter_loops,
    is_open,
    loops_of,
    settings,
)
from behaviour.world.mechanism import NEVER, Phase, may_be_passed, window


class Untaken(NamedTuple):
    """The transitions of a region that it never takes, by number, and states it never enters."""

    ways: frozenset[int]
    states: frozenset[int]


def is_never_met(model: Model, mark: tuple[object, ...]) -> bool:
    """Tell whether what is worth knowing of a region never comes true while nothing stalls."""
    match mark:
        case ("state" | "deaf", str(name), int(state), *_):
            return state in untaken(model, model.region[name]).states
        case ("cue", str(name), int(number)):
            region = model.region[name]
            return cues_of(region)[number][0] in untaken(model, region).states
        case ("taken" | "order" | "false-jam", str(name), *numbers):
            return not untaken(model, model.region[name]).ways.isdisjoint(numbers)
        case _:
            return False


def untaken(model: Model, region: Region) -> Untaken:
    """Give what a region never does in the healthy prop, as far as its times show."""
    key = ("untaken", region.name)
    if key not in model.worked_out:
        late = {way.number for state in region.states for way in _too_late(model, region, state)}
        entered = _entered(region, late)
        states = frozenset(state.number for state in region.states) - entered
        behind = {way.number for way in region.transitions() if way.source in states}
        model.worked_out[key] = Untaken(frozenset(late | behind if late else ()), states)
    found: Untaken = model.worked_out[key]
    return found


def _too_late(model: Model, region: Region, state: State) -> Iterator[Transition]:
    """List the timed ways out of a state that are due when the region must have left it."""
    timed = [way for way in state.leave if way.after is not None]
    try:
        longest = _Stays(model, region, state.number).longest() if timed else NEVER
        for way in timed:
            if way.after is not None and longest < loops_of(model, way.after.low):
                yield way
    except NotKnownError:
        return


def _entered(region: Region, late: Collection[int]) -> frozenset[int]:
    """List the states that are entered if all is taken but what comes too late."""
    ways = [way for way in region.transitions() if way.number not in late]
    if not late or any(isinstance(way.target, Unknown) for way in ways):
        return frozenset(state.number for state in region.states)
    entered: set[int] = set()
    ahead: list[int | Unknown | None] = [region.begins, *(way.target for way in region.interlocks)]
    while ahead:
        target = ahead.pop()
        if isinstance(target, int):
            new = set(region.path(region.leaf(target))) - entered
            entered |= new
            ahead += [way.target for way in ways if way.source in new]
    return frozenset(entered)


@dataclass(eq=False)
class _Stays:
    """How long a region can be in a state, as long as no movement stalls."""

    model: Model
    region: Region
    state: int
    _known: dict[int, int] = field(default_factory=dict, init=False)
    """By leaf, how long it can be inside once it is entered; `NEVER` while that is worked out."""

    def longest(self) -> int:
        inside = [
            leaf.number
            for leaf in self.region.states
            if not leaf.children and self.region.contains(self.state, leaf.number)
        ]
        return max(map(self._from, inside))

    def _from(self, leaf: int) -> int:
        if leaf not in self._known:
            self._known[leaf] = NEVER
            ways = self._ways(leaf)
            onward = [
                self.region.leaf(way.target)
                for way in ways
                if isinstance(way.target, int)
                and way.target != self.state
                and self.region.contains(self.state, way.target)
            ]
            here = NEVER if self._may_stay(leaf, ways) else self._waits(leaf, ways)
            later = max(map(self._from, onward), default=0) if here < NEVER else 0
            self._known[leaf] = min(here + later, NEVER)
        return self._known[leaf]

    def _ways(self, leaf: int) -> list[Transition]:
        return [
            way
            for way in candidates(self.region, leaf, 0)
            if isinstance(way, Transition) and is_open(self.region, leaf, way)
        ]

    def _may_stay(self, leaf: int, ways: Collection[Transition]) -> bool:
        """Tell whether the region may do something without leaving a leaf, or to an open end."""
        return bool(self.region.states[leaf].cues) or any(
            not isinstance(way.target, int) for way in ways
        )

    def _waits(self, leaf: int, ways: Collection[Transition]) -> int:
        """Count the loops in which one of the ways out is taken at the latest."""
        return min((max(self._until(leaf, way), 1) for way in ways), default=NEVER)

    def _until(self, leaf: int, way: Transition) -> int:
        if way.when is None and way.after is not None and way.source == leaf:
            return loops_of(self.model, way.after.high)
        if way.after is not None:
            return NEVER
        match way.when:
            case Is(name=name, values=values, negated=negated) if name in self.model.moved:
                item = self.model.input[name]
                wanted = {value for value in item.values if (value in values) != negated}
                return self._brought(leaf, name, wanted, anew=False)
            case Becomes(name=name, value=value) if name in self.model.moved:
                return self._brought(leaf, name, {value}, anew=True)
            case _:
                return NEVER

    def _brought(self, leaf: int, name: str, wanted: Collection[str], *, anew: bool) -> int:
        """Count the loops until an input is steady at a value that is wanted, or becomes it anew.

        That it becomes is told only of an input that is read without a filter.
        """
        item = self.model.input[name]
        movers = [each for each in self.model.mechanism if any(_read(each, name))]
        if item.presumed is not None or len(movers) != 1:
            return NEVER
        is_filtered = any(filter_loops(self.model, item, value) for value in item.values)
        reads = _read(movers[0], name)
        if anew and (is_filtered or None in reads):
            return NEVER
        slowest = max((filter_loops(self.model, item, value) for value in wanted), default=0)
        coming = _Coming(
            self.model, self.region, leaf, movers[0], [each in wanted for each in reads], slowest
        )
        return coming.latest(anew=anew) + slowest


def _read(mechanism: Mechanism, name: str) -> list[str | None]:
    """List what an input reads by where a mechanism stands; None where it does not force it."""
    return [dict(state.reads).get(name) for state in mechanism.states]


@dataclass(eq=False)
class _Coming:
    """When a mechanism stands where an input reads as `is_wanted`, a region being in a leaf.

    It must stand there until a filter of `slowest` loops is through.
    """

    model: Model
    region: Region
    leaf: int
    mechanism: Mechanism
    is_wanted: list[bool]
    slowest: int
    _known: dict[int, int] = field(default_factory=dict, init=False)
    """By where it stands, how long it can be until it comes to be read so, from anew if asked."""

    def latest(self, *, anew: bool) -> int:
        """Count the loops from entering the leaf on, wherever the mechanism stands then."""
        return max(
            0
            if not anew and self.is_wanted[state.number] and not self._possible(state)
            else self._onward(state, anew=anew)
            for state in self.mechanism.states
        )

    def _onward(self, state: MechanismState, *, anew: bool) -> int:
        if state.number not in self._known:
            self._known[state.number] = NEVER
            if anew and self._is_missed(state):
                return NEVER
            ends = [
                window(self.model, movement, Phase.FIRST)[1]
                for movement in state.movements
                if self._goes_on(movement.during)
            ]
            is_old = anew and self.is_wanted[state.number]
            later = [
                0 if self._is_seen(target) and not is_old else self._onward(target, anew=anew)
                for movement in (self._possible(state) if ends else ())
                for target in (self.mechanism.states[movement.target],)
            ]
            self._known[state.number] = min(min(ends, default=NEVER) + max(later, default=0), NEVER)
        return self._known[state.number]

    def _is_missed(self, state: MechanismState) -> bool:
        """Tell whether it may be passed between two looks that something else is read here."""
        return not self.is_wanted[state.number] and any(
            may_be_passed(self.model, movement) for movement in self._possible(state)
        )

    def _is_seen(self, state: MechanismState) -> bool:
        """Tell whether it is read so, and for long enough, wherever a movement has just led."""
        return self.is_wanted[state.number] and all(
            self._goes_on(movement.during)
            and not may_be_passed(self.model, movement)
            and window(self.model, movement, Phase.FIRST)[0] > self.slowest
            for movement in self._possible(state)
        )

    def _possible(self, state: MechanismState) -> list[Movement]:
        return [each for each in state.movements if self._goes_on(each.during) is not False]

    def _goes_on(self, condition: Condition | None) -> bool | None:
        """Tell whether a movement goes on in the leaf; None where that hangs on something else."""
        match condition:
            case None:
                return True
            case And(parts=parts):
                every = [self._goes_on(part) for part in parts]
                return False if False in every else None if None in every else True
            case Or(parts=parts):
                every = [self._goes_on(part) for part in parts]
                return True if True in every else None if None in every else False
            case Not(part=part):
                goes_on = self._goes_on(part)
                return None if goes_on is None else not goes_on
            case InState(region=name, state=state, negated=negated) if name == self.region.name:
                return self.region.contains(state, self.leaf) != negated
            case Is(name=name, values=values, negated=negated) if name in self._outputs:
                value = self._outputs[name]
                return None if value is None else (value in values) != negated
            case _:
                return None

    @cached_property
    def _outputs(self) -> dict[str, str | None]:
        """Map the outputs of the region to what the leaf sets; None where it hangs on more."""
        sets: dict[str, str | None] = dict(settings(self.region, self.leaf, 0))
        for number in self.region.path(self.leaf):
            moved = (each.output for each in self.region.states[number].sets if each.move)
            sets.update(dict.fromkeys(moved))
        return {
            name: sets.get(
                name, None if self.model.output[name].keeps else self.model.output[name].rest
            )
            for name, owner in self.model.owner.items()
            if owner == self.region.name
        }
