"""What a region may miss: a transition beaten to it, a change gone by, a movement cut off.

Written from the pages, on the explicit graph; it knows no engine.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from behaviour.explore.twin import Loop
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Mechanism,
    Movement,
    Or,
    Part,
    Region,
    Transition,
)
from behaviour.semantics import Look, RegionState
from behaviour.world.mechanism import Stand
from tests.twin.case import Case, entered_in, taken, target_of
from tests.twin.implied import atoms_of, implies, inputs_of, outputs_of


def order_matters(case: Case) -> Iterator[tuple[str, int, int]]:
    """Two transitions of active states, the one taken in a loop in which the other holds too.

    `leave` and `at the end`; not where the first cannot hold without the second, nor where both
    lead to the same.
    """
    for at, region in case.regions:
        pairs = _pairs(case, region)
        found: set[tuple[int, int]] = set()
        looked: set[object] = set()
        for loop in case.healthy:
            winner = taken(loop.left.regions[at])
            if loop.source is None or winner is None or winner.number not in pairs:
                continue
            before = case.graph.states[loop.source].prop
            key = (before.regions, before.counters, loop.left.inputs)
            if key in looked:
                continue
            looked.add(key)
            look = Look(
                case.model,
                loop.left.inputs,
                before.counters,
                tuple(each.leaf for each in before.regions),
                done=loop.left.done,
            )
            for loser in pairs[winner.number]:
                pair = (winner.number, loser.number)
                is_ready = _is_ready(case, region, before.regions[at], loser)
                if pair not in found and is_ready and look.holds(loser.when):
                    found.add(pair)
        yield from ((region.name, winner, loser) for winner, loser in found)


def _pairs(case: Case, region: Region) -> Mapping[int, tuple[Transition, ...]]:
    ways = [way for way in region.transitions() if way.part is not Part.INTERLOCK]
    return {
        first.number: tuple(
            second
            for second in ways
            if second.number != first.number
            and (second.target, second.does) != (first.target, first.does)
            and not _otherwise(case, region, first, second)
        )
        for first in ways
    }


def _otherwise(case: Case, region: Region, first: Transition, second: Transition) -> bool:
    waits_no_longer = _times(case, region, second)[1] <= _times(case, region, first)[0]
    return waits_no_longer and implies(case.model, first.when, second.when)


def _times(case: Case, region: Region, way: Transition) -> tuple[int, int]:
    """The least and the most loops in the state before a transition may be taken."""
    if way.part is Part.END and way.source is not None:
        at = region.states[way.source].cues[-1].at
        assert isinstance(at, int)
        return case.model.loops_up(at), case.model.loops_up(at)
    if way.after is None:
        return 0, 0
    assert isinstance(way.after.low, int)
    assert isinstance(way.after.high, int)
    return case.model.loops_up(way.after.low), case.model.loops_up(way.after.high)


def _is_ready(case: Case, region: Region, before: RegionState, way: Transition) -> bool:
    """Tell whether a transition's state is active, its time has come, and nothing locks it in."""
    path = region.path(before.leaf)
    if way.source not in path:
        return False
    timer = before.timers[path.index(way.source)] + 1
    drawn = dict(before.draws)
    if way.part is Part.END and before.cue != len(region.states[before.leaf].cues) - 1:
        return False
    if timer < drawn.get(way.number, _times(case, region, way)[0]):
        return False
    return way.target is None or not any(
        region.states[number].lockout
        for number in path
        if number == way.target or not region.contains(number, target_of(way))
    )


def deaf(case: Case) -> Iterator[tuple[str, str]]:
    """A state that waits for `x becomes v`, is entered with x at v, and lets only people go on.

    x is moved by a mechanism. Any other way out that names no input which only people move, or no
    input at all, is a way out; what is said by an `or` is several ways.
    """
    waits = [
        (at, region, way, name, value)
        for at, region in case.regions
        for state in region.states
        for way in state.leave
        if way.target is not None
        for name, value in sorted(_waited_for(case, way))
    ]
    found: set[tuple[str, str]] = set()
    for at, region, way, name, value in waits:
        assert way.source is not None
        subject = (region.name, region.states[way.source].name)
        if subject in found:
            continue
        if any(
            loop.left.inputs[case.model.input_index[name]].steady == value
            and way.source in entered_in(case, loop, at, region)
            for loop in case.healthy
        ) and _needs_people(case, region, way):
            found.add(subject)
            yield subject


def _waited_for(case: Case, way: Transition) -> Iterator[tuple[str, str]]:
    """The changes without which one way of a transition is not open, all its others by people."""
    ways = _ways_of(way.when)
    for at, one in enumerate(ways):
        others = (*ways[:at], *ways[at + 1 :])
        if not all(inputs_of(case.model, other) - case.forced for other in others):
            continue
        for atom, _ in set(atoms_of(one)):
            if not isinstance(atom, Becomes) or atom.name not in case.forced:
                continue
            if implies(case.model, one, atom):
                yield atom.name, atom.value


