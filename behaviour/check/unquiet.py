"""Runs in which a controller that stopped or came late is left to believe what is not so.

It knows filters and how a controller may be stopped, and no rule. Nothing is searched, and what it
lays out need not do what is hoped of it: it is played and judged like any other run, as far as the
fault lets it go on.

Strategy: an old run is given in which one input was told otherwise than it was. A filter lets a
value through that has stood for some loops, and begins anew in a controller that starts again or
misses a loop. Somebody who moves the input just then parts what is told from what is there; as
long as he flutters it afterwards neither filter lets anything through, and they stay parted.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from behaviour.check.retold import is_plain, starts_hazard
from behaviour.explore.runs import is_settled
from behaviour.faults import LATEST, BrownOut, Late, Restart
from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import InputState, filter_loops, first_reading, next_reading
from behaviour.story import replay
from behaviour.world.circuit import Circuit, beat

PREFIX = 3
"""So many loops go by before the controller starts again."""


@dataclass(frozen=True, slots=True)
class _Parted:
    """An input of a run that is told `is_told`, or else truly there, from a loop on, and only so.

    It comes to `value` in loop `at`, and has the `other` value before.
    """

    number: int
    at: int
    value: str
    other: str
    is_told: bool


def unquiet(
    circuit: Circuit, run: Run, start: tuple[Stimulus, ...] = ()
) -> Iterator[tuple[Stimulus, ...]]:
    """Lay out what loops are to be given, so that as much is told as in a run, and as much is so.

    The mechanism goes as it went then. Only a controller that starts again, or is late, is tried;
    one that does so when a hazard starts, after the loops of such a `start`.
    """
    model, fault = circuit.model, circuit.faults[0]
    if len(circuit.faults) != 1 or not isinstance(fault, Late | Restart | BrownOut):
        return
    parted = _parted(model, run) if is_plain(model, run) else None
    if parted is None:
        return
    match fault:
        case Restart():
            yield tuple(_started_again(circuit, run, parted, ()))
        case BrownOut() if start:
            yield tuple(_started_again(circuit, run, parted, start))
        case Late():
            yield tuple(_late(model, run, parted))
        case _:
            pass


def first_start(model: Model, run: Run) -> tuple[Stimulus, ...]:
    """Give the loops of a run up to the first in which a hazard starts, if all is plain till then.

    The controller makes each of them and is told what is so. None where it is not plain.
    """
    if not is_plain(model, run):
        return ()
    before = tuple(output.rest for output in model.outputs)
    for view in replay(model, run).happenings():
        if view.true != view.stimulus.raw:
            return ()
        if starts_hazard(model, before, view.state.outputs):
            return run.stimuli[: view.loop + 1]
        before = view.state.outputs
    return ()


def _parted(model: Model, run: Run) -> _Parted | None:
    """Find the one input of two values that is told otherwise than it is, if it changes once."""
    told = _steadily(model, [each.raw for each in run.stimuli])
    true = _steadily(model, [each.true or each.raw for each in run.stimuli])
    apart = {
        number
        for one, other in zip(told, true, strict=True)
        for number, item in enumerate(one)
        if item.steady != other[number].steady
    }
    if len(apart) != 1:
        return None
    (number,) = apart
    item = model.inputs[number]
    changes = [
        (loop, states[number].steady, states is told[loop])
        for several in (told, true)
        for loop, states in enumerate(several)
        if states[number].became
    ]
    least = min(filter_loops(model, item, value) for value in item.values)
    if len(item.values) != 2 or len(changes) != 1 or least < 1:  # noqa: PLR2004
        return None
    ((at, value, is_told),) = changes
    other = next(each for each in item.values if each != value)
    return _Parted(number, at, value, other, is_told)


def _steadily(model: Model, readings: Sequence[Sequence[str]]) -> list[tuple[InputState, ...]]:
    """Put readings through healthy filters; for how long they are the same is not counted."""
    now = tuple(
        first_reading(model, item, read, presume=False)
        for item, read in zip(model.inputs, readings[0], strict=True)
    )
    found, last = [now], readings[0]
    for reading in readings[1:]:
        if reading != last or not is_settled(now):
            three = zip(model.inputs, now, reading, strict=True)
            now = tuple([next_reading(model, item, was, read, 1) for item, was, read in three])
        last = reading
        found.append(now)
    return found


def _started_again(
    circuit: Circuit, run: Run, parted: _Parted, start: tuple[Stimulus, ...]
) -> Iterator[Stimulus]:
    """Part the two in the loop in which the controller starts again: what it reads is steady.

    What changes last in the old run changes here, and what did not has had its value all along.
    With a `start` the controller is stopped by that.
    """
    model = circuit.model
    value, other = parted.value, parted.other
    told, true = (other, value) if parted.is_told else (value, other)
    first = run.stimuli[0]
    before = start or (_given(first, parted, true, Beat.RUNS),) * PREFIX
    yield from before
    life = circuit.left(next(circuit.at_power_up()), hazard_began=bool(start))
    life = next(each for each in circuit.onward(life) if beat(each) is not Beat.RUNS)
    while beat(life) is not Beat.STARTS:
        yield _given(first, parted, true, beat(life))
        life = next(circuit.onward(life))
    comes = parted.at - filter_loops(model, model.inputs[parted.number], value)
    for loop, old in enumerate(run.stimuli):
        flutters = other if (comes - loop) % 2 else value
        read = value if loop >= comes else told if loop == 0 else flutters
        yield _given(old, parted, read, Beat.RUNS if loop else Beat.STARTS)


def _late(model: Model, run: Run, parted: _Parted) -> Iterator[Stimulus]:
    """Part the two by what the controller does not see in the loops that it leaves out.

    All waits for some loops before, so that what was just in time before is so still.
    """
    value, other = parted.value, parted.other
    comes = max(parted.at - filter_loops(model, model.inputs[parted.number], value), 1)
    before, after = run.stimuli[:comes], run.stimuli[comes:]
    comes, at = comes + LATEST, parted.at + LATEST
    skipped = range(max(comes, at - LATEST + 1), at)
    if parted.is_told:
        comes, skipped = min(comes, at - 2), range(at - 1, at)
    for loop, old in enumerate((*before, *(before[-1],) * LATEST, *after)):
        if loop > at:
            read = other if (loop - at) % 2 else value
        else:
            hidden = parted.is_told and loop in skipped
            read = value if loop >= comes and not hidden else other
        yield _given(old, parted, read, Beat.SKIPS if loop in skipped else Beat.RUNS)


def _given(old: Stimulus, parted: _Parted, read: str, now: Beat) -> Stimulus:
    true = list(old.true or old.raw)
    true[parted.number] = read
    return replace(old, raw=tuple(true), true=tuple(true), beat=now, wrong=())
