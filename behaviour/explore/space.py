"""All that a prop can do in one loop from where it is, and the bounds on clocks for it.

It knows the model and its world; what is asked about them comes as watches and marks from outside.

Strategy: a situation is where everything is, clocks apart. Its loops are built by letting the
mechanisms choose, then each region on what it reads, then the inputs that are followed, then the
watches; an input is opened only as far as somebody looks at it. Loops that come to the same are
one move. A loop that changes nothing and starts no clock is a stay: its upper bounds say how long
one may wait. Moves are built once a situation.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import product
from typing import NamedTuple

from behaviour.explore.bounds import NO_BOUNDS, Bounds, meet
from behaviour.explore.guards import Clock, Limit, Lows, Seen, atoms, count, gathered
from behaviour.explore.lines import (
    first_line,
    line_changes,
    line_limits,
    loose_line,
    restarted_line,
    true_clock,
    true_filter_clock,
    turned_line,
)
from behaviour.explore.opened import Change, Choices, Masks, Opened, Reading, forks, met
from behaviour.explore.places import Asked, Option, Place, Spot, Way, asked, choose, spot, started
from behaviour.explore.sight import Sight
from behaviour.explore.situations import (
    Mark,
    Marked,
    Moment,
    Move,
    Moves,
    Question,
    Situation,
    Stay,
)
from behaviour.explore.surroundings import (
    Motion,
    Standing,
    filter_clock,
    filtered_changes,
    filtered_limit,
    first_readings,
    free_changes,
    free_limits,
    held_changes,
    loose_changes,
    motions,
    movement_clock,
    since_clock,
    truly_clock,
    turned_change,
)
from behaviour.findings import Beat
from behaviour.model import Condition, HeldFor, Mechanism, Model, Part
from behaviour.semantics import acted
from behaviour.world.circuit import Circuit, Lives, acting, beat, is_whole
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
NO_CLOCKS: dict[Clock, Limit] = {}
ALL = -1
"""The mask of an input of which every change will do."""

_Decided = tuple[tuple[Masks, tuple[Option, ...]], ...]


NOTHING = Option(None, (), ())


class _Loop(NamedTuple):
    """A loop before anybody has chosen: where it begins, and what the world may do in it.

    `lives` say how the faults stand in it.
    """

    at: Situation
    controls: Sight
    moved: tuple[Motion, ...]
    choices: tuple[Choices | None, ...]
    lives: Lives


class _Chosen(NamedTuple):
    """A loop as far as it is chosen: what inputs may still do, what regions do, and the bounds."""

    masks: Masks
    options: tuple[Option, ...]
    bounds: Bounds


class _Case(NamedTuple):
    """One way in which a loop can go: the clocks that begin, where it leads, and its marks."""

    moment: Moment
    restarts: frozenset[Clock]
    to: Situation
    marks: list[Mark]


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
    circuit: Circuit = field(init=False)
    _wires: tuple[int, ...] = field(init=False)
    forced: frozenset[int] = field(init=False)
    _asks: Asked = field(init=False)
    _while_inputs: frozenset[int] = field(init=False)
    followed: frozenset[int] = field(init=False)
    _apart: frozenset[int] = field(init=False)
    _has_keeps: bool = field(init=False)
    _nothing_kept: tuple[str, ...] = field(init=False)
    _rest: tuple[str, ...] = field(init=False)
    _begin: tuple[int, ...] = field(init=False)
    asked_first: frozenset[int] = field(init=False)
    _spots: dict[tuple[int, Place], Spot] = field(default_factory=dict, init=False)
    _options: dict[object, _Decided] = field(default_factory=dict, init=False)
    _moves: dict[Situation, Moves] = field(default_factory=dict, init=False)
    _clocks: dict[Situation, dict[Clock, Limit]] = field(default_factory=dict, init=False)
    _held: dict[tuple[int, str], int] = field(default_factory=dict, init=False)
    _truly_held: dict[tuple[int, str], int] = field(default_factory=dict, init=False)
    _choices: dict[object, Choices] = field(default_factory=dict, init=False)
    _settled: dict[object, tuple[Standing, frozenset[Clock]]] = field(
        default_factory=dict, init=False
    )
    _drives: dict[object, tuple[str, ...]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        model = self.model
        self.circuit = Circuit(model, self.question.faults)
        wires = self.circuit.wires
        self._wires = () if wires == tuple(range(len(wires))) else wires
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
        anybody = (way.when for region in model.regions for way in region.transitions())
        looked_at = {wires[n] for n in asked(model, anybody).inputs}
        idle = self.circuit.lines - looked_at - self._asks.inputs
        self.followed = frozenset(
            n for n in range(len(model.inputs)) if n not in idle and self._is_kept(n)
        )
        self._apart = self.followed | self._asks.inputs
        self._has_keeps = any(output.keeps for output in model.outputs)
        self._nothing_kept = ("",) * len(model.outputs)
        self._rest = tuple(output.rest for output in model.outputs)
        self._begin = tuple(region.leaf(region.begins) for region in model.regions)
        begin = (self.spot(at, Place(leaf)) for at, leaf in enumerate(self._begin))
        first = (n for spot in begin for n in _interlock_inputs(model, spot))
        self.asked_first = frozenset(wires[n] for n in first)

    # --- Clocks ---

    def clocks(self, at: Situation) -> dict[Clock, Limit]:
        """Map each clock that counts here to the most it is asked for, in a fixed order."""
        if self.tracked is not None and not self.tracked:
            return NO_CLOCKS
        known = self._clocks.get(at)
        if known is None:
            known = gathered(self._limits(at))
            if self.tracked is not None:
                known = {clock: limit for clock, limit in known.items() if clock in self.tracked}
            self._clocks[at] = known
        return known

    def _limits(self, at: Situation) -> Iterator[tuple[Clock, Limit]]:
        for number, place in enumerate(at.places):
            yield from self.spot(number, place).limits
        for number, standing in enumerate(at.standings):
            yield from self._movement_limits(number, standing, at.stalled)
        for number, reading in enumerate(at.readings):
            if reading is not None:
                for clock, limit in self._reading_limits(number, reading):
                    if limit.counts:
                        yield clock, limit
        for number, watch in enumerate(self.question.watches):
            for which, limit in watch.limits(at.watch[number]):
                if limit.most >= 0:
                    yield ("watch", number, which), limit

    def _movement_limits(
        self, number: int, standing: Standing, stalled: tuple[int, int] | None
    ) -> Iterator[tuple[Clock, Limit]]:
        movements = self.model.mechanism[number].states[standing.state].movements
        for which, (movement, phase) in enumerate(zip(movements, standing.phases, strict=True)):
            if phase.is_running and (number, movement.number) != stalled:
                low, high = window(self.model, movement, phase)
                if high > 1:
                    yield movement_clock(number, which), Limit(low, high)

    def _reading_limits(self, at: int, now: Reading) -> Iterator[tuple[Clock, Limit]]:
        truly, reader = truly_clock(self.model, at), self.circuit.wires[at]
        if at in self.circuit.lines:
            truly = true_clock(at)
            yield from line_limits(self.circuit, at, now)
        elif self._is_filtered(at):
            yield filtered_limit(self.model, at, now)
        else:
            yield from free_limits(self.model, at, now)
        still = self.question.still
        if still is None or not still.settled or at in self.forced:
            for clock, loops in (
                (since_clock(reader), self._held.get((reader, now.steady), 0)),
                (truly, self._truly_held.get((at, now.truly), 0)),
            ):
                if loops:
                    yield clock, Limit(loops, loops - 1)

    def _is_filtered(self, at: int) -> bool:
        if at in self.question.free:
            return False
        return at in self.forced or self.question.still is not None

    # --- Power-up ---

    def begin(self) -> tuple[Move, ...]:
        """List the situations that power-up can lead to; no clock is asked for anything."""
        found: dict[object, Move] = {}
        stood = product(*(at_power_up(mechanism) for mechanism in self.model.mechanism))
        for stands, lives in product(stood, self.circuit.at_power_up()):
            forces = self._forces([stand.state for stand in stands])
            choices = tuple(
                self._first_choices(number, forces, lives)
                for number in range(len(self.model.inputs))
            )
            every = _every(choices)
            look = partial(self._power_up, stands, lives, choices)
            for masks in self._followed_apart(choices, every):
                for _, moves in forks(masks, look):
                    for move in moves:
                        key = (move.to, move.marks and move.moment.raw)
                        found.setdefault(key, move)
        return tuple(found.values())

    def _first_choices(self, number: int, forces: dict[int, str], lives: Lives) -> Choices | None:
        """Give what an input may truly be at power-up; None if nobody asks."""
        is_asked = number in self._apart or number in self.asked_first
        if not is_asked and self.question.still is None:
            return None
        changes = []
        for value in self._true_values(number, forces):
            if number in self.circuit.lines:
                reader = self.circuit.wires[number]
                reads = self.circuit.reads(acting(lives), reader, value)
                changes += [first_line(self.model, reader, value, read) for read in reads]
                continue
            reading = first_readings(self.model, number, value)
            told, truly = Seen(reading.steady), Seen(reading.truly)
            changes.append(Change(reading, told, truly, value))
        safe = self.model.inputs[number].safe
        changes.sort(key=lambda change: change.raw == safe)
        return Choices(self.model, tuple(changes))

    def _followed_apart(self, choices: tuple[Choices | None, ...], masks: Masks) -> Iterator[Masks]:
        """Choose what each input does that is part of a situation."""
        several = [
            [bit for bit, _ in here.within(mask)]
            if mask & (mask - 1) and here is not None and number in self.followed
            else [mask]
            for number, (here, mask) in enumerate(zip(choices, masks, strict=True))
        ]
        return product(*several)

    def _power_up(
        self,
        stands: Sequence[Stand],
        lives: Lives,
        choices: tuple[Choices | None, ...],
        masks: Masks,
    ) -> list[Move]:
        model, opened = self.model, Opened(choices, masks, self._wires)
        counters = tuple(counter.begins for counter in model.counters)
        ways = self._first_ways(
            sight := Sight(model, opened, truly=False, counters=counters, leaves=self._begin)
        )
        places = tuple(
            Place(leaf) if way is None else way.to
            for leaf, way in zip(self._begin, ways, strict=True)
        )
        outputs = self._drive(places, self._rest)
        lives = self._left(lives, self._rest, outputs)
        real = self.circuit.real(acting(lives), outputs)
        states = tuple(stand.state for stand in stands)
        left = Sight(
            model,
            opened,
            truly=True,
            counters=counters,
            leaves=tuple(place.leaf for place in places),
            outputs=real,
            outputs_before=real,
            mechanism=states,
        )
        moment = Moment(None, sight, left, left, tuple(ways), (), (), (), (), lives)
        controls = left._replace(truly=self.circuit.parts)
        standings = tuple(
            _standing(settle(mechanism, stand, lambda c: bool(controls.judge(c))))
            for mechanism, stand in zip(model.mechanism, stands, strict=True)
        )
        changes = tuple(opened.change(number) for number in range(len(model.inputs)))
        starts = [
            list(watch.begin(number, moment)) for number, watch in enumerate(self.question.watches)
        ]
        found: list[Move] = []
        for nexts in product(*starts):
            situation = Situation(
                places,
                counters,
                standings,
                self._readings(changes),
                self._kept(outputs),
                None,
                tuple(following.place for following in nexts),
                lives,
            )
            marks = tuple(Marked(m.name, m.lows, ()) for m in self._marks(moment, situation))
            sources = (-1,) * len(self.clocks(situation))
            found.append(Move(situation, (), (), sources, marks, moment))
        return found

    # --- One loop ---

    def moves(self, at: Situation) -> Moves:
        """Give everything that the next loop can bring."""
        known = self._moves.get(at)
        if known is None:
            known = self._moves[at] = self._build(at)
        return known

    def _build(self, at: Situation) -> Moves:
        here = {clock: number for number, clock in enumerate(self.clocks(at))}
        same = tuple(range(len(here)))
        moves: dict[object, Move] = {}
        stays: dict[object, Stay] = {}
        for moment, restarts, to, found in self._moments(at):
            lows, highs = _numbered(moment.lows, here), _numbered(moment.highs, here)
            marks = tuple(
                Marked(mark.name, mark.lows, _numbered(mark.lows, here)) for mark in found
            )
            sources = self._sources(at, here, to, restarts)
            is_quiet = not any(way is not None and way.restarts for way in moment.ways)
            if is_quiet and not lows and to == at and sources == same:
                same_stay = (highs, frozenset(marks), _acted(moment))
                if _is_freer(moment, stays.get(same_stay)):
                    stays[same_stay] = Stay(highs, marks, moment)
                continue
            acted = _acted(moment)
            key = (to, lows, highs, sources, acted, frozenset(marks) if marks else None)
            if _is_freer(moment, moves.get(key)):
                moves[key] = Move(to, lows, highs, sources, marks, moment, restarts)
        every = tuple(stays.values())
        return Moves(tuple(moves.values()), _longest(every), tuple(s for s in every if s.marks))

    def _sources(
        self, at: Situation, here: dict[Clock, int], to: Situation, restarts: frozenset[Clock]
    ) -> tuple[int, ...]:
        there = self.clocks(to)
        if not there:
            return ()
        sources = tuple(-1 if clock in restarts else here.get(clock, LOST) for clock in there)
        if LOST in sources:
            missing = [c for c, s in zip(there, sources, strict=True) if s == LOST]
            raise AssertionError(f"clocks {missing} count in {to} and did not in {at}")
        return sources

    def _marks(self, moment: Moment, to: Situation) -> list[Mark]:
        return [mark for observer in self.question.observers for mark in observer(moment, to)]

    def _moments(self, at: Situation) -> Iterator[_Case]:
        """List every loop that is possible here, the mechanisms choosing first."""
        asks = self.asks(at)
        controls = self._controls(at)
        several = [
            list(self._motions(number, at, controls)) for number in range(len(self.model.mechanism))
        ]
        for moved, lives in product(product(*several), self._lives(at)):
            if sum(motion.stalls is not None for motion in moved) > 1:
                continue
            bounds: Bounds | None = NO_BOUNDS
            for motion in moved:
                bounds = None if bounds is None else meet(bounds, motion)
            if bounds is None:
                continue
            forces = self._forces([motion.state for motion in moved])
            choices = tuple(
                self._choice(number, at, forces, lives) if number in asks else None
                for number in range(len(self.model.inputs))
            )
            loop = _Loop(at, controls, moved, choices, lives)
            for chosen in self._chosen(loop, bounds):
                yield from self._finished(loop, chosen)

    def _chosen(self, loop: _Loop, bounds: Bounds) -> Iterator[_Chosen]:
        """Let the regions choose one by one, and then what each input does that is followed.

        Two loops that differ in nothing that matters to anybody later are one.
        """
        every = _every(loop.choices)
        if beat(loop.lives) is not Beat.RUNS:
            for begun in self._stopped(loop, bounds):
                yield from self._following(loop, begun)
            return
        partials = [_Chosen(every, (), bounds)]
        for number, later in enumerate(self._later(loop.at)):
            found: dict[object, _Chosen] = {}
            decided = self._decided(number, loop)
            for begun in partials:
                for masks, options in decided:
                    kept = met(begun.masks, masks)
                    if kept is None:
                        continue
                    mattering = tuple(kept[n] for n in later)
                    for option in options:
                        both = meet(begun.bounds, option)
                        if both is not None:
                            taken = (*begun.options, option)
                            key = (mattering, tuple(map(id, taken)), both)
                            if key not in found:
                                found[key] = _Chosen(kept, taken, both)
            partials = list(found.values())
        for begun in partials:
            yield from self._following(loop, begun)

    def _stopped(self, loop: _Loop, bounds: Bounds) -> Iterator[_Chosen]:
        """Let regions do what they do where the controller makes no loop: nothing, or begin."""
        every = _every(loop.choices)
        if beat(loop.lives) is not Beat.STARTS:
            yield _Chosen(every, (NOTHING,) * len(loop.at.places), bounds)
            return
        counters = tuple(counter.begins for counter in self.model.counters)

        def look(masks: Masks) -> tuple[Option, ...]:
            opened = Opened(loop.choices, masks, self._wires)
            ways = self._first_ways(Sight(self.model, opened, False, counters, self._begin))  # noqa: FBT003
            return tuple(
                Option(started(region, self._begin[number] if way is None else way.to.leaf), (), ())
                for number, (region, way) in enumerate(zip(self.model.regions, ways, strict=True))
            )

        for masks, options in forks(every, look):
            yield _Chosen(masks, options, bounds)

    def _first_ways(self, sight: Sight) -> list[Way | None]:
        """Give the interlock that holds at power-up in each region, if one does."""
        return [
            next(
                (
                    way
                    for way in self.spot(number, Place(leaf)).ways
                    if _is_interlock(way) and sight.judge(way.when)
                ),
                None,
            )
            for number, leaf in enumerate(self._begin)
        ]

    def _set(self, at: Situation) -> tuple[str, ...]:
        """Give the outputs as the controller has them where a loop has left things."""
        if beat(at.lives) is Beat.IS_DOWN:
            return self._rest
        return self._drive(at.places, at.kept)

    def _later(self, at: Situation) -> list[list[int]]:
        """List for each region the inputs that still matter once it has chosen."""
        after: list[list[int]] = []
        mattering = self.followed | self._asks.inputs
        if self.question.observers:
            mattering |= self.looked_at(at)
        for number in reversed(range(len(at.places))):
            after.append(sorted(mattering))
            mattering |= self.spot(number, at.places[number]).asks.inputs
        return after[::-1]

    def _following(self, loop: _Loop, begun: _Chosen) -> Iterator[_Chosen]:
        """Choose what each input does that is part of a situation."""
        for masks in self._followed_apart(loop.choices, begun.masks):
            bounds: Bounds | None = begun.bounds
            for number in self.followed:
                choice = loop.choices[number]
                if choice is not None and bounds is not None:
                    bounds = meet(bounds, choice.first(masks[number]))
            if bounds is not None:
                yield _Chosen(masks, begun.options, bounds)

    def _decided(self, number: int, loop: _Loop) -> _Decided:
        """Give what a region chooses, for each part of what its inputs may do."""
        at = loop.at
        here = self.spot(number, at.places[number])
        key = (
            number,
            at.places[number],
            tuple(id(loop.choices[i]) for i in here.asks.inputs),
            tuple(at.counters[i] for i in here.asks.counters),
            tuple(at.places[i].leaf for i in here.asks.regions),
        )
        known = self._options.get(key)
        if known is None:
            leaves = tuple(place.leaf for place in at.places)
            every = _every(loop.choices)

            def look(masks: Masks) -> tuple[Option, ...]:
                opened = Opened(loop.choices, masks, self._wires)
                told = Sight(self.model, opened, truly=False, counters=at.counters, leaves=leaves)
                return tuple(choose(here.ways, told))

            wide = [
                (tuple(m if n in here.asks.inputs else ALL for n, m in enumerate(masks)), options)
                for masks, options in forks(every, look)
            ]
            known = self._options[key] = tuple(wide)
        return known

    def _choice(
        self, number: int, at: Situation, forces: dict[int, str], lives: Lives
    ) -> Choices | None:
        """Give all that an input may do; None where it is held and nobody knows at what."""
        now = at.readings[number]
        if now is None and self.question.holds and number not in self.question.free:
            return None
        is_let_go = number in self.forced and self.is_forced(at, number)
        on_line = number in self.circuit.lines
        key = (number, now, forces.get(number), is_let_go, lives if on_line else ())
        known = self._choices.get(key)
        if known is None:
            if on_line and now is None and not is_whole(lives):
                changes = tuple(loose_line(self.model, number))
            elif on_line and now is not None:
                changes = tuple(self._line_changes(number, now, forces, lives, is_let_go=is_let_go))
            else:
                changes = tuple(self._changes(number, now, forces, is_let_go=is_let_go))
            known = self._choices[key] = Choices(self.model, changes)
        return known

    def is_forced(self, at: Situation, number: int) -> bool:
        """Tell whether a mechanism forces an input where it stands."""
        return number in self._forces([standing.state for standing in at.standings])

    @property
    def judged(self) -> frozenset[int]:
        """Number the inputs that watches and observers judge."""
        return self._asks.inputs

    def asks(self, at: Situation) -> frozenset[int]:
        """Give the inputs that the next loop can depend on, or that are part of a situation."""
        spots = (self.spot(number, place) for number, place in enumerate(at.places))
        first = self.asked_first if self.circuit.stops else frozenset[int]()
        return self._apart.union(first, *(here.asks.inputs for here in spots))

    def looked_at(self, at: Situation) -> frozenset[int]:
        """Give the inputs that somebody may look at in the next loop."""
        spots = (self.spot(number, place) for number, place in enumerate(at.places))
        return self._asks.inputs.union(*(here.asks.inputs for here in spots))

    def _motions(self, number: int, at: Situation, controls: Sight) -> Iterator[Motion]:
        stalled = at.stalled[1] if at.stalled is not None and at.stalled[0] == number else None
        may_stall = self.question.may_stall and at.stalled is None
        only, name = self.question.stalls, self.model.mechanism[number].name
        return (
            motion
            for motion in motions(
                self.model, number, at.standings[number], controls, stalled, may_stall=may_stall
            )
            if motion.stalls is None or not only or (name, motion.stalls) in only
        )

    def _controls(self, at: Situation) -> Sight:
        """Give what the last loop left, as `while` sees it."""
        choices = tuple(
            None if now is None else self._known(number, now)
            for number, now in enumerate(at.readings)
        )
        outputs = self.circuit.real(acting(at.lives), self._set(at))
        return Sight(
            self.model,
            Opened(choices, _every(choices), self._wires),
            truly=self.circuit.parts,
            counters=at.counters,
            leaves=tuple(place.leaf for place in at.places),
            outputs=outputs,
            outputs_before=outputs,
            mechanism=tuple(standing.state for standing in at.standings),
        )

    def _known(self, number: int, now: Reading) -> Choices:
        key = ("known", number, now)
        if key not in self._choices:
            only = Change(now, Seen(now.steady), Seen(now.truly), now.raw)
            self._choices[key] = Choices(self.model, (only,))
        return self._choices[key]

    def _changes(
        self, number: int, now: Reading | None, forces: dict[int, str], *, is_let_go: bool
    ) -> Iterator[Change]:
        still = self.question.still
        turn = self.question.turn
        if turn is not None and turn[0] == number and now is not None and number not in forces:
            yield turned_change(self.model, number, now, turn[1])
        elif self._is_held(number, forces) and now is not None:
            trues = self.model.inputs[number].values if is_let_go else (now.raw,)
            yield from held_changes(self.model, number, now, trues if number in self.forced else ())
        elif self._is_filtered(number) and now is not None:
            for true in self._true_values(number, forces):
                for change in filtered_changes(self.model, number, now, true):
                    if still is not None and still.settled and number not in self.forced:
                        yield _settled(change)
                    else:
                        yield change
        else:
            toward = self.question.toward
            only = None if toward is None or number in self.question.free else toward[number]
            if now is not None:
                yield from free_changes(self.model, number, now, only)
            else:
                yield from loose_changes(self.model, number, only)

    @property
    def _is_planned(self) -> bool:
        """Tell whether people do as they mean to, and no fault begins that need not."""
        question = self.question
        return question.holds or question.toward is not None or question.turn is not None

    def _lives(self, at: Situation) -> tuple[Lives, ...]:
        """List how the faults may stand in the next loop."""
        if self._is_planned:
            return tuple(self.circuit.unmoved(at.lives))
        return tuple(self.circuit.onward(at.lives))

    def settled_line(self, number: int, lives: Lives, true: str) -> Reading:
        """Give where the wire of an input is that has long had a value, if it can be quiet."""
        reader = self.circuit.wires[number]
        read = self.circuit.reads(acting(lives), reader, true)[0]
        return Reading(read, true, read, true)

    def _line_changes(
        self,
        number: int,
        now: Reading,
        forces: dict[int, str],
        lives: Lives,
        *,
        is_let_go: bool,
    ) -> Iterator[Change]:
        wrong, reader, now_beat = acting(lives), self.circuit.wires[number], beat(lives)
        turn = self.question.turn
        if turn is not None and turn[0] == number and number not in forces:
            yield turned_line(number, reader, self.settled_line(number, lives, turn[1]), now)
            return
        trues = self._true_values(number, forces)
        if self._is_held(number, forces) and not is_let_go:
            trues = (now.true,)
        for true in trues:
            reads = self.circuit.reads(wrong, reader, true)
            for read in reads[:1] if self._is_planned else reads:
                if now_beat is Beat.STARTS:
                    yield from restarted_line(self.model, number, reader, now, true, read)
                    continue
                yield from line_changes(
                    self.model,
                    number,
                    reader,
                    now,
                    true,
                    read,
                    most_flipped=self.circuit.most_flipped(reader, read),
                    is_whole=not wrong and not self.circuit.stops,
                    samples=now_beat is Beat.RUNS,
                )

    def _left(self, lives: Lives, before: tuple[str, ...], now: tuple[str, ...]) -> Lives:
        """Give how the faults stand once outputs are set."""
        if not self.circuit.stops:
            return lives
        began = any(
            output.hazard and was == output.rest != value
            for output, was, value in zip(self.model.outputs, before, now, strict=True)
        )
        return self.circuit.left(lives, hazard_began=began)

    def _is_held(self, number: int, forces: dict[int, str]) -> bool:
        free = self.question.free
        return self.question.holds and number not in forces and number not in free

    def _true_values(self, number: int, forces: dict[int, str]) -> tuple[str, ...]:
        if number in forces:
            return (forces[number],)
        still, toward = self.question.still, self.question.toward
        if still is not None and (value := still.values[number]) is not None:
            return (value,)
        if toward is not None:
            return (toward[number],)
        return self.model.inputs[number].values

    def _forces(self, states: Sequence[int]) -> dict[int, str]:
        return {
            self.model.input_index[name]: value
            for mechanism, state in zip(self.model.mechanism, states, strict=True)
            for name, value in mechanism.states[state].reads
        }

    def _finished(self, loop: _Loop, chosen: _Chosen) -> Iterator[_Case]:
        """Let the regions act, the outputs and mechanisms follow, and the watches look on."""
        at, controls, now_beat = loop.at, loop.controls, beat(loop.lives)
        ways = tuple(option.way for option in chosen.options)
        places = tuple(
            place if way is None else way.to for place, way in zip(at.places, ways, strict=True)
        )
        counters, beyond = self._act(at.counters, ways)
        if now_beat is Beat.STARTS:
            counters = tuple(counter.begins for counter in self.model.counters)
        set_before = self._set(at)
        outputs = self._rest if now_beat is Beat.IS_DOWN else self._drive(places, set_before)
        lives = self._left(loop.lives, set_before, outputs)
        real = self.circuit.real(acting(lives), outputs)
        states = tuple(motion.state for motion in loop.moved)
        leaves = tuple(place.leaf for place in places)
        stalled = next(
            ((n, m.stalls) for n, m in enumerate(loop.moved) if m.stalls is not None), at.stalled
        )
        followed = Opened(loop.choices, chosen.masks, self._wires)
        changes = [
            followed.change(n) if n in self.followed else None for n in range(len(followed.masks))
        ]
        model, before = self.model, controls.outputs
        after = Sight(model, followed, self.circuit.parts, counters, leaves, real, before, states)
        restarts = {clock for change in changes if change is not None for clock in change.restarts}
        for number, way in enumerate(ways):
            if way is not None:
                restarts |= {("region", number, depth) for depth in way.restarts}
        standings = []
        for number, motion in enumerate(loop.moved):
            standing, started = self._settle(number, at.standings[number], motion, after)
            standings.append(standing)
            restarts |= started
        quiet = Situation(
            places,
            counters,
            tuple(standings),
            self._readings(changes),
            self._kept(outputs),
            stalled,
            (),
            lives,
        )
        always = frozenset(restarts)
        begun = controls[3:]

        def look(masks: Masks) -> list[_Case]:
            opened = Opened(loop.choices, masks, self._wires)
            told, found, left = (
                Sight(model, opened, False, *begun),  # noqa: FBT003
                Sight(model, opened, True, *begun),  # noqa: FBT003
                Sight(model, opened, True, counters, leaves, real, before, states),  # noqa: FBT003
            )
            if now_beat is Beat.STARTS:
                found = left
            moment = Moment(
                at, told, found, left, ways, loop.moved, beyond, *chosen.bounds, loop.lives
            )
            return list(self._watched(moment, chosen.bounds, always, quiet))

        if not self.question.watches and not self.question.observers:
            yield from look(chosen.masks)
            return
        for _, cases in forks(chosen.masks, look):
            yield from cases

    def _watched(
        self, moment: Moment, bounds: Bounds, restarts: frozenset[Clock], quiet: Situation
    ) -> Iterator[_Case]:
        if not self.question.watches:
            yield _Case(moment, restarts, quiet, self._marks(moment, quiet))
            return
        before = () if moment.before is None else moment.before.watch
        begins = self.question.begins_anew and beat(moment.lives) is Beat.STARTS
        watched = [
            list(
                watch.begin(number, moment)
                if begins
                else watch.go_on(number, before[number], moment)
            )
            for number, watch in enumerate(self.question.watches)
        ]
        for nexts in product(*watched):
            both: Bounds | None = bounds
            for following in nexts:
                both = None if both is None else meet(both, following)
            if both is None:
                continue
            begun = frozenset(
                ("watch", number, which)
                for number, following in enumerate(nexts)
                for which in following.restarts
            )
            to = quiet._replace(watch=tuple(following.place for following in nexts))
            here = moment if both is bounds else moment._replace(lows=both.lows, highs=both.highs)
            yield _Case(here, restarts | begun, to, self._marks(here, to))

    def _readings(self, changes: Sequence[Change | None]) -> tuple[Reading | None, ...]:
        """Forget the readings that nobody follows."""
        readings: list[Reading | None] = [None] * len(changes)
        for number in self.followed:
            change = changes[number]
            if change is not None:
                to = change.to
                is_plain = (
                    to.steady == to.truly
                    and not self._is_filtered(number)
                    and number not in self.circuit.lines
                )
                readings[number] = to._replace(raw="") if is_plain and to.raw else to
        return tuple(readings)

    def _kept(self, outputs: tuple[str, ...]) -> tuple[str, ...]:
        if not self._has_keeps:
            return self._nothing_kept
        return tuple(
            value if output.keeps else ""
            for output, value in zip(self.model.outputs, outputs, strict=True)
        )

    def _is_kept(self, number: int) -> bool:
        """Tell whether an input's reading is part of a situation."""
        if number in self._while_inputs:
            return True
        if number in self.question.free:
            return False
        if self._is_filtered(number) or self.question.holds or number in self.follow:
            return True
        clocks = {
            since_clock(number),
            truly_clock(self.model, number),
            filter_clock(number),
        }
        if number in self.circuit.lines:
            clocks |= {true_filter_clock(number), true_clock(number)}
        return self.tracked is None or bool(clocks & self.tracked)

    # --- Parts of a loop ---

    def spot(self, number: int, place: Place) -> Spot:
        known = self._spots.get((number, place))
        if known is None:
            known = spot(self.model, number, place)
            if self._wires:
                inputs = frozenset(self._wires[n] for n in known.asks.inputs)
                known = replace(known, asks=replace(known.asks, inputs=inputs))
            self._spots[number, place] = known
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

    def _drive(self, places: tuple[Place, ...], last: tuple[str, ...]) -> tuple[str, ...]:
        key = (places, self._kept(last))
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

    def _settle(
        self, number: int, before: Standing, motion: Motion, after: Sight
    ) -> tuple[Standing, frozenset[Clock]]:
        """Give where a mechanism stands once outputs are set, and the clocks that begin by it."""
        mechanism = self.model.mechanism[number]
        movements = mechanism.states[motion.state].movements
        during = tuple(bool(after.judge(movement.during)) for movement in movements)
        old = None if motion.ended else before.phases
        key = (number, motion.state, old, during)
        known = self._settled.get(key)
        if known is None:
            known = self._settled[key] = _settle(mechanism, number, motion.state, old, during)
        return known


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
    settled = _standing(settle(mechanism, stand, lambda _: next(answers)))
    old = phases or (Phase.FRESH,) * len(settled.phases)
    started = frozenset(
        movement_clock(number, which)
        for which, (was, now) in enumerate(zip(old, settled.phases, strict=True))
        if now.is_running and not was.is_running
    )
    return settled, started