def _ways_of(when: Condition | None) -> list[Condition | None]:
    """Write a condition as its ways, each without an `or` but under a `not`."""
    match when:
        case Or(parts=parts):
            return [way for part in parts for way in _ways_of(part)]
        case And(parts=parts):
            every = product(*(_ways_of(part) for part in parts))
            return [And(tuple(part for part in way if part is not None)) for way in every]
        case _:
            return [when]


def _needs_people(case: Case, region: Region, waiting: Transition) -> bool:
    """Tell whether people are needed by every other transition that leaves the waiting state."""
    assert waiting.source is not None
    return all(
        inputs_of(case.model, way.when) - case.forced
        for leaf in region.states
        if not leaf.children and region.contains(waiting.source, leaf.number)
        for way in _out_of(region, leaf.number, waiting.source)
        if way.number != waiting.number
    )


def _out_of(region: Region, leaf: int, source: int) -> Iterator[Transition]:
    """The transitions that may be taken from a leaf and leave a state around it."""
    path = region.path(leaf)
    states = [region.states[number] for number in path]
    ways = list(region.interlocks)
    for state in states:
        ways += [*state.interlocks, *state.leave, *([] if state.end is None else [state.end])]
    for way in ways:
        if way.target is None or (way.part is Part.INTERLOCK and way.target in path):
            continue
        left = [
            state
            for state in states
            if state.number == way.target or not region.contains(state.number, target_of(way))
        ]
        if source in [state.number for state in left] and not any(s.lockout for s in left):
            yield way


def false_jams(case: Case) -> Iterator[tuple[str, int]]:
    """A timeout taken while a movement that its region drives would bring, or has just brought,
    what another `leave` of an active state waits for."""
    for at, region in case.regions:
        found: set[int] = set()
        brings = {
            way.number: tuple(_brings(case, region, way))
            for state in region.states
            for way in state.leave
        }
        for loop in case.healthy:
            way = taken(loop.left.regions[at])
            if loop.source is None or way is None or way.after is None or way.target is None:
                continue
            if way.number not in found and _cuts_off(case, loop, at, region, way, brings):
                found.add(way.number)
                yield region.name, way.number


@dataclass(frozen=True)
class Bringing:
    """A movement that would make one single condition true, by the value that its target reads."""

    mechanism: int
    movement: Movement
    name: str
    satisfied_by: frozenset[str]


def _brings(case: Case, region: Region, way: Transition) -> Iterator[Bringing]:
    for atom, negated in atoms_of(way.when):
        if not isinstance(atom, Is | Becomes | HeldFor):
            continue
        named = atom.values if isinstance(atom, Is) else (atom.value,)
        refuses = negated != (isinstance(atom, Is) and atom.negated)
        values = case.model.input[atom.name].values
        satisfied_by = frozenset(value for value in values if (value in named) != refuses)
        for number, each in enumerate(case.model.mechanism):
            for movement in each.movements():
                reads = dict(each.states[movement.target].reads)
                drives = _drives(case, region, movement)
                if drives and reads.get(atom.name) in satisfied_by:
                    yield Bringing(number, movement, atom.name, satisfied_by)


def _drives(case: Case, region: Region, movement: Movement) -> bool:
    outputs = outputs_of(case.model, movement.during)
    return any(case.model.owner.get(name) == region.name for name in outputs)


def _cuts_off(
    case: Case,
    loop: Loop,
    at: int,
    region: Region,
    way: Transition,
    brings: Mapping[int, tuple[Bringing, ...]],
) -> bool:
    assert loop.source is not None
    before = case.graph.states[loop.source]
    for number in region.path(before.prop.regions[at].leaf):
        for waiting in region.states[number].leave:
            if waiting.number == way.number:
                continue
            for each in brings[waiting.number]:
                index = case.model.input_index[each.name]
                if before.prop.inputs[index].steady in each.satisfied_by:
                    continue
                if loop.stimulus.mechanism[each.mechanism] == each.movement.target:
                    return True
                if _goes_on(case.model.mechanism[each.mechanism], loop, before.stands, each):
                    return True
    return False


def _goes_on(mechanism: Mechanism, loop: Loop, before: tuple[Stand, ...], each: Bringing) -> bool:
    """Tell whether a movement under way is still under way after what the mechanism chose."""
    stand = before[each.mechanism]
    if stand.state != each.movement.source or loop.ended[each.mechanism]:
        return False
    at = mechanism.states[stand.state].movements.index(each.movement)
    return stand.progress[at].phase.is_running
