"""What is worth knowing of a loop, as marks that a search collects."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field

from behaviour.check.counting import kept_within
from behaviour.check.deafness import deaf, deaf_waits
from behaviour.check.false_jams import brought_inputs, false_jams
from behaviour.check.races import Pair, possible_rivals, races, rivals
from behaviour.explore.forgetting import counted_by
from behaviour.explore.guards import atoms
from behaviour.explore.places import Way, asked
from behaviour.explore.situations import Mark, Moment, Situation
from behaviour.explore.walking.marks import cues_of, marks_of
from behaviour.model import Becomes, Model, Output, Region, Role, State, Transition
from behaviour.semantics import NotKnownError

Name = tuple[object, ...]


def plain_marks(model: Model, region: Region) -> Iterator[Name]:
    """Name what a region may meet by itself: states, cues, transitions, and bounds of counters.

    Bounds that it alone shows to be kept are left out.
    """
    counted = counted_by(region) - kept_within(model, region)
    for mark in marks_of(model):
        kind, name = mark[:2]
        is_own = kind in ("state", "cue", "taken") and name == region.name
        if is_own or (kind == "beyond" and name in counted):
            yield mark


def all_marks(model: Model, region: Region) -> Iterator[Name]:
    """Name all that is worth knowing of a region and that may come true, by what is written of it.

    Of a state that may be deaf it is not said to which change.
    """
    yield from plain_marks(model, region)
    for winner, loser in possible_rivals(model, region):
        yield ("order", region.name, winner.number, loser.number)
    for way in region.transitions():
        if brought_inputs(model, region, way):
            yield ("false-jam", region.name, way.number)
    for state in region.states:
        if _may_be_deaf(model, region, state.number):
            yield ("deaf", region.name, state.number)


def _may_be_deaf(model: Model, region: Region, state: int) -> bool:
    """Tell whether a state may be deaf, as it may where the file leaves that open."""
    try:
        return bool(deaf_waits(model, region, state))
    except NotKnownError:
        return True


@dataclass(slots=True, eq=False)
class Marks:
    """Marks what comes true in a loop of what is `wanted` of a region, named as `all_marks` does.

    `model` and `region` are as the file has them; a search may look at a drawing of them.
    """

    model: Model
    region: Region
    wanted: Collection[Name]
    _pairs: dict[int, dict[int, Pair]] = field(default_factory=dict, init=False)
    """The pairs that may race, by the numbers of winner and loser."""
    _rivals: dict[Way, tuple[Way, ...]] = field(default_factory=dict, init=False)
    _waits: dict[int, list[tuple[str, str]]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        for winner, loser in possible_rivals(self.model, self.region):
            if ("order", self.region.name, winner.number, loser.number) in self.wanted:
                self._pairs.setdefault(winner.number, {})[loser.number] = (winner, loser)

    def looked_at(self, part: Model) -> frozenset[int]:
        """Give the inputs of a part or drawing of the model that are looked at for it."""
        losers = {number for pairs in self._pairs.values() for number in pairs}
        drawn = part.region[self.region.name].transitions()
        found = asked(part, (way.when for way in drawn if way.number in losers)).inputs
        names: set[str] = set()
        for way in self.region.transitions():
            if self._is_wanted("false-jam", way.number):
                names |= brought_inputs(self.model, self.region, way)
        for state in self.region.states:
            if self._is_wanted("deaf", state.number):
                names |= _changes(state)
        return found | {number for name, number in part.input_index.items() if name in names}

    def __call__(self, moment: Moment, to: Situation) -> Iterator[Mark]:
        at = moment.model.region_index[self.region.name]
        way = moment.ways[at]
        for state in self._entered(way, to.places[at].leaf, moment):
            yield from self._in_state(state, moment)
        if way is not None and way.transition is not None:
            yield from self._of_way(at, way, way.transition, moment, to)
        elif moment.before is not None and to.places[at].cue > moment.before.places[at].cue:
            fired = to.places[at].leaf, to.places[at].cue
            yield from self._wanted("cue", cues_of(self.region).index(fired))
        for counter in moment.beyond:
            if ("beyond", counter) in self.wanted:
                yield Mark(("beyond", counter))

    def _entered(self, way: Way | None, leaf: int, moment: Moment) -> Iterator[int]:
        """List the states that are entered, outermost first."""
        path = self.region.path(leaf)
        if moment.before is None:
            yield from path
        elif way is not None:
            yield from (path[depth] for depth in way.restarts)

    def _in_state(self, state: int, moment: Moment) -> Iterator[Mark]:
        yield from self._wanted("state", state)
        if self._is_wanted("deaf", state):
            if state not in self._waits:
                self._waits[state] = deaf_waits(self.model, self.region, state)
            yield from deaf(self.region, state, self._waits[state], moment)

    def _of_way(
        self, at: int, way: Way, taken: Transition, moment: Moment, to: Situation
    ) -> Iterator[Mark]:
        yield from self._wanted("taken", taken.number)
        if moment.before is None:
            return
        if taken.number in self._pairs:
            if way not in self._rivals:
                others = self._pairs[taken.number]
                self._rivals[way] = rivals(self.model, self.region, taken, others, moment)
            yield from races(self.region, taken, self._rivals[way], moment)
        if self._is_wanted("false-jam", taken.number):
            yield from false_jams(at, taken, moment, to)

    def _wanted(self, kind: str, number: int) -> Iterator[Mark]:
        if self._is_wanted(kind, number):
            yield Mark((kind, self.region.name, number))

    def _is_wanted(self, kind: str, number: int) -> bool:
        return (kind, self.region.name, number) in self.wanted


def _changes(state: State) -> set[str]:
    """Name the inputs for whose changes a state waits."""
    asked_for = (atom for way in state.leave for atom in atoms(way.when))
    return {atom.name for atom in asked_for if isinstance(atom, Becomes)}


@dataclass(frozen=True, slots=True)
class MechanismMarks:
    """Marks where mechanisms stand and which movements end, as far as that is `wanted`."""

    model: Model
    wanted: Collection[Name]

    def __call__(self, moment: Moment, to: Situation) -> Iterator[Mark]:
        return (Mark(name) for name in self._met(moment, to) if name in self.wanted)

    def _met(self, moment: Moment, to: Situation) -> Iterator[Name]:
        for mechanism, standing in zip(self.model.mechanism, to.standings, strict=True):
            yield ("stands", mechanism.name, standing.state)
        for mechanism, motion in zip(self.model.mechanism, moment.motions, strict=False):
            for movement in motion.ended:
                yield ("ended", mechanism.name, movement.number)
                yield ("stands", mechanism.name, movement.source)


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
