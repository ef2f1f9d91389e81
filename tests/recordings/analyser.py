"""A prop on a pretended bench, and the logic analyser that records it.

The controller's clock goes wrong by a share, its loops begin at any moment and a little late, and
an output follows a little after the loop. People do what they like, to the microsecond.
"""

from collections.abc import Iterator
from dataclasses import replace
from random import Random

from behaviour.bench.capture import Capture, Signal, Sort, Stretch, joined
from behaviour.bench.lines import region_word
from behaviour.model import Micros, Model
from behaviour.semantics import PropState, power_up, step, window_of

JITTER, LAG = 400, 600


def recorded(model: Model, random: Random, ends: Micros, clock: float = 1.0) -> Capture:
    """Record inputs, outputs, and nothing of what goes on inside."""
    inputs = {item.name: _played(item.values, random, ends) for item in model.inputs}
    outputs: dict[str, list[Stretch]] = {output.name: [] for output in model.outputs}
    begins = random.randrange(model.loop)
    state, loop = None, 0
    while (now := int(begins + loop * model.loop * clock)) < ends:
        at = now + random.randrange(JITTER)
        raw = tuple(Signal(Sort.INPUT, name, inputs[name]).value(at) for name in inputs)
        draws = _draws(model, random)
        state = power_up(model, raw, draws) if state is None else step(model, state, raw, draws)
        for output, value in zip(model.outputs, state.outputs, strict=True):
            outputs[output.name].append(Stretch(at + random.randrange(LAG), value))
        loop += 1
    read = (Signal(Sort.INPUT, name, stretches) for name, stretches in inputs.items())
    driven = (
        Signal(Sort.OUTPUT, output.name, joined((Stretch(0, output.rest), *outputs[output.name])))
        for output in model.outputs
    )
    return Capture((*read, *driven), 0, ends)


def _played(values: tuple[str, ...], random: Random, ends: Micros) -> tuple[Stretch, ...]:
    """Let somebody use an input: long holds, short ones, and a bounce now and then."""
    found, at = [Stretch(0, random.choice(values))], 0
    while at < ends:
        at += random.choice((900, 4_000, 15_000, 60_000, 400_000, 1_500_000))
        at += random.randrange(20_000)
        found.append(Stretch(at, random.choice(values)))
    return joined(each for each in found if each.at < ends)


def put_off(capture: Capture, name: str, number: int, by: Micros) -> Capture:
    """Let one change of an output come later than it did."""
    signals = tuple(
        replace(each, stretches=_put_off(each.stretches, number, by)) if each.name == name else each
        for each in capture.signals
    )
    return replace(capture, signals=signals)


def _put_off(stretches: tuple[Stretch, ...], number: int, by: Micros) -> tuple[Stretch, ...]:
    late = stretches[number]
    return (*stretches[:number], late._replace(at=late.at + by), *stretches[number + 1 :])


def traced(model: Model, random: Random, loops: int, late: int) -> Capture:
    """Tell what the firmware would in its trace; up to `late` loops in a row are left out."""
    told: dict[tuple[Sort, str], list[Stretch]] = {}
    hands = tuple(_played(item.values, random, loops * model.loop) for item in model.inputs)
    inputs = tuple(
        Signal(Sort.INPUT, item.name, each) for item, each in zip(model.inputs, hands, strict=True)
    )
    state, loop, passed = None, 0, 1
    while loop < loops:
        at = loop * model.loop
        raw = tuple(signal.value(at) for signal in inputs)
        draws = _draws(model, random)
        before = state
        state = (
            power_up(model, raw, draws)
            if before is None
            else step(model, before, raw, draws, passed)
        )
        for key, value in words(model, state):
            told.setdefault(key, []).append(Stretch(at + random.randrange(model.loop), value))
        passed = random.randint(1, late + 1) if late and random.random() < 0.1 else 1
        loop += passed
    signals = (Signal(sort, name, joined(each)) for (sort, name), each in told.items())
    ends = max(each[-1].at for each in told.values())
    return Capture(tuple(signals), 0, ends, counted=True, from_power_up=True)


def words(model: Model, state: PropState) -> Iterator[tuple[tuple[Sort, str], str]]:
    for item, read in zip(model.inputs, state.inputs, strict=True):
        yield (Sort.INPUT, item.name), read.steady
    for region, now in zip(model.regions, state.regions, strict=True):
        yield (Sort.REGION, region.name), region_word(region, now.leaf, now.cue)
    for counter, count in zip(model.counters, state.counters, strict=True):
        yield (Sort.COUNTER, counter.name), str(count)
    for output, value in zip(model.outputs, state.outputs, strict=True):
        yield (Sort.OUTPUT, output.name), value


def _draws(model: Model, random: Random) -> dict[tuple[str, int], int]:
    return {
        (region.name, chance.number): random.randint(*window_of(model, chance))
        for region in model.regions
        for each in region.states
        for chance in region.chances(each.number)
    }
