"""Who sets an output: to what in each situation, and where the file says so."""

from collections.abc import Iterator

from behaviour.explore.places import Place
from behaviour.explore.situations import Situation
from behaviour.model import Model, Output, Region
from behaviour.semantics import settings
from behaviour.source import Span


class Driver:
    """Gives what an output is in a situation."""

    def __init__(self, model: Model, output: Output) -> None:
        self.output = output
        self.number = model.region_index[model.owner[output.name]]
        self.region = model.regions[self.number]
        self.at = model.output_index[output.name]
        self.known: dict[Place, str] = {}

    def __call__(self, situation: Situation) -> str:
        if self.output.keeps:
            return situation.kept[self.at]
        place = situation.places[self.number]
        if place not in self.known:
            sets = settings(self.region, place.leaf, place.cue, place.over)
            self.known[place] = sets.get(self.output.name, self.output.rest)
        return self.known[place]


def driving(model: Model, output: Output) -> list[int]:
    """List the leaves of its region that set an output to something else than rest."""
    region = model.region[model.owner[output.name]]
    return list(dict.fromkeys(leaf for leaf, _ in _away(region, output)))


def away_in(model: Model, output: Output) -> tuple[object, ...]:
    """Give something equal for outputs that are away from rest in just the same loops.

    With nothing wrong they are where their region is in the same leaves, with the same cues fired.
    What keeps its value, is told how far to go, or is driven by nobody is like no other.
    """
    region = model.region.get(model.owner.get(output.name, ""))
    if region is None or output.keeps:
        return (output.name,)
    settings_of = (each for state in region.states for each in state.sets)
    if any(each.output == output.name and each.move is not None for each in settings_of):
        return (output.name,)
    return region.name, *_away(region, output)


def _away(region: Region, output: Output) -> Iterator[tuple[int, int]]:
    """List the leaves, and how many of their cues have fired, that set an output away from rest."""
    for state in region.states:
        for cue in () if state.children else range(len(state.cues) + 1):
            sets = settings(region, state.number, cue)
            if sets.get(output.name, output.rest) != output.rest:
                yield state.number, cue


def setter(model: Model, output: str) -> Span:
    """Find where an output is first set to something else than rest."""
    region = model.region[model.owner[output]]
    rest = model.output[output].rest
    for state in region.states:
        for setting in (*state.sets, *(each for cue in state.cues for each in cue.sets)):
            if setting.output == output and setting.value != rest:
                return setting.span
    return model.output[output].span
