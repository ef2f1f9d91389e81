"""How inputs have to move, and for how long, so that a transition is taken. It runs nothing."""

from collections.abc import Iterator
from random import Random

from behaviour.explore.guards import atoms
from behaviour.model import (
    And,
    Becomes,
    Compare,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
    Part,
    Region,
    Time,
    Transition,
)
from behaviour.semantics import PropState, compare, window_of

Stretch = tuple[tuple[str, ...], int]
"""Inputs, and for how many loops they stand."""

HOW_OFTEN_STIRRED = 0.2
"""How often inputs that nothing is wanted of are moved too."""

HOLDS = -1
"""For an input that only has to have its value, from whenever on."""


def stretches(
    model: Model, random: Random, state: PropState, region: Region, way: Transition
) -> list[Stretch]:
    """Give what a transition waits for: its inputs as far as they can help, then its time."""
    found: list[Stretch] = []
    raw = tuple(item.raw for item in state.inputs)
    if way.part is not Part.END:
        found = _satisfying(model, random, state, way.when)
        raw = found[-1][0]
        if any(isinstance(atom, Done) for atom in atoms(way.when)):
            found.append((raw, near(random, max(_moves(model), default=1))))
        if way.after is not None:
            time = random.choice((way.after.low, way.after.high))
            found.append((raw, near(random, loops_of(model, time))))
    elif way.source is not None:
        at = region.states[way.source].cues[-1].at
        found.append((raw, near(random, loops_of(model, at))))
    return found


def near(random: Random, loops: int) -> int:
    """Give a wait that ends about when a time does: a loop early, in time, or late."""
    return max(loops + random.choice((-1, 0, 0, 1, 2)), 1)


def loops_of(model: Model, time: Time) -> int:
    """Count a time that is known in loops."""
    if not isinstance(time, int):
        raise TypeError("a time that is not known yet cannot be waited for")
    return model.loops_up(time)


def waits(model: Model) -> list[int]:
    """List the loops that anything in the model waits for, and those beside them."""
    found = {1, 2}
    for time in _times(model):
        found |= {time - 1, time, time + 1}
    return sorted(found)


def is_within_reach(model: Model, state: PropState, condition: Condition | None) -> bool:
    """Tell whether moving inputs alone could make a condition hold."""
    return missing(model, state, condition) == 0


def missing(model: Model, state: PropState, condition: Condition | None) -> int:
    """Measure how far counters and regions are from what a condition wants of them."""
    match condition:
        case Compare(name=name, sign=sign, number=number):
            value = state.counters[model.counter_index[name]]
            return 0 if compare(value, sign, number) else max(abs(value - number), 1)
        case InState(region=name, state=wanted, negated=negated):
            at = model.region_index[name]
            is_in = model.regions[at].contains(wanted, state.regions[at].leaf)
            return 0 if is_in != negated else 1
        case And(parts=parts):
            return sum(missing(model, state, part) for part in parts)
        case Or(parts=parts):
            return min(missing(model, state, part) for part in parts)
        case _:
            return 0


def counters_in(condition: Condition | None) -> frozenset[str]:
    """List the counters that a condition speaks of."""
    match condition:
        case Compare(name=name):
            return frozenset({name})
        case And(parts=parts) | Or(parts=parts):
            return frozenset().union(*(counters_in(part) for part in parts))
        case Not(part=part):
            return counters_in(part)
        case _:
            return frozenset()


def _satisfying(
    model: Model, random: Random, state: PropState, condition: Condition | None
) -> list[Stretch]:
    raw = [item.raw for item in state.inputs]
    if random.random() < HOW_OFTEN_STIRRED:
        raw = [item.safe or random.choice(item.values) for item in model.inputs]
    moving: tuple[int, str, int] | None = None
    for at, value, loops in _wanted(model, random, condition):
        raw[at] = value
        if loops != HOLDS:
            moving = at, value, loops
    if moving is None:
        filters = [_filter(model, random, at, value) for at, value in enumerate(raw)]
        return [(tuple(raw), max(filters, default=1))]
    at, value, loops = moving
    found: list[Stretch] = []
    if state.inputs[at].steady == value and random.random() < 0.8:  # noqa: PLR2004
        raw[at] = random.choice([other for other in model.inputs[at].values if other != value])
        found.append((tuple(raw), _filter(model, random, at, raw[at])))
    raw[at] = value
    return [*found, (tuple(raw), _filter(model, random, at, value) + loops)]


def _filter(model: Model, random: Random, at: int, value: str) -> int:
    item = model.inputs[at]
    return near(random, loops_of(model, item.steady[item.values.index(value)]) + 1)


def _wanted(
    model: Model, random: Random, condition: Condition | None
) -> Iterator[tuple[int, str, int]]:
    """List (input, value, loops to hold it from its change on)."""
    match condition:
        case Is(name=name, values=values, negated=negated):
            at = model.input_index[name]
            fits = [v for v in model.inputs[at].values if (v in values) != negated]
            if fits:
                yield at, random.choice(fits), HOLDS
        case Becomes(name=name, value=value):
            yield model.input_index[name], value, 0
        case HeldFor(name=name, value=value, time=time):
            yield model.input_index[name], value, near(random, loops_of(model, time))
        case And(parts=parts):
            for part in parts:
                yield from _wanted(model, random, part)
        case Or(parts=parts):
            yield from _wanted(model, random, random.choice(parts))
        case Not(part=Is(name=name, values=values, negated=negated)):
            yield from _wanted(model, random, Is(name, values, negated=not negated))
        case _:
            return


def _times(model: Model) -> Iterator[int]:
    for item in model.inputs:
        yield from (loops_of(model, time) for time in item.steady)
    for region in model.regions:
        for way in region.transitions():
            if way.after is not None:
                yield loops_of(model, way.after.low)
                yield loops_of(model, way.after.high)
        for state in region.states:
            yield from (loops_of(model, cue.at) for cue in state.cues)
    yield from _moves(model)


def _moves(model: Model) -> Iterator[int]:
    """List the loops after which moves by distance may end, and must."""
    for region in model.regions:
        for state in region.states:
            for chance in region.chances(state.number):
                if chance.is_move:
                    yield from window_of(model, chance)
