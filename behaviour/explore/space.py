"""All that a prop can do in one loop from where it is, and the bounds on clocks for it.

It knows the model and its world; what is asked about them comes as watches and marks from outside.

Strategy: a situation is where everything is, clocks apart. Its loops come from `loops.py`; here
the watches look on, opening inputs further where they look at them. Loops that come to the same are
one move. A loop that changes nothing and starts no clock is a stay: its upper bounds say how long
one may wait. Moves are built once a situation.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import product

from behaviour.explore.bounds import Bounds, meet
from behaviour.explore.guards import Clock, Limit, Lows, Seen, gathered
from behaviour.explore.limits import Limits
from behaviour.explore.lines import first_line, true_clock, true_filter_clock
from behaviour.explore.loops import ALL, Loop, Loops, is_filtered
from behaviour.explore.opened import Change, Choices, Masks, Opened, forks
from behaviour.explore.parts import Parts, standing_of
from behaviour.explore.places import Asked, Place, asked
from behaviour.explore.shared import Shared
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
from behaviour.explore.surroundings import filter_clock, first_readings, since_clock, truly_clock
from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.world.circuit import Circuit, Lives, acting, beat
from behaviour.world.mechanism import Stand, at_power_up, settle

LOST = -2
NO_CLOCKS: dict[Clock, Limit] = {}
RESTS, ACTS, ENTERS = range(3)


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
    shared: Shared = field(default_factory=Shared)
    parts: Parts = field(init=False)
    loops: Loops = field(init=False)
    circuit: Circuit = field(init=False)
    _looked_on: dict[Situation, tuple[Loop, ...]] = field(init=False)
    forced: frozenset[int] = field(init=False)
    followed: frozenset[int] = field(init=False)
    asked_first: frozenset[int] = field(init=False)
    _limits: Limits = field(init=False)
    _asks: Asked = field(init=False)
    _minded: frozenset[int] = field(init=False)
    """Inputs that regions or who looks on ask for, anywhere."""
    _moves: dict[Situation, Moves] = field(default_factory=dict, init=False)
    _clocks: dict[Situation, dict[Clock, Limit]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        model = self.model
        self.circuit = Circuit(model, self.question.faults)
        self.parts = self.shared.parts(model, self.question.faults)
        self.forced = self.parts.forced
        self._limits = Limits(self.parts, self.question)
        asks = asked(model, self.question.conditions)
        # whoever looks on may also ask what the controller was told, which another wire may say
        self._asks = replace(asks, inputs=asks.inputs | self.parts.on(asks.inputs))
        anybody = (way.when for region in model.regions for way in region.transitions())
        self._minded = self._asks.inputs | self.parts.on(asked(model, anybody).inputs)
        idle = self.circuit.lines - self._minded
        self.followed = frozenset(
            n for n in range(len(model.inputs)) if n not in idle and self._is_kept(n)
        )
        self.loops = self.shared.loops(model, self.question, self.followed)
        self._looked_on = self.shared.looked_on(self.question, self.followed)
        self.asked_first = self.parts.asked_first()

    # --- Clocks ---

    def clocks(self, at: Situation) -> dict[Clock, Limit]:
        """Map each clock that counts here to the most it is asked for, in a fixed order."""
        if self.tracked is not None and not self.tracked:
            return NO_CLOCKS
        known = self._clocks.get(at)
        if known is None:
            limits, tracked = self._limits.of(at), self.tracked
            known = gathered(
                limits if tracked is None else [each for each in limits if each[0] in tracked]
            )
            self._clocks[at] = known
        return known

    # --- Power-up ---

    def begin(self) -> tuple[Move, ...]:
        """List the situations that power-up can lead to; no clock is asked for anything."""
        found: dict[object, Move] = {}
        stood = product(*(at_power_up(mechanism) for mechanism in self.model.mechanism))
        for stands, lives in product(stood, self.circuit.at_power_up()):
            forces = self.parts.forces(tuple(stand.state for stand in stands))
            choices = tuple(
                self._first_choices(number, forces, lives)
                for number in range(len(self.model.inputs))
            )
            for shadows in self._first_shadows():
                alike = self.loops.read_alike(choices, forces, shadows, lives)
                look = partial(self._power_up, stands, shadows, lives, choices)
                for masks in self.loops.followed_apart(choices, alike) if alike is not None else ():
                    for _, moves in forks(masks, look):
                        for move in moves:
                            key = (move.to, move.marks and move.moment.raw)
                            found.setdefault(key, move)
        return tuple(found.values())

    def _first_shadows(self) -> Iterator[tuple[int, ...]]:
        """List where healthy mechanisms may stand at power-up; nowhere if nobody asks."""
        if not self.question.shadowed:
            yield ()
            return
        stood = (at_power_up(mechanism) for mechanism in self.model.mechanism)
        yield from (tuple(stand.state for stand in stands) for stands in product(*stood))

    def _first_choices(self, number: int, forces: dict[int, str], lives: Lives) -> Choices | None:
        """Give what an input may truly be at power-up; None if nobody asks."""
        is_asked = number in self.followed | self._asks.inputs | self.asked_first
        if not is_asked and self.question.still is None:
            return None
        changes = []
        for value in self.loops.true_values(number, forces):
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

    def _power_up(
        self,
        stands: Sequence[Stand],
        shadows: tuple[int, ...],
        lives: Lives,
        choices: tuple[Choices | None, ...],
        masks: Masks,
    ) -> list[Move]:
        model, parts, opened = self.model, self.parts, self.loops.opened(choices, masks)
        counters = tuple(counter.begins for counter in model.counters)
        ways = parts.first_ways(Sight(model, opened, False, counters, parts.begin))  # noqa: FBT003
        places = tuple(
            Place(leaf) if way is None else way.to
            for leaf, way in zip(parts.begin, ways, strict=True)
        )
        set_now = parts.drive(places, parts.kept(parts.rest))
        outputs = self.circuit.real(acting(lives), set_now)
        begun = self.loops.left(lives, parts.rest, set_now)
        states = tuple(stand.state for stand in stands)
        left = Sight(
            model,
            opened,
            truly=True,
            counters=counters,
            leaves=tuple(place.leaf for place in places),
            outputs=outputs,
            outputs_before=outputs,
            mechanism=states,
        )
        told = left._replace(truly=False)
        moment = Moment(None, told, left, tuple(ways), (), (), (), (), lives)
        seen = left._replace(truly=self.circuit.parts)
        standings = tuple(
            standing_of(settle(mechanism, stand, lambda c: bool(seen.judge(c))))
            for mechanism, stand in zip(model.mechanism, stands, strict=True)
        )
        alone = seen._replace(truly=False, outputs=set_now, mechanism=shadows)
        shadowed = self.loops.first_shadows(shadows, alone)
        readings = self.loops.readings(opened.changes(self.followed))
        starts = [
            list(watch.begin(number, moment)) for number, watch in enumerate(self.question.watches)
        ]
        found: list[Move] = []
        for nexts in product(*starts):
            situation = Situation(
                places,
                counters,
                standings,
                readings,
                parts.kept(set_now),
                None,
                tuple(following.place for following in nexts),
                begun,
                shadowed,
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
        for moment, restarts, to, found in self._loops_of(at):
            acted = _acted(moment)
            lows, highs = _numbered(moment.lows, here), _numbered(moment.highs, here)
            marks = (
                tuple([Marked(m.name, m.lows, _numbered(m.lows, here)) for m in found])
                if found
                else ()
            )
            sources = self._sources(at, here, to, restarts)
            if ENTERS not in acted and not lows and to == at and sources == same:
                same_stay = (highs, frozenset(marks), acted)
                if _is_freer(moment, stays.get(same_stay)):
                    stays[same_stay] = Stay(highs, marks, moment)
                continue
            key = (to, lows, highs, sources, acted, frozenset(marks) if marks else None)
            if _is_freer(moment, moves.get(key)):
                moves[key] = Move(to, lows, highs, sources, marks, moment, restarts)
        waits = tuple(stays.values())
        return Moves(tuple(moves.values()), _longest(waits), tuple(s for s in waits if s.marks))

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

    def _loops_of(self, at: Situation) -> tuple[Loop, ...]:
        """List every loop that is possible here, as those who look on tell it apart."""
        known = self._looked_on.get(at)
        if known is None:
            quiet = at._replace(watch=()) if at.watch else at
            may_stall = self.question.may_stall
            here = self.parts.looked_at(at.places)
            asks = self._asks.inputs
            apart = here if self.question.observers else here & asks
            known = self.loops.of(quiet, apart, may_stall=may_stall)
            if self.question.watches or self.question.observers:
                more = asks - self.followed - here
                seen: list[Loop] = []
                for loop in known:
                    self._seen(at, loop, more, seen)
                known = tuple(seen)
            self._looked_on[at] = known
        return known

    def _seen(self, at: Situation, loop: Loop, more: Iterable[int], seen: list[Loop]) -> None:
        """Let watches and observers look at a loop, opening its inputs as far as they look.

        `more` are inputs that they look at, and no region.
        """
        now, model = loop.moment, self.model
        choices, masks, _ = self._opened_too(at, now, more) if more else now.opened
        begun, ended = now.told[3:], now.left[3:]

        def look(parted: Masks) -> list[Loop]:
            moment = now
            if parted is not now.opened.masks:
                opened = self.loops.opened(choices, parted)
                told = Sight(model, opened, False, *begun)  # noqa: FBT003
                left = Sight(model, opened, True, *ended)  # noqa: FBT003
                moment = Moment(now.before, told, left, *now[3:])
            return self._watched(at, moment, loop)

        for _, cases in forks(masks, look):
            seen.extend(cases)

    def _opened_too(self, at: Situation, moment: Moment, more: Iterable[int]) -> Opened:
        """Open more inputs than those that regions look at."""
        forces = self.parts.forces(tuple(motion.state for motion in moment.motions))
        choices, masks = list(moment.opened.choices), list(moment.opened.masks)
        for number in more:
            choice = self.loops.choice(number, at, forces, moment.lives)
            choices[number], masks[number] = choice, ALL if choice is None else choice.every
        return self.loops.opened(tuple(choices), tuple(masks))

    def _watched(self, at: Situation, moment: Moment, loop: Loop) -> list[Loop]:
        """Let the watches go on, and the observers mark what they see."""
        quiet, watches = loop.to, self.question.watches
        if not watches:
            return [Loop(moment, loop.restarts, quiet, self._marks(moment, quiet))]
        begins = self.question.begins_anew and beat(moment.lives) is Beat.STARTS
        watched = [
            watch.begin(number, moment) if begins else watch.go_on(number, place, moment)
            for number, (watch, place) in enumerate(zip(watches, at.watch, strict=True))
        ]
        found = []
        for nexts in product(*watched):
            lows, highs, restarts = moment.lows, moment.highs, loop.restarts
            both: Bounds | None = None
            for number, following in enumerate(nexts):
                if following.lows or following.highs:
                    both = meet(Bounds(lows, highs), following)
                    if both is None:
                        break
                    lows, highs = both
                if following.restarts:
                    restarts = restarts.union(
                        ("watch", number, which) for which in following.restarts
                    )
            else:
                to = _watching(quiet, tuple([following.place for following in nexts]))
                here = moment if both is None else moment._replace(lows=lows, highs=highs)
                found.append(Loop(here, restarts, to, self._marks(here, to)))
        return found

    def _marks(self, moment: Moment, to: Situation) -> Sequence[Mark]:
        if not self.question.observers:
            return ()
        return [mark for observer in self.question.observers for mark in observer(moment, to)]

    # --- Inputs ---

    def is_forced(self, at: Situation, number: int) -> bool:
        """Tell whether a mechanism forces an input where it stands."""
        return self.parts.is_forced(at.standings, number)

    @property
    def judged(self) -> frozenset[int]:
        """Number the inputs that watches and observers judge."""
        return self._asks.inputs

    def looked_at(self, at: Situation) -> frozenset[int]:
        """Give the inputs that somebody may look at in the next loop."""
        return self._asks.inputs | self.parts.looked_at(at.places)

    def _is_kept(self, number: int) -> bool:
        """Tell whether an input's reading is part of a situation."""
        if number in self.parts.while_inputs:
            return True
        if number in self.question.free:
            return False
        if self.question.holds or number in self.follow:
            return True
        if is_filtered(self.parts, self.question, number):
            return True
        clocks = {since_clock(number), truly_clock(self.model, number), filter_clock(number)}
        if number in self.circuit.lines:
            clocks |= {true_filter_clock(number), true_clock(number)}
        if self.tracked is None:
            return number in self._minded or number in self.circuit.lines
        return bool(clocks & self.tracked)


