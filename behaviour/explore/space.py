"""All that a prop can do in one loop from where it is, and the bounds on clocks for it.

It knows the model and its world; what is asked about them comes as watches and marks from outside.

Strategy: a situation is where everything is, clocks apart. Its moments (one loop each) are built
by letting the mechanisms choose, then the inputs, then each region on what it reads, then the
watches. Moments that come to the same are one move. A moment that changes nothing and starts no
clock is a stay: its upper bounds say how long one may wait. Moves are built once a situation.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple, Protocol

from behaviour.explore.guards import Clock, Lows, Seen, Sight, atoms, count
from behaviour.explore.places import Asked, Option, Place, Spot, Way, asked, choose, spot
from behaviour.explore.surroundings import (
    Change,
    Motion,
    Reading,
    Standing,
    filter_clock,
    filtered_changes,
    filtered_limit,
    first_readings,
    free_changes,
    free_limit,
    held_changes,
    loose_changes,
    motions,
    movement_clock,
    since_clock,
    truly_clock,
)
from behaviour.model import Condition, HeldFor, Model, Movement, Part
from behaviour.semantics import acted
from behaviour.world.mechanism import (
    Phase,
    Progress,
    Stand,
    at_power_up,
    enter,
    settle,
    window,
)

LOST = -2


class Situation(NamedTuple):
    """Where everything is as a loop leaves it, clocks apart, in the order of the model's parts.

    A reading is None where nobody can tell what it was. `kept` holds the outputs that keep their
    value, `stalled` the mechanism and movement that never ends, `watch` where the watches are.
    """

    places: tuple[Place, ...]
    counters: tuple[int, ...]
    standings: tuple[Standing, ...]
    readings: tuple[Reading | None, ...]
    kept: tuple[str, ...]
    stalled: tuple[int, int] | None
    watch: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """One loop: what each part of the prop and its world does in it.

    `found` and `left` are what rules see of the loop, as it found things and as it leaves them;
    `told` is what the controller's conditions were judged on. `raw` is None where it is all one.
    """

    before: Situation | None
    told: Sight
    found: Sight
    left: Sight
    ways: tuple[Way | None, ...]
    motions: tuple[Motion, ...]
    raw: tuple[str | None, ...]
    beyond: tuple[str, ...]
    lows: Lows
    highs: Lows


class _Landed(NamedTuple):
    """Where a loop leaves everything, before what nobody can tell is forgotten."""

    places: tuple[Place, ...]
    counters: tuple[int, ...]
    standings: tuple[Standing, ...]
    readings: tuple[Reading | None, ...]
    outputs: tuple[str, ...]
    stalled: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class _Partial:
    """A loop as far as it is chosen: what inputs do, what the first regions do, and the bounds."""

    changes: tuple[Change | None, ...]
    options: tuple[Option, ...]
    lows: dict[Clock, int]
    highs: dict[Clock, int]

    def with_changes(self, numbers: Sequence[int], chosen: Sequence[Change]) -> "_Partial | None":
        changes = list(self.changes)
        for number, change in zip(numbers, chosen, strict=True):
            changes[number] = change
        lows, highs = _met(chosen, self.lows, self.highs)
        if not _possible(lows, highs):
            return None
        return _Partial(tuple(changes), self.options, lows, highs)

    def joined(self, option: Option) -> "_Partial | None":
        if not option.lows and not option.highs:
            return _Partial(self.changes, (*self.options, option), self.lows, self.highs)
        lows, highs = _met((option,), self.lows, self.highs)
        if not _possible(lows, highs):
            return None
        return _Partial(self.changes, (*self.options, option), lows, highs)

    def key(self, apart: frozenset[int], told: frozenset[int], edges: frozenset[int]) -> object:
        """Tell partial loops apart by inputs in full, or by what rules are told of them."""
        changes = tuple(
            change
            if number in apart or change is None
            else (change.truly.value, change.seen.value, number in edges and change.truly.became)
            if number in told
            else None
            for number, change in enumerate(self.changes)
        )
        bounds = (tuple(sorted(self.lows.items())), tuple(sorted(self.highs.items())))
        return changes, tuple(id(option) for option in self.options), bounds


class Next(NamedTuple):
    """Where a watch goes: its place, bounds on clocks, and which of its clocks start again."""

    place: int
    lows: Lows = ()
    highs: Lows = ()
    restarts: tuple[int, ...] = ()


class Watch(Protocol):
    """A one-clock automaton beside the prop that looks at every loop, such as a rule's monitor."""

    def begin(self, number: int, moment: Moment) -> Iterable[Next]: ...

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]: ...

    def limits(self, place: int) -> Sequence[tuple[int, int]]: ...


