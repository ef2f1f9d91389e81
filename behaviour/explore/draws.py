"""Every way to draw the random times of a loop, by playing it; and a run with shorter ones."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import product
from math import prod

from behaviour.explore.lulls import played
from behaviour.findings import Run
from behaviour.model import Model
from behaviour.semantics import PropState, window_of

Drawn = tuple[tuple[tuple[str, int], int], ...]
"""The times that were drawn, by (region, number)."""


def all_draws(
    model: Model, loop: Callable[[Mapping[tuple[str, int], int]], PropState]
) -> Iterator[tuple[Drawn, PropState]]:
    """Play a loop with every way to draw the times that it asks for."""
    asked = _Asked()
    first = loop(asked)
    if not asked.keys_asked:
        yield (), first
        return
    for times in product(*(_window(model, key) for key in asked.keys_asked)):
        draws = tuple(zip(asked.keys_asked, times, strict=True))
        yield draws, loop(dict(draws))


def most_ways(model: Model) -> int:
    """Give a bound on the ways to draw what one loop asks for, if no time is left open.

    Every region draws for the states that it enters, and those are on the path of one leaf.
    """
    found = 1
    for region in model.regions:
        found *= max(
            prod(
                high - low + 1
                for at in region.path(state.number)
                for low, high in (window_of(model, each) for each in region.chances(at))
            )
            for state in region.states
        )
    return found


def quickened(model: Model, run: Run) -> Run | None:
    """Give a run with times that are still to come at its end drawn as short as they may be.

    None where none can be drawn shorter.
    """
    stimuli = list(run.stimuli)
    now = played(model, stimuli)
    for region, at in zip(model.regions, now.regions, strict=True):
        drawn = dict(at.draws)
        for source, timer in zip(region.path(at.leaf), at.timers, strict=True):
            for chance in region.chances(source):
                key, entered = (region.name, chance.number), len(stimuli) - 1 - timer
                shortest = max(window_of(model, chance)[0], timer + 1)
                if entered >= 0 and drawn[chance.number] > shortest:
                    draws = {**dict(stimuli[entered].draws), key: shortest}
                    stimuli[entered] = replace(stimuli[entered], draws=tuple(sorted(draws.items())))
    quicker = replace(run, stimuli=tuple(stimuli))
    return None if quicker == run else quicker


def _window(model: Model, key: tuple[str, int]) -> range:
    region, number = model.region[key[0]], key[1]
    drawn = (each for state in region.states for each in region.chances(state.number))
    low, high = window_of(model, next(each for each in drawn if each.number == number))
    return range(low, high + 1)


class _Asked(Mapping[tuple[str, int], int]):
    """Draws that hold nothing and remember what they were asked for."""

    def __init__(self) -> None:
        self.keys_asked: list[tuple[str, int]] = []

    def __getitem__(self, key: tuple[str, int]) -> int:
        self.keys_asked.append(key)
        raise KeyError(key)

    def __iter__(self) -> Iterator[tuple[str, int]]:
        return iter(())

    def __len__(self) -> int:
        return 0
