"""What the parts of a prop do by themselves in a loop, each thing worked out once a model.

It knows the model and no question: where regions can go, what they count and set, and where
mechanisms come to stand.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from behaviour.explore.guards import Clock, atoms, count
from behaviour.explore.kept_for import KeptFor
from behaviour.explore.opened import Change, Choices
from behaviour.explore.places import Place, Spot, Way, asked, spot, started
from behaviour.explore.sight import Judge, Sight, judging
from behaviour.explore.surroundings import Motion, Standing, movement_clock
from behaviour.model import Condition, HeldFor, Mechanism, Model, Part
from behaviour.semantics import acted, moved
from behaviour.world.circuit import Circuit
from behaviour.world.mechanism import Phase, Progress, Stand, enter, may_be_passed, settle

RESTS, ACTS, ENTERS = range(3)


class Left(NamedTuple):
    """What regions leave behind in a loop, and the clocks of the states that they enter.

    `acted` tells of each region whether it did nothing, something, or entered a state; `beyond`
    names the counters that were to go past their bounds, `done` the motors whose move has ended.
    """

    ways: tuple[Way | None, ...]
    acted: tuple[int, ...]
    places: tuple[Place, ...]
    leaves: tuple[int, ...]
    counters: tuple[int, ...]
    beyond: tuple[str, ...]
    outputs: tuple[str, ...]
    kept: tuple[str, ...]
    entered: frozenset[Clock]
    done: tuple[str, ...]


@dataclass(eq=False)
class Parts:
    """The parts of one model; `wires` says whose wire each input reads, if that is not its own."""

    circuit: Circuit
    model: Model = field(init=False)
    wires: tuple[int, ...] = field(init=False)
    rest: tuple[str, ...] = field(init=False)
    """Every output at rest."""
    begin: tuple[int, ...] = field(init=False)
    """The leaf in which each region begins."""
    forced: frozenset[int] = field(init=False)
    """Inputs that some mechanism forces somewhere."""
    while_inputs: frozenset[int] = field(init=False)
    """Inputs that the movements of mechanisms ask for."""
    passed: frozenset[int] = field(init=False)
    """Mechanisms with a movement so short that one more may end in the same loop."""
    _during: tuple[tuple[tuple[Judge, ...], ...], ...] = field(init=False)
    """What judges the movements of each mechanism, state by state."""
    _has_keeps: bool = field(init=False)
    _nothing_kept: tuple[str, ...] = field(init=False)
    offers: dict[object, Choices] = field(default_factory=dict, init=False)
    """What one input may do in a loop or at power-up, by what it reads and what people mean."""
    _choices: dict[tuple[Change, ...], Choices] = field(default_factory=dict, init=False)
    _started: dict[tuple[int, int], Way] = field(default_factory=dict, init=False)
    _spots: dict[tuple[int, Place], Spot] = field(default_factory=dict, init=False)
    _looked_at: dict[tuple[Place, ...], frozenset[int]] = field(default_factory=dict, init=False)
    _lefts: dict[object, "Lefts"] = field(default_factory=dict, init=False)
    _drives: dict[object, tuple[str, ...]] = field(default_factory=dict, init=False)
    _forces: dict[tuple[int, ...], dict[int, str]] = field(default_factory=dict, init=False)
    _settled: dict[object, tuple[Standing, frozenset[Clock]]] = field(
        default_factory=dict, init=False
    )

    def __post_init__(self) -> None:
        model, world = self.circuit.model, self.circuit.world
        self.model = model
        wires = self.circuit.wires
        self.wires = () if wires == tuple(range(len(wires))) else wires
        self.forced = frozenset(model.input_index[name] for name in model.moved)
        during = (m.during for mechanism in model.mechanism for m in mechanism.movements())
        self._during = tuple(
            tuple(
                tuple(judging(model, movement.during) for movement in state.movements)
                for state in mechanism.states
            )
            for mechanism in model.mechanism
        )
        self.while_inputs = asked(model, during).inputs
        self.passed = frozenset(
            number
            for number, mechanism in enumerate(world.mechanism)
            if any(may_be_passed(world, movement) for movement in mechanism.movements())
        )
        self.rest = tuple(output.rest for output in model.outputs)
        self.begin = tuple(region.leaf(region.begins) for region in model.regions)
        self._has_keeps = any(output.keeps for output in model.outputs)
        self._nothing_kept = ("",) * len(model.outputs)

    # --- Inputs ---

    def choices(self, changes: tuple[Change, ...]) -> Choices:
        """Give all that an input may do; what is alike is one thing, whoever asks for it."""
        known = self._choices.get(changes)
        if known is None:
            known = self._choices[changes] = Choices(self.model, changes)
        return known

    # --- Regions ---

    def spot(self, number: int, place: Place) -> Spot:
        """Look at a place of a region."""
        known = self._spots.get((number, place))
        if known is None:
            known = spot(self.model, number, place)
            if self.wires:
                known = replace(known, asks=replace(known.asks, inputs=self.on(known.asks.inputs)))
            self._spots[number, place] = known
        return known

    def on(self, inputs: frozenset[int]) -> frozenset[int]:
        """Give the inputs on whose wires some inputs are."""
        return frozenset(self.wires[n] for n in inputs) if self.wires else inputs

    def first_ways(self, sight: Sight) -> list[Way | None]:
        """Give the interlock that holds at power-up in each region, if one does."""
        return [
            next((way for way in self._interlocks(number) if way.judge(sight)), None)
            for number in range(len(self.begin))
        ]

    def started(self, number: int, leaf: int) -> Way:
        """Give what a region does in the loop in which the controller starts again."""
        known = self._started.get((number, leaf))
        if known is None:
            known = self._started[number, leaf] = started(self.model.regions[number], leaf)
        return known

    @cached_property
    def asked_first(self) -> frozenset[int]:
        """Give the inputs that power-up looks at."""
        ways = (way for number in range(len(self.begin)) for way in self._interlocks(number))
        return self.on(asked(self.model, (way.when for way in ways)).inputs)

    def _interlocks(self, number: int) -> Iterator[Way]:
        for way in self.spot(number, Place(self.begin[number])).ways:
            if way.transition is not None and way.transition.part is Part.INTERLOCK:
                yield way

    @cached_property
    def asked_anywhere(self) -> frozenset[int]:
        """Give the inputs that regions look at somewhere."""
        anybody = (way.when for region in self.model.regions for way in region.transitions())
        return self.on(asked(self.model, anybody).inputs)

    @cached_property
    def kept_for(self) -> KeptFor:
        """Give for how long regions may yet ask that inputs are kept at a value."""
        return KeptFor(self.model, restarts=self.circuit.stops)

    def looked_at(self, places: tuple[Place, ...]) -> frozenset[int]:
        """Give the inputs that regions may look at where they are."""
        known = self._looked_at.get(places)
        if known is None:
            spots = (self.spot(number, place) for number, place in enumerate(places))
            known = frozenset().union(*(here.asks.inputs for here in spots))
            self._looked_at[places] = known
        return known

    def lefts(
        self, places: tuple[Place, ...], counters: tuple[int, ...], kept: tuple[str, ...]
    ) -> "Lefts":
        """Give what regions leave behind that are at these places, whichever ways they go."""
        key = (places, counters, kept)
        known = self._lefts.get(key)
        if known is None:
            known = self._lefts[key] = Lefts(self, places, counters, kept)
        return known

    def counted(
        self, counters: tuple[int, ...], ways: tuple[Way | None, ...]
    ) -> tuple[tuple[int, ...], tuple[str, ...]]:
        """Give what counters come to by some ways, and which were to go past their bounds."""
        if all(way is None or not way.does for way in ways):
            return counters, ()
        values, beyond = list(counters), []
        for way in ways:
            for action in () if way is None else way.does:
                at = self.model.counter_index[action.counter]
                counter = self.model.counters[at]
                wanted = acted(action, values[at])
                values[at] = min(max(wanted, counter.low), counter.high)
                if values[at] != wanted:
                    beyond.append(counter.name)
        return tuple(values), tuple(beyond)

    def drive(self, places: tuple[Place, ...], last: tuple[str, ...]) -> tuple[str, ...]:
        """Give the outputs of regions at these places, where those that keep were at `last`."""
        key = (places, last)
        known = self._drives.get(key)
        if known is None:
            sets: dict[str, str] = {}
            for number, place in enumerate(places):
                sets.update(self.spot(number, place).sets)
            known = self._drives[key] = tuple(
                sets.get(output.name, before if output.keeps else output.rest)
                for output, before in zip(self.model.outputs, last, strict=True)
            )
        return known

    def done(self, places: tuple[Place, ...], ways: Sequence[Way | None]) -> tuple[str, ...]:
        """Name the motors whose move has ended before a loop, or ends in it."""
        found: list[str] = []
        for number, (place, way) in enumerate(zip(places, ways, strict=True)):
            over = place.over if way is None else (*place.over, *way.ended)
            if over:
                found += moved(self.model.regions[number], place.leaf, over)
        return tuple(found)

    def kept(self, outputs: tuple[str, ...]) -> tuple[str, ...]:
        """Forget the outputs that do not keep their value."""
        if not self._has_keeps:
            return self._nothing_kept
        return tuple(
            [
                value if output.keeps else ""
                for output, value in zip(self.model.outputs, outputs, strict=True)
            ]
        )

    # --- Mechanisms ---

    def forces(self, states: tuple[int, ...]) -> dict[int, str]:
        """Map each input that mechanisms force in these states to what it then truly is."""
        known = self._forces.get(states)
        if known is None:
            known = self._forces[states] = {
                self.model.input_index[name]: value
                for mechanism, state in zip(self.model.mechanism, states, strict=True)
                for name, value in mechanism.states[state].reads
            }
        return known

    def is_forced(self, standings: Sequence[Standing], number: int) -> bool:
        """Tell whether a mechanism forces an input where it stands."""
        return number in self.forces(tuple(standing.state for standing in standings))

    def settle(
        self, number: int, before: Standing, motion: Motion, after: Sight
    ) -> tuple[Standing, frozenset[Clock]]:
        """Give where a mechanism stands once outputs are set, and the clocks that begin by it."""
        at = number % len(self.model.mechanism)
        during = tuple([bool(judge(after)) for judge in self._during[at][motion.state]])
        old = None if motion.ended else before.phases
        key = (number, motion.state, old, during)
        known = self._settled.get(key)
        if known is None:
            mechanism = self.model.mechanism[at]
            known = self._settled[key] = _settle(mechanism, number, motion.state, old, during)
        return known


@dataclass(slots=True, eq=False)
class Lefts:
    """What regions leave behind that were at some places, by the ways that they go."""

    parts: Parts
    places: tuple[Place, ...]
    counters: tuple[int, ...]
    kept: tuple[str, ...]
    _known: dict[tuple[Way | None, ...], Left] = field(default_factory=dict, init=False)

    def of(self, ways: tuple[Way | None, ...]) -> Left:
        """Give what they leave behind that go these ways."""
        known = self._known.get(ways)
        if known is None:
            known = self._known[ways] = self._left(ways)
        return known

    def _left(self, ways: tuple[Way | None, ...]) -> Left:
        parts, places = self.parts, self.places
        there, acted, entered = list(places), [RESTS] * len(places), list[Clock]()
        for number, way in enumerate(ways):
            if way is not None:
                there[number], acted[number] = way.to, ENTERS if way.restarts else ACTS
                entered += [("region", number, depth) for depth in way.restarts]
        arrived = tuple(there)
        counted, beyond = parts.counted(self.counters, ways)
        outputs = parts.drive(arrived, self.kept)
        return Left(
            ways,
            tuple(acted),
            arrived,
            tuple([place.leaf for place in there]),
            counted,
            beyond,
            outputs,
            parts.kept(outputs),
            frozenset(entered),
            parts.done(places, ways),
        )


def longest_held(
    model: Model, conditions: Iterable[Condition | None]
) -> dict[tuple[int, str], int]:
    """Give the most loops for which conditions ask each value of an input to be held."""
    held: dict[tuple[int, str], int] = {}
    for condition in conditions:
        for atom in atoms(condition):
            if isinstance(atom, HeldFor):
                key = (model.input_index[atom.name], atom.value)
                held[key] = max(held.get(key, 0), count(model, atom.time))
    return held


def standing_of(stand: Stand) -> Standing:
    """Forget the clocks of where a mechanism stands."""
    return Standing(stand.state, tuple(progress.phase for progress in stand.progress))


def _settle(
    mechanism: Mechanism,
    number: int,
    state: int,
    phases: tuple[Phase, ...] | None,
    during: tuple[bool, ...],
) -> tuple[Standing, frozenset[Clock]]:
    stand = enter(mechanism, state)
    if phases is not None:
        stand = Stand(state, tuple(Progress(phase) for phase in phases), entered=False)
    answers = iter(during)
    settled = standing_of(settle(mechanism, stand, lambda _: next(answers)))
    old = phases or (Phase.FRESH,) * len(settled.phases)
    started = frozenset(
        movement_clock(number, which)
        for which, (was, now) in enumerate(zip(old, settled.phases, strict=True))
        if now.is_running and not was.is_running
    )
    return settled, started