def _acted(moment: Moment) -> tuple[int, ...]:
    """Tell of each region whether it does nothing (0), something (1), or enters a state (2)."""
    return tuple(0 if way is None else 2 if way.restarts else 1 for way in moment.ways)


def _is_freer(moment: Moment, known: Move | Stay | None) -> bool:
    """Tell whether a loop stands for its like better: by fewer bounds on clocks not looked at."""
    return known is None or len(moment.highs) < len(known.moment.highs)


def _every(choices: Sequence[Choices | None]) -> Masks:
    return tuple(ALL if choice is None else choice.every for choice in choices)


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


def _settled(change: Change) -> Change:
    def done(seen: Seen) -> Seen:
        return Seen(seen.value, settled=True)

    return Change(change.to, done(change.seen), done(change.truly), change.raw)


def _numbered(bounds: Lows, here: dict[Clock, int]) -> tuple[tuple[int, int], ...]:
    if not bounds:
        return ()
    return tuple(sorted((here[clock], bound) for clock, bound in bounds if clock in here))


def _longest(stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """Keep the stays that allow to wait where no other one does that is worth no more marks."""
    found: list[Stay] = []
    for stay in sorted(stays, key=lambda s: (len(s.highs), len(s.marks))):
        mine = dict(stay.highs)
        if not any(
            all(mine.get(clock, -1) >= 0 and mine[clock] <= most for clock, most in other.highs)
            for other in found
            if (not other.marks or other.marks == stay.marks)
            and _acted(other.moment) == _acted(stay.moment)
        ):
            found.append(stay)
    return tuple(found)
