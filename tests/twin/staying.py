"""What no run ever does: leave a state, come back, take a transition; and counters gone too far.

Written from the pages, on the explicit graph; it knows no engine.
"""

from collections.abc import Iterable, Iterator
from functools import partial

from behaviour.explore.twin import Loop
from behaviour.model import (
    Part,
    Region,
)
from behaviour.wording import cue_name
from tests.twin.case import Case, backwards, circles, is_locked, moves_on, never, taken


def dead_ends(case: Case) -> Iterator[tuple[str, str]]:
    """A leaf, no lockout nor in one, in some configuration from which no run ever leaves it.

    A transition to itself leaves it; a cue or `stay` does not. In each world by its own runs.
    """
    for at, region in case.regions:
        for states in case.worlds.values():
            can = backwards(case, states, partial(_leaves, at), never)
            for number in states:
                leaf = case.leaf(number, at)
                if number not in can and not is_locked(region, leaf):
                    yield region.name, region.states[leaf].name


def _leaves(at: int, loop: Loop) -> bool:
    return moves_on(loop.left.regions[at])


def no_ways_back(case: Case) -> Iterator[str]:
    """From some configuration, none in a lockout, no run gets to the state that it begins in.

    Excused where a lockout can be reached from there, and no circle can in which anything fires
    and no region is in a lockout.
    """
    for at, region in case.regions:
        if any(_is_stuck_away(case, at, region, states) for states in case.worlds.values()):
            yield region.name


def _is_stuck_away(case: Case, at: int, region: Region, states: Iterable[int]) -> bool:
    home = backwards(
        case,
        states,
        never,
        lambda number: region.contains(region.begins, case.leaf(number, at)),
    )
    away = [number for number in states if number not in home and not case.in_lockout(number)]
    if not away:
        return False
    locked = backwards(case, states, never, case.in_lockout)
    loops = [loop for number in states for loop in case.graph.loops[number]]
    free = [loop for loop in loops if not case.in_lockout(loop.target)]
    lively = {
        loop.target
        for group in circles(free)
        if any(now.fired is not None for each in group for now in each.left.regions)
        for loop in group
    }
    goes_on = backwards(case, states, never, lambda number: number in lively)
    return any(number not in locked or number in goes_on for number in away)


def cues_never_reached(case: Case) -> Iterator[tuple[str, str]]:
    """A cue that no run comes to, of a state that some run enters: the first of its state.

    The last cue of a state with `at the end` is a transition.
    """
    for at, region in case.regions:
        come = {(now.leaf, now.cue) for left in case.lefts for now in [left.regions[at]]}
        for state in region.states:
            last = len(state.cues) - (state.end is not None)
            never_come = [n for n in range(1, last + 1) if (state.number, n) not in come]
            if never_come and (state.number, 0) in come:
                yield region.name, cue_name(state, never_come[0])


def never_taken(case: Case) -> Iterator[tuple[str, int]]:
    """A transition that no run takes, of a state, or of its last cue, that some run comes to."""
    cut_off = set(cues_never_reached(case))
    for at, region in case.regions:
        numbers = {
            way.number for left in case.lefts if (way := taken(left.regions[at])) is not None
        }
        for way in region.transitions():
            source = None if way.source is None else region.states[way.source].name
            if way.part is Part.END and way.source is not None:
                cues = range(1, len(region.states[way.source].cues))
                names = {(region.name, cue_name(region.states[way.source], n)) for n in cues}
                if names & cut_off:
                    continue
            if way.number not in numbers and (
                source is None or (region.name, source) in case.entered
            ):
                yield region.name, way.number


def mechanism_never_taken(case: Case) -> Iterator[tuple[str, int]]:
    """A movement that never ends, of a state in which the mechanism can stand."""
    for at, each in enumerate(case.model.mechanism):
        numbers = {movement.number for loop in case.moves for movement in loop.ended[at]}
        for movement in each.movements():
            stands = (each.name, each.states[movement.source].name) in case.stood
            if stands and movement.number not in numbers:
                yield each.name, movement.number


def out_of_range(case: Case) -> Iterator[str]:
    """A counter that some loop would take past a bound."""
    for left in case.lefts:
        yield from left.beyond
