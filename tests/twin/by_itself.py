"""What starts by itself, by plain definition on the explicit graph of a prop.

Judged with nothing wrong, and with any one movement stalled. Written from the page of the checks.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator

from behaviour.explore.twin import Loop
from behaviour.model import Input, Output, Part, Role, Transition
from behaviour.semantics import InputState, Look, PropState, done_next, power_up, step
from tests.twin.case import Case, Vector, taken
from tests.twin.implied import atoms_of

LONG = 1_000


def turned_on(case: Case, *roles: Role) -> Iterator[tuple[str, str, str]]:
    """A hazard, and the turn of an input that alone starts it, where it would not have started."""
    for at, output in case.hazards:
        if output.name not in case.model.owner:
            continue
        for healthy in (True, False):
            may = _may_start(case, at, output, healthy=healthy)
            for number, item in enumerate(case.model.inputs):
                if item.role in roles and item.name not in case.forced:
                    for value in _turned(case, at, output, number, may, healthy=healthy):
                        yield output.name, item.name, value


def _turned(
    case: Case, at: int, output: Output, number: int, may: dict[Vector, set[int]], *, healthy: bool
) -> Iterator[str]:
    item = case.model.inputs[number]
    count = case.graph.healthy if healthy else len(case.graph.states)
    for vector, starting in may.items():
        for value in item.values:
            is_asked = item.safe is None or (value == item.safe != vector[number])
            if value == vector[number] or not is_asked:
                continue
            then = may.get((*vector[:number], value, *vector[number + 1 :]), set())
            for state in then - starting:
                if state < count and _is_steady(case, state, vector, at, output):
                    yield value
                    break


def _is_steady(case: Case, state: int, vector: Vector, at: int, output: Output) -> bool:
    prop = case.graph.states[state].prop
    return prop.outputs[at] == output.rest and all(
        item.name in case.forced or now.raw == now.steady == held
        for item, now, held in zip(case.model.inputs, prop.inputs, vector, strict=True)
    )


def _may_start(case: Case, at: int, output: Output, *, healthy: bool) -> dict[Vector, set[int]]:
    """The states from which a hazard may leave rest, for each way of holding the inputs."""
    worlds: dict[Vector, list[Loop]] = defaultdict(list)
    for (stalled, vector), loops in case.standing_still.items():
        if stalled is None or not healthy:
            worlds[vector] += loops
    found = {}
    for vector, loops in worlds.items():
        before: dict[int, list[int]] = defaultdict(list)
        starts = set()
        for loop in loops:
            assert loop.source is not None
            was = case.graph.states[loop.source].prop.outputs[at]
            if was == output.rest != loop.left.outputs[at]:
                starts.add(loop.source)
            else:
                before[loop.target].append(loop.source)
        if not healthy:
            for one, stalled_at in case.graph.stalls:
                before[stalled_at].append(one)
        found[vector] = _back(starts, before)
    return found


def _back(goal: Iterable[int], before: dict[int, list[int]]) -> set[int]:
    found = set(goal)
    ahead = list(found)
    while ahead:
        for number in before[ahead.pop()]:
            if number not in found:
                found.add(number)
                ahead.append(number)
    return found


def held_starts(case: Case) -> Iterator[tuple[str, str]]:
    """A hazard, and the start held since power-up that starts it: released, it would rest.

    Judged where no mechanism answers: there both runs are given the same but for the start.
    """
    for at, output in case.hazards:
        for number, item in enumerate(case.model.inputs):
            is_asked = item.role is Role.START and output.name in case.model.owner
            if is_asked and _counts_held(case, at, output, number, item.values[0]):
                yield output.name, item.name


def _counts_held(case: Case, at: int, output: Output, number: int, released: str) -> bool:
    def otherwise(loop: Loop, loops: Iterable[Loop]) -> list[Loop]:
        raw = (*loop.stimulus.raw[:number], released, *loop.stimulus.raw[number + 1 :])
        drawn = dict(loop.stimulus.draws)
        return [
            each
            for each in loops
            if each.stimulus.raw == raw
            and all(drawn.get(key, time) == time for key, time in each.stimulus.draws)
        ]

    def is_held(loop: Loop) -> bool:
        return loop.left.inputs[number].steady != released

    begin = [loop for loop in case.graph.starts if is_held(loop)]
    ahead = [(one, two) for one in begin for two in otherwise(one, case.graph.starts)]
    met: set[tuple[int, int]] = set()
    while ahead:
        one, two = ahead.pop()
        was = None if one.source is None else case.graph.states[one.source].prop.outputs[at]
        starts = was in (None, output.rest) and one.left.outputs[at] != output.rest
        if starts and two.left.outputs[at] == output.rest:
            return True
        if (one.target, two.target) not in met:
            met.add((one.target, two.target))
            there = case.graph.loops[two.target]
            onward = [loop for loop in case.graph.loops[one.target] if is_held(loop)]
            ahead += [(on, to) for on in onward for to in otherwise(on, there)]
    return False


def unheld(case: Case) -> Iterator[tuple[str, str]]:
    """A hazard, and the button that is let go while it still runs because of it."""
    for at, output in case.hazards:
        for number, item in enumerate(case.model.inputs):
            is_asked = item.role is Role.HOLD_TO_RUN and output.name in case.model.owner
            if is_asked and _runs_on(case, at, output, number, item):
                yield output.name, item.name


def _runs_on(case: Case, at: int, output: Output, number: int, item: Input) -> bool:
    onward = [list(loops) for loops in case.graph.loops]
    for one, stalled in case.graph.stalls:
        onward[one] += case.graph.loops[stalled]
    region = case.model.region_index[case.model.owner[output.name]]
    ahead = []
    for source, loops in [(None, case.graph.starts), *enumerate(onward)]:
        was = output.rest if source is None else case.graph.states[source].prop.outputs[at]
        ahead += [
            loop.target
            for loop in loops
            if was == output.rest != loop.left.outputs[at]
            and taken(loop.left.regions[region]) is not None
            and loop.left.inputs[number].steady != item.values[0]
            and _would_rest(case, source, loop, number, at, output)
        ]
    met = set()
    while ahead:
        state = ahead.pop()
        for loop in onward[state]:
            if loop.left.outputs[at] == output.rest:
                continue
            if loop.left.inputs[number].steady == item.values[0]:
                return True
            if loop.target not in met:
                met.add(loop.target)
                ahead.append(loop.target)
    return False


def _would_rest(
    case: Case, source: int | None, loop: Loop, number: int, at: int, output: Output
) -> bool:
    """Tell whether the hazard would have stayed at rest had the button long been released."""
    released = case.model.inputs[number].values[0]
    raw = (*loop.stimulus.raw[:number], released, *loop.stimulus.raw[number + 1 :])
    draws = dict(loop.stimulus.draws)
    if source is None:
        return power_up(case.model, raw, draws).outputs[at] == output.rest
    before = _released(case.graph.states[source].prop, number, released)
    return step(case.model, before, raw, draws).outputs[at] == output.rest


def _released(prop: PropState, number: int, value: str) -> PropState:
    long = InputState(value, value, LONG, LONG, became=False)
    return prop._replace(inputs=(*prop.inputs[:number], long, *prop.inputs[number + 1 :]))


def restarts(case: Case) -> Iterator[tuple[str, int]]:
    """A hazard, and the interlock that stopped it and restarts it by being cleared alone."""
    onward = [list(loops) for loops in case.graph.loops]
    for one, stalled in case.graph.stalls:
        onward[one] += case.graph.loops[stalled]
    for at, output in case.hazards:
        if output.name not in case.model.owner:
            continue
        region = case.model.region_index[case.model.owner[output.name]]
        for way in case.model.regions[region].transitions():
            is_asked = way.part is Part.INTERLOCK and bool(_named(case, way))
            if is_asked and any(
                _stops(case, loop, at, output, region, way)
                and _starts_again(case, loop, at, output, way, onward)
                for loops in case.graph.loops
                for loop in loops
            ):
                yield output.name, way.number


def _named(case: Case, way: Transition) -> set[int]:
    names = {getattr(atom, "name", "") for atom, _ in atoms_of(way.when)}
    return {n for n, item in enumerate(case.model.inputs) if item.name in names}


def _stops(case: Case, loop: Loop, at: int, output: Output, region: int, way: Transition) -> bool:
    assert loop.source is not None
    was = case.graph.states[loop.source].prop.outputs[at]
    way_taken = taken(loop.left.regions[region])
    is_it = way_taken is not None and way_taken.number == way.number
    return is_it and was != output.rest == loop.left.outputs[at]


def _starts_again(
    case: Case, stop: Loop, at: int, output: Output, way: Transition, onward: list[list[Loop]]
) -> bool:
    """Follow a stop on, named inputs going once each to another value until it is cleared."""
    named = _named(case, way)
    begin = (stop.target, stop.stimulus.raw, frozenset[int](), False)
    ahead, met = [begin], {begin}
    while ahead:
        state, raw, changed, cleared = ahead.pop()
        prop = case.graph.states[state].prop
        for loop in onward[state]:
            forced = case.forced_in(loop)
            new = set(changed)
            fits = True
            held = list(raw)
            for n, (item, now) in enumerate(zip(case.model.inputs, loop.stimulus.raw, strict=True)):
                if item.name in case.forced or item.name in forced or now == raw[n]:
                    continue
                held[n] = now
                if item.role is Role.HOLD_TO_RUN and now == item.values[0]:
                    continue
                fits = fits and n in named and n not in changed and not cleared
                new.add(n)
            if not fits:
                continue
            leaves = tuple(each.leaf for each in prop.regions)
            done = done_next(case.model, prop)
            look = Look(case.model, loop.left.inputs, prop.counters, leaves, done=done)
            now_clear = cleared or not look.holds(way.when)
            if loop.left.outputs[at] != output.rest:
                let_go = all(
                    item.role is not Role.HOLD_TO_RUN or seen.steady == item.values[0]
                    for item, seen in zip(case.model.inputs, loop.left.inputs, strict=True)
                )
                if now_clear and let_go:
                    return True
                continue
            to = (loop.target, tuple(held), frozenset(new), now_clear)
            if to not in met:
                met.add(to)
                ahead.append(to)
    return False
