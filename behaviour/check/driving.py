"""Who sets an output: to what in each situation, and where the file says so."""

from behaviour.explore.places import Place
from behaviour.explore.situations import Situation
from behaviour.model import Model, Output
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
    return [
        state.number
        for state in region.states
        if not state.children
        and any(
            settings(region, state.number, cue).get(output.name, output.rest) != output.rest
            for cue in range(len(state.cues) + 1)
        )
    ]


def setter(model: Model, output: str) -> Span:
    """Find where an output is first set to something else than rest."""
    region = model.region[model.owner[output]]
    rest = model.output[output].rest
    for state in region.states:
        for setting in (*state.sets, *(each for cue in state.cues for each in cue.sets)):
            if setting.output == output and setting.value != rest:
                return setting.span
    return model.output[output].span
