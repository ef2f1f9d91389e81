"""The numbers that clocks are compared with: where something can happen while inputs stay.

It knows the model alone. A time that the file leaves open is passed over here; `step` says so.
"""

from collections.abc import Iterator
from typing import NamedTuple

from behaviour.explore.canonical import own_conditions
from behaviour.explore.guards import atoms
from behaviour.model import HeldFor, Model, Region, Time, Unknown
from behaviour.semantics import InputState, PropState, RegionState, window_of

FOREVER = 1 << 60
"""More loops than anybody waits for."""


class _Due(NamedTuple):
    """What the timers of a leaf's path are compared with: (depth, loops) and (depth, draw)."""

    fixed: tuple[tuple[int, int], ...]
    drawn: tuple[tuple[int, int], ...]


class Dues:
    """The times of one model, in loops.

    `filters` and `held` are by input: the filter of each value, and each `for` that is asked of it.
    `windows` are those of random times and moves, by (region, number).
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        self.filters = tuple(
            {
                value: loops_of(model, time) or 0
                for value, time in zip(item.values, item.steady, strict=True)
            }
            for item in model.inputs
        )
        self.held = _held_times(model)
        self.windows = dict(_windows(model))
        self._due: dict[tuple[int, int, int], _Due] = {}

    def until_due(self, prop: PropState) -> int:
        """Count the loops to the next in which anything can happen while inputs stay."""
        regions = (self.of_region(number, now) for number, now in enumerate(prop.regions))
        inputs = (self.of_input(number, now) for number, now in enumerate(prop.inputs))
        return min((*regions, *inputs), default=FOREVER)

    def of_input(self, number: int, now: InputState) -> int:
        """Count the loops until an input's filter is done, or a `for` that is asked of it."""
        least = FOREVER
        if now.raw != now.steady:
            least = max(self.filters[number][now.raw] - now.run, 1)
        for loops in self.held[number].get(now.steady, ()):
            if loops > now.since:
                least = min(least, loops - now.since)
        return least

    def of_region(self, number: int, now: RegionState) -> int:
        """Count the loops until a timer of a region is due."""
        due = self._due.get((number, now.leaf, now.cue))
        if due is None:
            due = _due_times(self.model, self.model.regions[number], now.leaf, now.cue)
            self._due[number, now.leaf, now.cue] = due
        least = FOREVER
        for depth, loops in due.fixed:
            left = loops - now.timers[depth]
            if 0 < left < least:
                least = left
        if due.drawn:
            drawn = dict(now.draws)
            for depth, way in due.drawn:
                left = drawn[way] - now.timers[depth]
                if 0 < left < least:
                    least = left
        return least


def loops_of(model: Model, time: Time) -> int | None:
    """Count a time in loops, None where the file leaves it open."""
    return None if isinstance(time, Unknown) else model.loops_up(time)


def _due_times(model: Model, region: Region, leaf: int, cue: int) -> _Due:
    fixed, drawn = [], []
    for depth, number in enumerate(region.path(leaf)):
        state = region.states[number]
        times = (way.after for way in state.leave if way.after is not None)
        fixed += [(depth, loops_of(model, each.low)) for each in times if each.low == each.high]
        drawn += [(depth, chance.number) for chance in region.chances(number)]
        fixed += [(depth, loops_of(model, each.at)) for each in state.cues[cue : cue + 1]]
    return _Due(tuple((depth, loops) for depth, loops in fixed if loops is not None), tuple(drawn))


def _held_times(model: Model) -> tuple[dict[str, tuple[int, ...]], ...]:
    found: tuple[dict[str, set[int]], ...] = tuple({} for _ in model.inputs)
    for condition in own_conditions(model):
        for atom in atoms(condition):
            if isinstance(atom, HeldFor):
                loops = loops_of(model, atom.time)
                if loops is not None:
                    found[model.input_index[atom.name]].setdefault(atom.value, set()).add(loops)
    return tuple({value: tuple(sorted(times)) for value, times in each.items()} for each in found)


def _windows(model: Model) -> Iterator[tuple[tuple[str, int], tuple[int, int]]]:
    for region in model.regions:
        for state in region.states:
            for chance in region.chances(state.number):
                if isinstance(chance.low, int) and isinstance(chance.high, int):
                    yield (region.name, chance.number), window_of(model, chance)
