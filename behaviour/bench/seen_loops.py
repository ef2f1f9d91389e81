"""A recording laid out loop by loop, in the form in which rules are judged.

Up to where it could be followed, what it does not have is as the behaviour has it; from there on
nothing is made up, and what was not recorded stays as it was last.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from behaviour.bench.capture import Capture, Signal, Sort, Stretch
from behaviour.bench.following import Followed, Played
from behaviour.bench.lines import region_word
from behaviour.findings import Beat, Stimulus
from behaviour.model import Micros, Model
from behaviour.semantics import PropState, RegionState, filter_loops
from behaviour.story import LoopView


@dataclass(frozen=True, slots=True)
class SeenLoops:
    """The loops of a recording and when each began; `agreed` counts those that could be followed"""

    views: tuple[LoopView, ...]
    at: tuple[Micros, ...]
    agreed: int


def on_loops(model: Model, capture: Capture) -> Capture:
    """Move what a trace tells to the loops that it was told in, which begin at power-up."""

    def moved(at: Micros) -> Micros:
        return capture.begins + (at - capture.begins) // model.loop * model.loop

    signals = tuple(
        replace(each, stretches=tuple(Stretch(moved(s.at), s.value) for s in each.stretches))
        for each in capture.signals
    )
    return replace(capture, signals=signals, ends=moved(capture.ends))


def without_filters(model: Model) -> Model:
    """Give the prop as a trace tells of it, whose inputs have been through their filters."""
    return replace(
        model, inputs=tuple(replace(each, steady=(0,) * len(each.values)) for each in model.inputs)
    )


def as_read(model: Model, capture: Capture) -> Capture:
    """Give the readings that make inputs count as a trace has them, by the filters of the file."""
    signals = tuple(
        replace(each, stretches=tuple(_earlier(model, each))) if each.sort is Sort.INPUT else each
        for each in capture.signals
    )
    return replace(capture, signals=signals)


def _earlier(model: Model, signal: Signal) -> Iterator[Stretch]:
    item = model.input[signal.name]
    before: Micros | None = None
    for each in signal.stretches:
        sensing = filter_loops(model, item, each.value) * model.loop
        at = each.at if before is None else max(each.at - sensing, before + model.loop)
        if before == signal.stretches[0].at and item.presumed == signal.stretches[0].value:
            at = max(each.at - sensing, before)
        yield Stretch(at, each.value)
        before = each.at


def seen_loops(model: Model, capture: Capture, followed: Followed) -> SeenLoops:
    """Lay a recording out on the loops of the way that was followed, and go on to its end."""
    read = as_read(model, capture) if capture.counted else capture
    views = [_view(model, read, loop, each) for loop, each in enumerate(followed.path)]
    at = [each.at for each in followed.path]
    agreed = len(views)
    stopped = bool(followed.mismatches or followed.open)
    while stopped and (not at or at[-1] + model.loop <= capture.ends):
        views.append(_later_view(model, read, views, at))
        at.append(at[-1] + model.loop if at else capture.begins)
    return SeenLoops(tuple(views), tuple(at), agreed)


def _view(model: Model, read: Capture, loop: int, played: Played) -> LoopView:
    raw = _raw(model, read, played.at, played.raw) if read.counted else played.raw
    beat = Beat.SKIPS if played.skipped else Beat.RUNS
    stimulus = Stimulus(raw, (0,) * len(model.mechanism), beat=beat)
    return LoopView(loop, stimulus, played.prop, played.prop.outputs)


def _later_view(model: Model, read: Capture, views: list[LoopView], at: list[Micros]) -> LoopView:
    """Give a loop after the first difference, as recorded; what a loop sets is seen later in it."""
    now = at[-1] + model.loop if at else read.begins
    shown = now if read.counted else now + model.loop // 2
    before = views[-1].state if views else _unseen(model)
    raw = _raw(model, read, now, tuple(item.raw for item in before.inputs))
    inputs = tuple(
        item._replace(raw=value, became=False)
        for item, value in zip(before.inputs, raw, strict=True)
    )
    counters = tuple(
        int(_shown(read, Sort.COUNTER, counter.name, shown, str(count)))
        for counter, count in zip(model.counters, before.counters, strict=True)
    )
    regions = tuple(
        _region(model, place, _shown(read, Sort.REGION, region.name, shown, ""), was)
        for place, (region, was) in enumerate(zip(model.regions, before.regions, strict=True))
    )
    outputs = tuple(
        _shown(read, Sort.OUTPUT, output.name, shown, value)
        for output, value in zip(model.outputs, before.outputs, strict=True)
    )
    state = PropState(inputs, counters, regions, outputs)
    stimulus = Stimulus(raw, (0,) * len(model.mechanism))
    return LoopView(len(views), stimulus, state, outputs)


def _unseen(model: Model) -> PropState:
    from behaviour.semantics import first_reading

    inputs = tuple(first_reading(model, item, item.values[0]) for item in model.inputs)
    regions = tuple(
        RegionState(region.leaf(region.begins), 0, (0,), (), None) for region in model.regions
    )
    rests = tuple(output.rest for output in model.outputs)
    return PropState(inputs, tuple(each.begins for each in model.counters), regions, rests)


def _raw(model: Model, read: Capture, at: Micros, otherwise: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(
        _shown(read, Sort.INPUT, item.name, at, value)
        for item, value in zip(model.inputs, otherwise, strict=True)
    )


def _shown(read: Capture, sort: Sort, name: str, at: Micros, otherwise: str) -> str:
    signal = read.signal(sort, name)
    return otherwise if signal is None else signal.value(at)


def _region(model: Model, place: int, word: str, was: RegionState) -> RegionState:
    region = model.regions[place]
    for state in region.states:
        for cue in range(len(state.cues) + 1):
            if not state.children and word == region_word(region, state.number, cue):
                return was._replace(leaf=state.number, cue=cue, fired=None)
    return was._replace(fired=None)