class Mark(NamedTuple):
    """Something worth knowing of a moment, true where the clocks have come to `lows`."""

    name: object
    lows: Lows = ()


class Marked(NamedTuple):
    """A mark of a move or stay; `bounds` are its lows over the numbered clocks that are tracked."""

    name: object
    lows: Lows
    bounds: tuple[tuple[int, int], ...]


Observer = Callable[[Moment, Situation], Iterable[Mark]]


@dataclass(frozen=True, slots=True)
class Move:
    """What happens in one loop, over the numbered clocks of the situation before.

    `sources` says for each clock of `to` which clock it was, -1 where it starts again.
    """

    to: Situation
    lows: tuple[tuple[int, int], ...]
    highs: tuple[tuple[int, int], ...]
    sources: tuple[int, ...]
    marks: tuple[Marked, ...]
    moment: Moment
    restarts: frozenset[Clock] = frozenset()


@dataclass(frozen=True, slots=True)
class Stay:
    """A loop in which nothing changes, possible while each clock has at most its bound."""

    highs: tuple[tuple[int, int], ...]
    marks: tuple[Marked, ...]
    moment: Moment


@dataclass(frozen=True, slots=True)
class Moves:
    moves: tuple[Move, ...]
    stays: tuple[Stay, ...]
    marked: tuple[Stay, ...]
    """Stays that are worth a mark, whether or not another stay is possible for longer."""


