"""Who sets an output: to what in each situation, and where the file says so."""

from collections.abc import Iterator

from behaviour.check.spots import Spot, spots_of
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
    away = away_at(model, output)
    return (output.name,) if away is None else (model.owner[output.name], *away)


def away_at(model: Model, output: Output) -> tuple[Spot, ...] | None:
    """List where a region sets an output away from rest, if that is all that it hangs on.

    None for what keeps its value, is told how far to go, or is driven by nobody.
    """
    region = model.region.get(model.owner.get(output.name, ""))
    if region is None or output.keeps:
        return None
    settings_of = (each for state in region.states for each in state.sets)
    if any(each.output == output.name and each.move is not None for each in settings_of):
        return None
    return tuple(_away(region, output))


def _away(region: Region, output: Output) -> Iterator[Spot]:
    """List what a region may be in that sets an output away from rest."""
    for leaf, fired in spots_of(region):
        if settings(region, leaf, fired).get(output.name, output.rest) != output.rest:
            yield leaf, fired


def setter(model: Model, output: str) -> Span:
    """Find where an output is first set to something else than rest."""
    region = model.region[model.owner[output]]
    rest = model.output[output].rest
    for state in region.states:
        for setting in (*state.sets, *(each for cue in state.cues for each in cue.sets)):
            if setting.output == output and setting.value != rest:
                return setting.span
    return model.output[output].span
