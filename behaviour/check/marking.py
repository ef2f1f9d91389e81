"""What is worth knowing of a loop, as marks that a search collects."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from behaviour.check.deafness import deaf, deaf_waits
from behaviour.check.false_jams import false_jams, may_be_false
from behaviour.check.races import races, rivals
from behaviour.explore.places import Way
from behaviour.explore.situations import Mark, Moment, Situation
from behaviour.explore.walking.marks import cues_of
from behaviour.model import Model, Output, Role


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Marks what is worth knowing of a region, or of the mechanisms, in a loop."""

    model: Model
    region: str
    _rivals: dict[Way, tuple[Way, ...]] = field(default_factory=dict)
    _waits: dict[int, list[tuple[str, str]]] = field(default_factory=dict)

    def __call__(self, moment: Moment, to: Situation) -> Iterable[Mark]:
        at = moment.model.region_index[self.region]
        yield from self._plain(at, moment, to)
        way = moment.ways[at]
        if way is not None and way.transition is not None and moment.before is not None:
            region = self.model.region[self.region]
            if way not in self._rivals:
                self._rivals[way] = rivals(region, self.model, at, way, moment)
            yield from races(region, way.transition, self._rivals[way], moment)
            if may_be_false(way):
                yield from false_jams(at, way.transition, moment, to)

    def _plain(self, at: int, moment: Moment, to: Situation) -> Iterator[Mark]:
        region, way = self.model.region[self.region], moment.ways[at]
        if moment.before is None or (way is not None and way.restarts):
            path = region.path(to.places[at].leaf)
            entered = (
                path
                if moment.before is None
                else [path[d] for d in way.restarts if way]
                if way
                else []
            )
            for state in entered:
                yield Mark(("state", region.name, state))
                if state not in self._waits:
                    self._waits[state] = deaf_waits(self.model, region, state)
                yield from deaf(region, state, self._waits[state], moment)
        if way is not None and way.transition is not None:
            yield Mark(("taken", region.name, way.transition.number))
        elif moment.before is not None and to.places[at].cue > moment.before.places[at].cue:
            fired = to.places[at].leaf, to.places[at].cue
            yield Mark(("cue", region.name, cues_of(region).index(fired)))
        for counter in moment.beyond:
            yield Mark(("beyond", counter))


@dataclass(frozen=True, slots=True)
class MechanismMarks:
    """Marks where mechanisms stand, and which movements end."""

    model: Model

    def __call__(self, moment: Moment, to: Situation) -> Iterable[Mark]:
        for mechanism, standing in zip(self.model.mechanism, to.standings, strict=True):
            yield Mark(("stands", mechanism.name, standing.state))
        for mechanism, motion in zip(self.model.mechanism, moment.motions, strict=False):
            for movement in motion.ended:
                yield Mark(("ended", mechanism.name, movement.number))
                yield Mark(("stands", mechanism.name, movement.source))


@dataclass(frozen=True, slots=True)
class Resting:
    """Marks a stay that can last for ever with an output away from rest."""

    output: Output
    at: int

    def __call__(self, moment: Moment, to: Situation) -> Iterable[Mark]:
        if moment.before is None or moment.highs or moment.before.places != to.places:
            return
        moved = any(way is not None and way.restarts for way in moment.ways)
        model = moment.model
        same = moment.before.standings == to.standings and moment.before.counters == to.counters
        is_away = moment.now.outputs[self.at] != self.output.rest
        if not same or not is_away or moved:
            return
        if not any(map(moment.opened.has_come, range(len(model.inputs)))) and not any(
            item.role is Role.HOLD_TO_RUN and not moment.opened.may_be(number, item.values[0])
            for number, item in enumerate(model.inputs)
        ):
            yield Mark(("rests", self.output.name), moment.lows)


def observers(model: Model, region: str, part: Model) -> tuple[Marks | Resting, ...]:
    """Watch a region, and every hazard of the part of the prop in which it is searched."""
    hazards = (
        Resting(output, number)
        for number, output in enumerate(part.outputs)
        if output.hazard and output.name in part.owner
    )
    return (Marks(model, region), *hazards)