@dataclass(frozen=True, slots=True)
class Still:
    """People who do nothing: the true value of each input that no mechanism forces.

    With `settled` the filters are done with it, and `for` conditions hold.
    """

    values: tuple[str | None, ...]
    settled: bool


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of a model: the world it runs in, and who looks on."""

    watches: tuple[Watch, ...] = ()
    observers: tuple[Observer, ...] = ()
    still: Still | None = None
    may_stall: bool = False
    holds: bool = False
    """With no clock tracked: people hold each input at what it is; a reading of None is open."""
    conditions: tuple[Condition, ...] = ()
    """What the watches and observers judge, by which the inputs that they need are known."""


@dataclass(eq=False)
class Space:
    """A model under a question: its situations and their moves, each built once.

    Clocks that are not `tracked` (None tracks all) are left open, and so is what an input reads
    whose clocks are all open, unless `follow` or somebody's need keeps it.
    """

    model: Model
    question: Question
    tracked: frozenset[Clock] | None = None
    follow: frozenset[int] = frozenset()
    forced: frozenset[int] = field(init=False)
    _asks: Asked = field(init=False)
    _while_inputs: frozenset[int] = field(init=False)
    _edges: frozenset[int] = field(init=False)
    followed: frozenset[int] = field(init=False)
    _apart: frozenset[int] = field(init=False)
    asked_first: frozenset[int] = field(init=False)
    _spots: dict[tuple[int, Place], Spot] = field(default_factory=dict, init=False)
    _options: dict[object, tuple[Option, ...]] = field(default_factory=dict, init=False)
    _moves: dict[Situation, Moves] = field(default_factory=dict, init=False)
    _clocks: dict[Situation, dict[Clock, int]] = field(default_factory=dict, init=False)
    _held: dict[tuple[int, str], int] = field(default_factory=dict, init=False)
    _truly_held: dict[tuple[int, str], int] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        model = self.model
        self.forced = frozenset(
            model.input_index[name]
            for mechanism in model.mechanism
            for state in mechanism.states
            for name, _ in state.reads
        )
        for region in model.regions:
            for transition in region.transitions():
                _hold(model, self._held, transition.when)
        for condition in self.question.conditions:
            _hold(model, self._truly_held, condition)
        self._asks = asked(model, self.question.conditions)
        during = (m.during for mechanism in model.mechanism for m in mechanism.movements())
        self._while_inputs = asked(model, during).inputs
        ways = (t.when for region in model.regions for t in region.transitions())
        self._edges = asked(model, ways).edges | self._asks.edges
        self.followed = frozenset(n for n in range(len(model.inputs)) if self._is_kept(n))
        self._apart = self.followed | self._asks.inputs
        begin = (
            self.spot(at, Place(region.leaf(region.begins)))
            for at, region in enumerate(model.regions)
        )
        self.asked_first = frozenset(n for spot in begin for n in _interlock_inputs(model, spot))

    # --- Clocks ---

    def clocks(self, at: Situation) -> dict[Clock, int]:
        """Map each clock that counts here to the most it is asked for, in a fixed order."""
        known = self._clocks.get(at)
        if known is None:
            known = dict(sorted(self._limits(at)))
            if self.tracked is not None:
                known = {clock: most for clock, most in known.items() if clock in self.tracked}
            self._clocks[at] = known
        return known

    def _limits(self, at: Situation) -> Iterator[tuple[Clock, int]]:
        for number, place in enumerate(at.places):
            yield from self.spot(number, place).limits
        for number, standing in enumerate(at.standings):
            movements = self.model.mechanism[number].states[standing.state].movements
            for which, (movement, phase) in enumerate(zip(movements, standing.phases, strict=True)):
                if phase.is_running and (number, movement.number) != at.stalled:
                    high = _window_end(self.model, movement)
                    if high > 1:
                        yield movement_clock(number, which), high
        most: dict[Clock, int] = {}
        for number, reading in enumerate(at.readings):
            if reading is not None:
                for clock, limit in self._reading_limits(number, reading):
                    most[clock] = max(most.get(clock, 0), limit)
        yield from ((clock, limit) for clock, limit in most.items() if limit > 1)
        for number, watch in enumerate(self.question.watches):
            for which, limit in watch.limits(at.watch[number]):
                if limit > 0:
                    yield ("watch", number, which), limit

    def _reading_limits(self, at: int, now: Reading) -> Iterator[tuple[Clock, int]]:
        if self._is_filtered(at):
            yield filtered_limit(self.model, at, now)
        else:
            yield free_limit(self.model, at, now)
        still = self.question.still
        if still is None or not still.settled or at in self.forced:
            yield since_clock(at), self._held.get((at, now.steady), 0)
            yield truly_clock(self.model, at), self._truly_held.get((at, now.truly), 0)

    def _is_filtered(self, at: int) -> bool:
        return at in self.forced or self.question.still is not None

    # --- Power-up ---

    def begin(self) -> tuple[Move, ...]:
        """List the situations that power-up can lead to; no clock is asked for anything."""
        model = self.model
        seen: dict[tuple[Situation, tuple[str | None, ...]], Move] = {}
        for stands in product(*(at_power_up(mechanism) for mechanism in model.mechanism)):
            forces = self._forces([stand.state for stand in stands])
            for true in product(
                *(self._first_values(at, forces) for at in range(len(model.inputs)))
            ):
                readings = [first_readings(model, at, value) for at, value in enumerate(true)]
                for move in self._power_up(stands, readings, true):
                    key = (move.to, () if not move.marks else move.moment.raw)
                    seen.setdefault(key, move)
        return tuple(seen.values())

    def _first_values(self, number: int, forces: dict[int, str]) -> tuple[str, ...]:
        """List what an input may truly be at power-up: one value will do if nobody asks."""
        values = self._true_values(number, forces)
        is_asked = number in self._apart or number in self.asked_first
        if not is_asked and self.question.still is None:
            return values[:1]
        item = self.model.inputs[number]
        return tuple(sorted(values, key=lambda value: value == item.safe))

    def _power_up(
        self, stands: Sequence[Stand], readings: Sequence[Reading], true: tuple[str, ...]
    ) -> Iterator[Move]:
        model = self.model
        told = [Seen(reading.steady, since=None) for reading in readings]
        truly = [Seen(reading.truly, since=None) for reading in readings]
        counters = tuple(counter.begins for counter in model.counters)
        leaves = tuple(region.leaf(region.begins) for region in model.regions)
        sight = Sight(model, tuple(told), counters, leaves)
        places: list[Place] = []
        ways: list[Way | None] = []
        for number in range(len(model.regions)):
            here = Place(leaves[number])
            way = next(
                (
                    way
                    for way in self.spot(number, here).ways
                    if _is_interlock(way) and sight.judge(way.when)
                ),
                None,
            )
            ways.append(way)
            places.append(here if way is None else way.to)
        rest = tuple(output.rest for output in model.outputs)
        outputs = self._drive(places, rest)
        left = Sight(
            model,
            tuple(truly),
            counters,
            tuple(place.leaf for place in places),
            outputs,
            outputs,
            tuple(stand.state for stand in stands),
        )
        moment = Moment(None, sight, left, left, tuple(ways), (), true, (), (), ())
        controls = Sight(
            model, tuple(told), counters, left.leaves, outputs, outputs, left.mechanism
        )
        standings = tuple(
            _standing(settle(mechanism, stand, lambda c: bool(controls.judge(c))))
            for mechanism, stand in zip(model.mechanism, stands, strict=True)
        )
        starts = [watch.begin(number, moment) for number, watch in enumerate(self.question.watches)]
        for nexts in product(*starts):
            landed = _Landed(tuple(places), counters, standings, tuple(readings), outputs, None)
            situation = self._landed(landed, tuple(n.place for n in nexts))
            marks = tuple(Marked(m.name, m.lows, ()) for m in self._marks(moment, situation))
            sources = (-1,) * len(self.clocks(situation))
            yield Move(situation, (), (), sources, marks, moment)

    # --- One loop ---

    def moves(self, at: Situation) -> Moves:
        """Give everything that the next loop can bring."""
        known = self._moves.get(at)
        if known is None:
            known = self._moves[at] = self._build(at)
        return known

    def _build(self, at: Situation) -> Moves:
        here = {clock: number for number, clock in enumerate(self.clocks(at))}
        moves: dict[object, Move] = {}
        stays: dict[object, Stay] = {}
        for moment, restarts, to in self._moments(at):
            lows, highs = _numbered(moment.lows, here), _numbered(moment.highs, here)
            marks = tuple(
                Marked(mark.name, mark.lows, _numbered(mark.lows, here))
                for mark in self._marks(moment, to)
            )
            there = self.clocks(to)
            sources = tuple(-1 if clock in restarts else here.get(clock, LOST) for clock in there)
            if LOST in sources:
                missing = [c for c, s in zip(there, sources, strict=True) if s == LOST]
                raise AssertionError(f"clocks {missing} count in {to} and did not in {at}")
            is_quiet = not any(way is not None and way.restarts for way in moment.ways)
            if is_quiet and to == at and not lows and sources == tuple(range(len(here))):
                stays.setdefault((highs, frozenset(marks)), Stay(highs, marks, moment))
                continue
            key = (to, lows, highs, sources, frozenset(marks))
            moves.setdefault(key, Move(to, lows, highs, sources, marks, moment, restarts))
        every = tuple(stays.values())
        return Moves(tuple(moves.values()), _longest(every), tuple(s for s in every if s.marks))

    def _marks(self, moment: Moment, to: Situation) -> list[Mark]:
        return [mark for observer in self.question.observers for mark in observer(moment, to)]

    def _moments(self, at: Situation) -> Iterator[tuple[Moment, frozenset[Clock], Situation]]:
        """List every loop that is possible here, the mechanisms choosing first."""
        model = self.model
        controls = self._controls(at)
        choices = [
            list(self._motions(number, at, controls)) for number in range(len(model.mechanism))
        ]
        for moved in product(*choices):
            if sum(motion.stalls is not None for motion in moved) > 1:
                continue
            lows, highs = _met(moved)
            if _possible(lows, highs):
                start = _Partial((None,) * len(model.inputs), (), lows, highs)
                for partial in self._chosen(at, controls, moved, start):
                    yield from self._finish(at, controls, moved, partial)

    def _chosen(
        self, at: Situation, controls: Sight, moved: tuple[Motion, ...], start: "_Partial"
    ) -> Iterable["_Partial"]:
        """Let the inputs and then the regions choose, region by region.

        An input is chosen when the first region asks for it, and told apart no longer than until
        the last one has: two partial loops that differ in nothing that matters later are one.
        """
        forces = self._forces([motion.state for motion in moved])
        kept = self.followed
        told_apart = self._asks.edges | self._asks.held
        partials: Iterable[_Partial] = [start]
        spots = [self.spot(number, place) for number, place in enumerate(at.places)]
        for number, here in enumerate(spots):
            later = kept.union(*(spot.asks.inputs for spot in spots[number + 1 :]))
            found: dict[object, _Partial] = {}
            for partial in partials:
                for opened in self._opened(at, forces, partial, here.asks.inputs):
                    told = self._told(at, controls, opened)
                    for option in self._choose(number, at.places[number], told):
                        joined = opened.joined(option)
                        if joined is not None:
                            found.setdefault(
                                joined.key(later, self._asks.inputs, told_apart), joined
                            )
            partials = found.values()
        wanted = self._apart
        rest = [n for n in wanted if not (self.question.holds and at.readings[n] is None)]
        return [
            opened for partial in partials for opened in self._opened(at, forces, partial, rest)
        ]

    def is_forced(self, at: Situation, number: int) -> bool:
        """Tell whether a mechanism forces an input where it stands."""
        return number in self._forces([standing.state for standing in at.standings])

    @property
    def judged(self) -> frozenset[int]:
        """Number the inputs that watches and observers judge."""
        return self._asks.inputs

    def asks(self, at: Situation) -> frozenset[int]:
        """Give the inputs that the next loop can depend on."""
        spots = (self.spot(number, place) for number, place in enumerate(at.places))
        return self._asks.inputs.union(*(here.asks.inputs for here in spots))

    def sees_edge(self, at: Situation, number: int) -> bool:
        """Tell whether anybody would notice in the next loop that an input has just changed."""
        return number in self._asks.edges or any(
            number in self.spot(region, place).asks.edges for region, place in enumerate(at.places)
        )

    def _opened(
        self, at: Situation, forces: dict[int, str], partial: "_Partial", asks: Iterable[int]
    ) -> Iterator["_Partial"]:
        """Choose what the inputs do that are asked for and not chosen yet."""
        open_ones = [number for number in sorted(asks) if partial.changes[number] is None]
        if not open_ones:
            yield partial
            return
        several = [
            list(
                self._changes(
                    n,
                    at.readings[n],
                    forces,
                    sees=self.sees_edge(at, n),
                    is_let_go=n in self.forced and self.is_forced(at, n),
                )
            )
            for n in open_ones
        ]
        for chosen in product(*several):
            opened = partial.with_changes(open_ones, chosen)
            if opened is not None:
                yield opened

    def _told(self, at: Situation, controls: Sight, partial: "_Partial") -> Sight:
        inputs = tuple(None if change is None else change.seen for change in partial.changes)
        return Sight(self.model, inputs, at.counters, controls.leaves)

    def _motions(self, number: int, at: Situation, controls: Sight) -> Iterator[Motion]:
        stalled = at.stalled[1] if at.stalled is not None and at.stalled[0] == number else None
        may_stall = self.question.may_stall and at.stalled is None
        return motions(
            self.model, number, at.standings[number], controls, stalled, may_stall=may_stall
        )

    def _controls(self, at: Situation) -> Sight:
        """Give what the last loop left, as `while` sees it."""
        inputs = tuple(None if r is None else Seen(r.steady) for r in at.readings)
        leaves = tuple(place.leaf for place in at.places)
        outputs = self._drive(at.places, at.kept)
        states = tuple(standing.state for standing in at.standings)
        return Sight(self.model, inputs, at.counters, leaves, outputs, outputs, states)

    def _changes(
        self,
        number: int,
        now: Reading | None,
        forces: dict[int, str],
        *,
        sees: bool,
        is_let_go: bool,
    ) -> Iterator[Change]:
        still = self.question.still
        if self.question.holds and now is not None and number not in forces:
            trues = self.model.inputs[number].values if is_let_go else (now.raw,)
            yield from held_changes(self.model, number, now, trues if number in self.forced else ())
        elif self._is_filtered(number) and now is not None:
            for true in self._true_values(number, forces):
                for change in filtered_changes(self.model, number, now, true):
                    if still is not None and still.settled and number not in self.forced:
                        yield _settled(change)
                    else:
                        yield change
        elif now is not None:
            for change in free_changes(self.model, number, now):
                yield change
        else:
            yield from loose_changes(
                self.model, number, has_edges=sees, is_judged=number in self._asks.inputs
            )

    def _true_values(self, number: int, forces: dict[int, str]) -> tuple[str, ...]:
        if number in forces:
            return (forces[number],)
        still = self.question.still
        if still is not None and (value := still.values[number]) is not None:
            return (value,)
        return self.model.inputs[number].values

    def _forces(self, states: Sequence[int]) -> dict[int, str]:
        return {
            self.model.input_index[name]: value
            for mechanism, state in zip(self.model.mechanism, states, strict=True)
            for name, value in mechanism.states[state].reads
        }

    def _choose(self, number: int, place: Place, told: Sight) -> tuple[Option, ...]:
        here = self.spot(number, place)
        key = (
            number,
            place,
            tuple(told.inputs[i] for i in sorted(here.asks.inputs)),
            tuple(told.counters[i] for i in sorted(here.asks.counters)),
            tuple(told.leaves[i] for i in sorted(here.asks.regions)),
        )
        known = self._options.get(key)
        if known is None:
            known = self._options[key] = tuple(choose(here.ways, told))
        return known

    def _finish(
        self, at: Situation, controls: Sight, moved: tuple[Motion, ...], partial: "_Partial"
    ) -> Iterator[tuple[Moment, frozenset[Clock], Situation]]:
        model, changed = self.model, partial.changes
        told = self._told(at, controls, partial)
        restarts: set[Clock] = {
            clock for change in changed if change is not None for clock in change.restarts
        }
        ways = tuple(option.way for option in partial.options)
        places = tuple(
            place if way is None else way.to for place, way in zip(at.places, ways, strict=True)
        )
        for number, way in enumerate(ways):
            if way is not None:
                restarts |= {("region", number, depth) for depth in way.restarts}
        counters, beyond = self._act(at.counters, ways)
        outputs = self._drive(places, controls.outputs)
        states = tuple(motion.state for motion in moved)
        leaves = tuple(place.leaf for place in places)
        readings = tuple(None if change is None else change.to for change in changed)
        after = Sight(model, told.inputs, counters, leaves, outputs, controls.outputs, states)
        standings = []
        for number, motion in enumerate(moved):
            standing, started = self._settle(number, at.standings[number], motion, after)
            standings.append(standing)
            restarts |= started
        truly = tuple(None if change is None else change.truly for change in changed)
        found = Sight(
            model,
            truly,
            at.counters,
            controls.leaves,
            controls.outputs,
            controls.outputs,
            controls.mechanism,
        )
        left = Sight(model, truly, counters, leaves, outputs, controls.outputs, states)
        stalled = next(
            ((n, m.stalls) for n, m in enumerate(moved) if m.stalls is not None), at.stalled
        )
        moment = Moment(
            at,
            told,
            found,
            left,
            ways,
            moved,
            tuple(None if change is None else change.raw for change in changed),
            beyond,
            tuple(sorted(partial.lows.items())),
            tuple(sorted(partial.highs.items())),
        )
        watched = [
            watch.go_on(number, at.watch[number], moment)
            for number, watch in enumerate(self.question.watches)
        ]
        for nexts in product(*watched):
            landed = _Landed(places, counters, tuple(standings), readings, outputs, stalled)
            yield from self._watched(moment, nexts, restarts, landed)

    def _watched(
        self,
        moment: Moment,
        nexts: tuple[Next, ...],
        restarts: set[Clock],
        landed: "_Landed",
    ) -> Iterator[tuple[Moment, frozenset[Clock], Situation]]:
        all_restarts = frozenset(
            restarts
            | {
                ("watch", number, which)
                for number, following in enumerate(nexts)
                for which in following.restarts
            }
        )
        if nexts:
            lows, highs = _met(nexts, dict(moment.lows), dict(moment.highs))
            if not _possible(lows, highs):
                return
            moment = _bounded(moment, lows, highs)
        watch = tuple(following.place for following in nexts)
        yield moment, all_restarts, self._landed(landed, watch)

    def _landed(self, landed: "_Landed", watch: tuple[int, ...]) -> Situation:
        """Forget the readings that nobody follows."""
        kept = tuple(
            value if output.keeps else ""
            for output, value in zip(self.model.outputs, landed.outputs, strict=True)
        )
        readings = tuple(
            None
            if number not in self.followed or reading is None
            else reading
            if self._is_filtered(number) or reading.steady != reading.truly
            else reading._replace(raw="")
            for number, reading in enumerate(landed.readings)
        )
        return Situation(
            landed.places,
            landed.counters,
            landed.standings,
            readings,
            kept,
            landed.stalled,
            watch,
        )

    def _is_kept(self, number: int) -> bool:
        """Tell whether an input's reading is part of a situation."""
        if self._is_filtered(number) or self.question.holds:
            return True
        if number in self.follow or number in self._while_inputs:
            return True
        clocks = {
            since_clock(number),
            truly_clock(self.model, number),
            filter_clock(number),
        }
        return self.tracked is None or bool(clocks & self.tracked)

    # --- Parts of a loop ---

    def spot(self, number: int, place: Place) -> Spot:
        known = self._spots.get((number, place))
        if known is None:
            known = self._spots[number, place] = spot(self.model, number, place)
        return known

    def _act(
        self, counters: tuple[int, ...], ways: tuple[Way | None, ...]
    ) -> tuple[tuple[int, ...], tuple[str, ...]]:
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

    def _drive(self, places: Sequence[Place], last: Sequence[str]) -> tuple[str, ...]:
        sets: dict[str, str] = {}
        for number, place in enumerate(places):
            sets.update(self.spot(number, place).sets)
        return tuple(
            sets.get(output.name, before if output.keeps else output.rest)
            for output, before in zip(self.model.outputs, last, strict=True)
        )

    def _settle(
        self, number: int, before: Standing, motion: Motion, after: Sight
    ) -> tuple[Standing, set[Clock]]:
        mechanism = self.model.mechanism[number]
        if motion.ended:
            stand = enter(mechanism, motion.state)
            old: tuple[Phase, ...] = (Phase.FRESH,) * len(stand.progress)
        else:
            old = before.phases
            stand = Stand(motion.state, tuple(Progress(phase) for phase in old), entered=False)
        settled = _standing(settle(mechanism, stand, lambda c: bool(after.judge(c))))
        started = {
            movement_clock(number, which)
            for which, (was, now) in enumerate(zip(old, settled.phases, strict=True))
            if now.is_running and not was.is_running
        }
        return settled, started