@dataclass(eq=False)
class Spaces:
    """The spaces of one model, each made once, and what is shared by all of them."""

    _shared: Shared = field(default_factory=Shared)
    _spaces: dict[object, Space] = field(default_factory=dict)

    def asked(
        self,
        model: Model,
        question: Question,
        tracked: frozenset[Clock] | None,
        follow: frozenset[int],
    ) -> Space:
        """Give the space of a question with some clocks tracked and some inputs followed."""
        key = (question.key(), tracked, follow)
        known = self._spaces.get(key)
        if known is None:
            known = self._spaces[key] = Space(model, question, tracked, follow, self._shared)
        return known


def _acted(moment: Moment) -> tuple[int, ...]:
    """Tell of each region whether it does nothing, something, or enters a state."""
    return tuple(
        [RESTS if way is None else ENTERS if way.restarts else ACTS for way in moment.ways]
    )


def _watching(quiet: Situation, watch: tuple[int, ...]) -> Situation:
    """Give a situation with the watches where they are in it."""
    places, counters, standings, readings, kept, stalled, _, lives, shadows = quiet
    return Situation(places, counters, standings, readings, kept, stalled, watch, lives, shadows)


def _is_freer(moment: Moment, known: Move | Stay | None) -> bool:
    """Tell whether a loop stands for its like better: by fewer bounds on clocks not looked at."""
    return known is None or len(moment.highs) < len(known.moment.highs)


def _numbered(bounds: Lows, here: dict[Clock, int]) -> tuple[tuple[int, int], ...]:
    if not bounds or not here:
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
