"""The times that firmware counts, with their places, and the longest that it can count."""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.model import And, Condition, HeldFor, Model, Not, Or, Region, Time
from behaviour.source import Span

MOST_MICROS = 0xFFFFFFFE * 1000
"""The longest time that 32 bits of milliseconds hold: 49.7 days."""


@dataclass(frozen=True, slots=True)
class Counted:
    """A time that the firmware counts; `what` names it in words, `place` its region and state."""

    what: str
    time: Time
    span: Span
    place: tuple[str, str] | None = None


def counted_times(model: Model) -> Iterator[Counted]:
    """List the times that the firmware counts: filters, times in states, cues and `for`."""
    for item in model.inputs:
        for time in dict.fromkeys(item.steady):
            yield Counted(f"`steady` of `{item.name}`", time, item.span)
    for region in model.regions:
        yield from _of_region(region)


def _of_region(region: Region) -> Iterator[Counted]:
    for state in region.states:
        place = (region.name, state.name)
        words = f"`{region.name}.{state.name}`"
        for way in state.leave:
            if way.after is not None:
                yield Counted(f"`after` in {words}", way.after.high, way.after.span, place)
        for cue in state.cues:
            yield Counted(f"a cue of {words}", cue.at, cue.span, place)
    for way in region.transitions():
        source = None if way.source is None else (region.name, region.states[way.source].name)
        for held in held_conditions(way.when):
            yield Counted(f"`{held.name} is {held.value} for`", held.time, held.span, source)


def held_conditions(condition: Condition | None) -> Iterator[HeldFor]:
    """List each `is V for D` of a condition, in order."""
    match condition:
        case HeldFor():
            yield condition
        case And(parts=parts) | Or(parts=parts):
            for part in parts:
                yield from held_conditions(part)
        case Not(part=part):
            yield from held_conditions(part)
        case _:
            return
