"""A run as a waveform file (VCD, IEEE 1364), for the viewers of logic analysers.

Strategy: the form knows bits and numbers and no names of values, so each value of a thing is a
line of its own, named after it and high while the thing has that value; exactly one of a thing's
lines is high. A counter is a number. Times are microseconds from power-up.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO

from behaviour.findings import Run
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.story import LoopView, replay

NUMBER_BITS = 32


@dataclass(frozen=True, slots=True)
class Trace:
    """One thing: the group of lines it belongs to, its name, and its values; none if a number."""

    group: str
    name: str
    values: tuple[str, ...]


def vcd_text(model: Model, run: Run) -> str:
    """Write a run. Raises NotKnownError where the file leaves open what a loop needs."""
    from vcd import VCDWriter

    views = replay(model, run)
    traces = traces_of(model)
    file = StringIO()
    told = f"{' '.join(model.prop.replace('$', ' ').split())}, {fingerprint(model)}"
    with VCDWriter(file, timescale="1 us", date="", comment=told) as writer:
        lines = {
            (trace, value): writer.register_var(f"{trace.group}.{trace.name}", value, "wire", 1)
            for trace in traces
            for value in trace.values
        }
        numbers = {
            trace: writer.register_var(trace.group, trace.name, "integer", NUMBER_BITS)
            for trace in traces
            if not trace.values
        }
        broken = writer.register_var("story", "broken", "wire", 1)
        for view in views:
            now = view.loop * model.loop
            for trace, value in zip(traces, _values(model, view), strict=True):
                if trace.values:
                    for each in trace.values:
                        writer.change(lines[trace, each], now, int(each == value))
                else:
                    writer.change(numbers[trace], now, int(value))
            writer.change(broken, now, int(run.breach is not None and view.loop >= run.breach))
        writer.close(len(views) * model.loop)
    return file.getvalue()


def traces_of(model: Model) -> tuple[Trace, ...]:
    """List what a waveform holds, in its order."""
    return (
        *(Trace("read", item.name, item.values) for item in model.inputs),
        *(Trace("counted", item.name, item.values) for item in model.inputs),
        *(
            Trace("mechanism", each.name, tuple(state.name for state in each.states))
            for each in model.mechanism
        ),
        *(
            Trace(
                "states",
                each.name,
                tuple(state.name for state in each.states if not state.children),
            )
            for each in model.regions
        ),
        *(Trace("counters", item.name, ()) for item in model.counters),
        *(Trace("set", item.name, item.values) for item in model.outputs),
        *(Trace("outputs", item.name, item.values) for item in model.outputs),
    )


def _values(model: Model, view: LoopView) -> Iterator[str]:
    """Give the value of each trace as a loop leaves it."""
    yield from view.stimulus.raw
    yield from (item.steady for item in view.state.inputs)
    for mechanism, state in zip(model.mechanism, view.stimulus.mechanism, strict=True):
        yield mechanism.states[state].name
    for region, now in zip(model.regions, view.state.regions, strict=True):
        yield region.states[now.leaf].name
    yield from map(str, view.state.counters)
    yield from view.state.outputs
    yield from view.real
