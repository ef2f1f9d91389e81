"""From a path of moves to a concrete run: what each loop is given, and the replay that proves it.

Raw readings are laid so that each filter lets its input change in the loop where the path says,
and each random time is drawn so that its transition fires where the path says.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from behaviour.explore.budget import LimitError
from behaviour.explore.legs import Leg
from behaviour.explore.lulls import Lulls, alike
from behaviour.explore.places import Way
from behaviour.explore.scheduling import Schedule
from behaviour.explore.situations import Moment, Situation
from behaviour.explore.stretches import Stretches
from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import (
    InputState,
    PropState,
    filter_loops,
    first_reading,
    next_reading,
    window_of,
)
from behaviour.world.circuit import Circuit, acting, beat
from behaviour.world.playing import play, skipped_after

MOST_LOOPS = 1_000_000
"""No story is longer: it is laid out loop by loop, and would fill the memory."""


class ReplayError(AssertionError):
    """A run that the search found does not replay: a fault of ours."""


def concrete(legs: Sequence[Leg], plan: Schedule) -> Run:
    """Lay a path out loop by loop and replay it.

    Raises ReplayError where `step` does not go where the path says, and LimitError where nobody
    could read a story so long.
    """
    if plan.loops[-1] > MOST_LOOPS:
        raise LimitError("the length of a story", f"it takes more than {MOST_LOOPS} loops")
    model, circuit = legs[0].space.model, legs[0].space.circuit
    moments = _moments(legs, plan.loops)
    raw = _raw(model, legs, plan, moments)
    draws = _draws(model, legs, plan.loops)
    stalled = _stalled(legs, plan.loops)
    length = plan.loops[-1] + 1
    drawn = (at for loop in draws for at in (loop, loop + 1))
    read_at = (at for each in raw for at in each.changes())
    changes = {*moments.changes(), *stalled.changes(), *read_at, *drawn}
    stimuli: list[Stimulus] = []
    told: list[Moment] = []
    for begin, end in pairwise((*sorted(at for at in changes if at < length), length)):
        moment, read = moments.at(begin), [each.at(begin) for each in raw]
        given = Stimulus(
            tuple(read[wire] for wire in circuit.wires),
            moment.now.mechanism,
            draws.get(begin, ()),
            stalled.at(begin),
            _true(circuit, moment, read),
            beat(moment.lives),
            acting(moment.lives),
        )
        stimuli += [given] * (end - begin)
        told += [moment] * (end - begin)
    replay(circuit, stimuli, told)
    return Run(tuple(stimuli), breach=plan.loops[-1], faults=circuit.faults)


def _true(circuit: Circuit, moment: Moment, raw: Sequence[str]) -> tuple[str, ...]:
    """Give what would be read on whole lines; nothing where that is what is read."""
    if not circuit.parts:
        return ()
    changes = (moment.opened.change(number) for number in range(len(raw)))
    return tuple(
        read if change is None or not change.to.true else change.to.true
        for change, read in zip(changes, raw, strict=True)
    )


def _stalled(legs: Sequence[Leg], loops: Sequence[int]) -> Stretches[tuple[int, int] | None]:
    """Name for each loop the movement that never ends, from the loop on in which it stalls."""
    found: Stretches[tuple[int, int] | None] = Stretches(None)
    for leg, loop in zip(legs, loops, strict=True):
        if leg.move is not None and leg.move.to.stalled is not None:
            found.lay(loop, None, leg.move.to.stalled)
            break
    return found


def _moments(legs: Sequence[Leg], loops: Sequence[int]) -> Stretches[Moment]:
    """Give what happens in each loop: what was waited in up to a move, and the move."""
    found = Stretches(legs[0].moment)
    begin = 0
    for leg, loop in zip(legs, loops, strict=True):
        if leg.stay is not None:
            found.lay(begin, None, leg.stay.moment)
        found.lay(loop, None, leg.moment)
        begin = loop + 1
    return found


def _raw(
    model: Model, legs: Sequence[Leg], plan: Schedule, moments: Stretches[Moment]
) -> list[Stretches[str]]:
    """Lay out what each input reads.

    Where nobody asks it stays at what it was, or at what the next situation knows it to be.
    """
    ends: dict[int, Situation] = {
        loop: leg.move.to
        for leg, loop in zip(legs, plan.loops, strict=True)
        if leg.move is not None
    }
    raw = [Stretches(plan.first.get(n, item.values[0])) for n, item in enumerate(model.inputs)]
    for loop in sorted({*moments.changes(), *ends}):
        end = ends.get(loop)
        for number, value in enumerate(moments.at(loop).raw):
            if number in plan.first:
                continue
            if value is not None:
                raw[number].lay(loop, None, value)
            elif end is not None and (reading := end.readings[number]) is not None:
                raw[number].lay(loop, None, reading.steady)
    _lay_followed(model, legs, plan.loops, raw)
    for number, shifts in plan.shifts.items():
        for shift in shifts:
            loop = plan.loops[shift.at.leg] + shift.at.later
            begin = loop - filter_loops(model, model.inputs[number], shift.value)
            raw[number].lay(begin, None, shift.value)
    return raw


def _lay_followed(
    model: Model, legs: Sequence[Leg], loops: Sequence[int], raw: Sequence[Stretches[str]]
) -> None:
    """Let raw read the new value early enough before each change of an input that was followed."""
    for leg, loop in zip(legs, loops, strict=True):
        if leg.before is None or leg.move is None:
            continue
        for number, was in enumerate(leg.before.readings):
            value = leg.move.moment.raw[number]
            if was is None or value is None or was.raw or was.steady != was.truly:
                continue
            if value != was.steady:
                begin = loop - filter_loops(model, model.inputs[number], value)
                raw[number].lay(begin, loop, value)


def _draws(
    model: Model, legs: Sequence[Leg], loops: Sequence[int]
) -> dict[int, tuple[tuple[tuple[str, int], int], ...]]:
    """Draw each random time so that what it ends comes where the path says, or last."""
    drawn: dict[int, dict[tuple[str, int], int]] = {}
    for at, region in enumerate(model.regions):
        entered: dict[int, int] = {}
        sources = {c.number: c.source for s in region.states for c in region.chances(s.number)}
        for leg, loop in zip(legs, loops, strict=True):
            if leg.move is None:
                continue
            way = leg.move.moment.ways[at]
            for number in _due(way):
                source = sources[number]
                drawn[entered[source]].setdefault((region.name, number), 0)
                if drawn[entered[source]][region.name, number] <= 0:
                    drawn[entered[source]][region.name, number] = loop - entered[source]
            place = leg.move.to.places[at]
            path = region.path(place.leaf)
            restarts = (
                range(len(path)) if leg.before is None else () if way is None else way.restarts
            )
            for depth in restarts:
                entered[path[depth]] = loop
                for chance in region.chances(path[depth]):
                    drawn.setdefault(loop, {})[region.name, chance.number] = 0
    highs = {
        (region.name, chance.number): window_of(model, chance)[1]
        for region in model.regions
        for state in region.states
        for chance in region.chances(state.number)
        if isinstance(chance.high, int)
    }
    return {
        loop: tuple(
            sorted((key, min(value or highs[key], highs[key])) for key, value in times.items())
        )
        for loop, times in drawn.items()
    }


def _due(way: Way | None) -> Iterator[int]:
    """List by number the moves that end in a loop, and the transition taken if it was drawn."""
    if way is None:
        return
    yield from way.ended
    taken = way.transition
    if taken is not None and taken.after is not None and taken.after.low != taken.after.high:
        yield taken.number


def replay(
    circuit: Circuit, stimuli: Sequence[Stimulus], moments: Sequence[Moment]
) -> PropState | None:
    """Run the definition over what each loop is given, and hold it against what the search says.

    Loops that do nothing but count, where the same is given throughout, are passed over.
    """
    model, skipped, lulls = circuit.model, 0, Lulls(circuit.model)
    state: PropState | None = None
    truly: tuple[InputState, ...] = ()
    at = 0
    while at < len(stimuli):
        loop, stimulus, moment, before = at, stimuli[at], moments[at], state
        state = play(model, state, stimulus, skipped)
        skipped = skipped_after(stimulus, skipped)
        left = moment.now
        leaves = tuple(region.leaf for region in state.regions)
        real = circuit.real(stimulus.wrong, state.outputs)
        same = (leaves, state.counters, real) == (left.leaves, left.counters, left.outputs)
        told = all(
            moment.opened.is_open(wire)
            or any(change.seen.value == item.steady for change in moment.opened.left(wire))
            for wire, item in zip(circuit.wires, state.inputs, strict=True)
        )
        if not same or not told:
            raise ReplayError(
                f"loop {loop}: the search has {left.leaves}, {left.counters}, {left.outputs}, "
                f"{moment.raw}; `step` has {leaves}, {state.counters}, {real}, "
                f"{[item.steady for item in state.inputs]}"
            )
        truly = _really_there(circuit, truly, stimulus, moment)
        at += 1
        if before is not None and stimulus.beat is Beat.RUNS and not skipped and not stimulus.draws:
            most = at + lulls.left(before, state)
            passed = min(alike(stimuli, at, most), alike(moments, at, most))
            left_over = passed if circuit.parts else 0
            while left_over and not is_settled(truly):
                truly = _really_there(circuit, truly, stimulus, moment)
                left_over -= 1
            state = lulls.later(state, passed)
            at += passed
    return state


def is_settled(inputs: Sequence[InputState]) -> bool:
    """Tell whether inputs that go on reading the same do nothing but count."""
    return all(each.raw == each.steady and not each.became for each in inputs)


def _really_there(
    circuit: Circuit, last: tuple[InputState, ...], stimulus: Stimulus, moment: Moment
) -> tuple[InputState, ...]:
    """Give what a healthy filter says of what is truly there, and hold it against the search.

    With nothing wrong that is what the controller is told, but for what is presumed.
    """
    if not circuit.parts:
        return ()
    items, model = circuit.model.inputs, circuit.model
    if not last:
        pairs = zip(items, stimulus.true, strict=True)
        now = tuple(first_reading(model, item, true, presume=False) for item, true in pairs)
    else:
        three = zip(items, last, stimulus.true, strict=True)
        now = tuple(next_reading(model, item, was, true, 1) for item, was, true in three)
    for number, item in enumerate(now):
        left = moment.opened.left(number)
        if not moment.opened.is_open(number) and not any(
            (c.truly.value, c.truly.became) == (item.steady, item.became) for c in left
        ):
            raise ReplayError(
                f"`{items[number].name}` is truly {item.steady} where it is not to be"
            )
    return now