def _standing(stand: Stand) -> Standing:
    return Standing(stand.state, tuple(progress.phase for progress in stand.progress))


def _is_interlock(way: Way) -> bool:
    return way.transition is not None and way.transition.part is Part.INTERLOCK


def _interlock_inputs(model: Model, here: Spot) -> frozenset[int]:
    return asked(model, (way.when for way in here.ways if _is_interlock(way))).inputs


def _hold(model: Model, held: dict[tuple[int, str], int], condition: Condition | None) -> None:
    for atom in atoms(condition):
        if isinstance(atom, HeldFor):
            key = (model.input_index[atom.name], atom.value)
            held[key] = max(held.get(key, 0), count(model, atom.time))


def _window_end(model: Model, movement: Movement) -> int:
    return window(model, movement, Phase.LATER)[1]


def _settled(change: Change) -> Change:
    def done(seen: Seen) -> Seen:
        return Seen(seen.value, settled=True)

    return Change(change.to, done(change.seen), done(change.truly), change.raw)


class _Bounds(Protocol):
    @property
    def lows(self) -> Lows: ...
    @property
    def highs(self) -> Lows: ...


def _met(
    parts: Iterable[_Bounds],
    lows: dict[Clock, int] | None = None,
    highs: dict[Clock, int] | None = None,
) -> tuple[dict[Clock, int], dict[Clock, int]]:
    least, most = dict(lows or {}), dict(highs or {})
    for part in parts:
        for clock, bound in part.lows:
            if bound > least.get(clock, 0):
                least[clock] = bound
        for clock, bound in part.highs:
            if bound < most.get(clock, bound + 1):
                most[clock] = bound
    return least, most


def _possible(lows: dict[Clock, int], highs: dict[Clock, int]) -> bool:
    if not highs:
        return True
    return all(bound <= highs.get(clock, bound) for clock, bound in lows.items())


def _bounded(moment: Moment, lows: dict[Clock, int], highs: dict[Clock, int]) -> Moment:
    return Moment(
        moment.before,
        moment.told,
        moment.found,
        moment.left,
        moment.ways,
        moment.motions,
        moment.raw,
        moment.beyond,
        tuple(sorted(lows.items())),
        tuple(sorted(highs.items())),
    )


def _numbered(bounds: Lows, here: dict[Clock, int]) -> tuple[tuple[int, int], ...]:
    return tuple(sorted((here[clock], bound) for clock, bound in bounds if clock in here))


def _longest(stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """Keep the stays that allow to wait where no other one does."""
    found: list[Stay] = []
    for stay in sorted(stays, key=lambda s: len(s.highs)):
        mine = dict(stay.highs)
        if not any(
            all(mine.get(clock, -1) >= 0 and mine[clock] <= most for clock, most in other.highs)
            for other in found
        ):
            found.append(stay)
    return tuple(found)
