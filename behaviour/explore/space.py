"""All that a prop can do in one loop from where it is, and the bounds on clocks for it.

It knows the model and its world; what is asked about them comes as watches and marks from outside.

Strategy: a situation is where everything is, clocks apart. Its loops come from `loops.py`, and who
looks on tells them apart further (`looking_on.py`). Loops that come to the same are one move. A
loop that changes nothing and starts no clock is a stay: its upper bounds say how long one may wait.
Moves are built once a situation.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from behaviour.explore.guards import Clock, Limit, Lows, gathered
from behaviour.explore.inputs import is_filtered
from behaviour.explore.limits import Limits
from behaviour.explore.lines import true_clock, true_filter_clock
from behaviour.explore.looking_on import Onlookers, watching
from behaviour.explore.loops import Loop, Loops
from behaviour.explore.parts import ENTERS, Parts
from behaviour.explore.places import asked
from behaviour.explore.shared import Shared
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
from behaviour.explore.surroundings import filter_clock, is_presumed, since_clock, truly_clock
from behaviour.model import Model
from behaviour.world.circuit import Circuit

LOST = -2
NO_CLOCKS: dict[Clock, Limit] = {}


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
    recalls: bool = False
    """Beside the watches it is kept which guards have been told as they are, where nobody follows
    them: these are presumed unsafe no more."""
    shared: Shared = field(default_factory=Shared)
    parts: Parts = field(init=False)
    loops: Loops = field(init=False)
    circuit: Circuit = field(init=False)
    forced: frozenset[int] = field(init=False)
    followed: frozenset[int] = field(init=False)
    judged: frozenset[int] = field(init=False)
    """Inputs that watches and observers judge."""
    _told_apart: frozenset[int] = field(init=False)
    """Inputs that watches and observers need told apart, where regions look at them."""
    _minded: frozenset[int] = field(init=False)
    """Inputs that regions or who looks on ask for, anywhere."""
    _limits: Limits = field(init=False)
    _onlookers: Onlookers = field(init=False)
    _looked_on: dict[Situation | None, tuple[Loop, ...]] = field(init=False)
    """The loops after a situation, and those of power-up (None)."""
    _moves: dict[Situation, Moves] = field(default_factory=dict, init=False)
    _clocks: dict[Situation, dict[Clock, Limit]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        model = self.model
        self.parts = self.shared.parts(model, self.question.faults)
        self.circuit = self.parts.circuit
        self.forced = self.parts.forced
        self._limits = Limits(self.parts, self.question, self.tracked)
        judged = asked(model, self.question.conditions).inputs
        # whoever looks on may also ask what the controller was told, which another wire may say
        self.judged = judged | self.parts.on(judged)
        observed = self._observed()
        self._told_apart = self.judged | observed | self.parts.on(observed)
        self._minded = self.judged | self.parts.asked_anywhere
        idle = self.circuit.lines - self._minded
        self.followed = frozenset(
            n for n in range(len(model.inputs)) if n not in idle and self._is_kept(n)
        )
        self.loops = self.shared.loops(model, self.question, self.followed)
        self._looked_on = self.shared.looked_on(self.question, self.followed, recalls=self.recalls)
        presumed = sorted(self.judged - self.followed - self.circuit.lines if self.recalls else ())
        self._onlookers = Onlookers(
            self.question, self.loops.inputs, tuple(n for n in presumed if is_presumed(model, n))
        )

    # --- Clocks ---

    def clocks(self, at: Situation) -> dict[Clock, Limit]:
        """Map each clock that counts here to the most it is asked for, in a fixed order."""
        if self.tracked is not None and not self.tracked:
            return NO_CLOCKS
        known = self._clocks.get(at)
        if known is None:
            known = self._clocks[at] = gathered(self._limits.of(at))
        return known

    # --- Power-up ---

    def begin(self) -> tuple[Move, ...]:
        """List the situations that power-up can lead to; no clock is asked for anything."""
        known = self._looked_on.get(None)
        if known is None:
            asks = self.followed | self.judged | self.parts.asked_first
            known = self.shared.begun(self.loops, asks)
            if self._onlookers.is_anybody or self._onlookers.presumed:
                known = self._onlookers.see_begin(known)
            self._looked_on[None] = known
        found: dict[object, Move] = {}
        for loop in known:
            to, moment = loop.to, loop.moment
            key = (to, moment.raw if loop.marks else ())
            if key not in found:
                marked = tuple(Marked(mark.name, mark.lows, ()) for mark in loop.marks)
                found[key] = Move(to, (), (), (-1,) * len(self.clocks(to)), marked, moment)
        return tuple(found.values())

    # --- One loop ---

    def moves(self, at: Situation) -> Moves:
        """Give everything that the next loop can bring."""
        known = self._moves.get(at)
        if known is None:
            known = self._moves[at] = self._build(at)
        return known

    def _build(self, at: Situation) -> Moves:
        is_timed = self.tracked is None or bool(self.tracked)
        here = {clock: number for number, clock in enumerate(self.clocks(at))}
        same = tuple(range(len(here)))
        moves: dict[object, Move] = {}
        stays: dict[tuple[object, ...], Stay] = {}
        numbers = {at: 0}
        """The situations that loops lead to, each hashed once: it holds much."""
        for loop in self._loops_of(at):
            moment, to, acted, restarts = loop.moment, loop.to, loop.acted, loop.restarts
            lows = _numbered(moment.lows, here) if here and moment.lows else ()
            highs = _numbered(moment.highs, here) if here and moment.highs else ()
            marks = _marked(loop.marks, here) if loop.marks else ()
            sources = self._sources(at, here, to, restarts) if is_timed else ()
            number = numbers.setdefault(to, len(numbers))
            if not number and not lows and ENTERS not in acted and sources == same:
                same_stay = (acted, highs, frozenset(marks) if marks else None)
                if (stay := stays.get(same_stay)) is None or _is_freer(moment, stay.moment):
                    stays[same_stay] = Stay(highs, marks, moment)
                continue
            key = (number, lows, highs, sources, acted, frozenset(marks) if marks else None)
            if (move := moves.get(key)) is None or _is_freer(moment, move.moment):
                moves[key] = Move(to, lows, highs, sources, marks, moment, restarts)
        marked = tuple([stay for stay in stays.values() if stay.marks])
        return Moves(tuple(moves.values()), _longest(stays), marked)

    def every_stay(self, at: Situation) -> list[Stay]:
        """List every way to wait here, be there others that let one wait for longer or not."""
        return [
            Stay((), (), loop.moment)
            for loop in self._loops_of(at)
            if loop.to == at and not loop.restarts and ENTERS not in loop.acted
        ]

    def _sources(
        self, at: Situation, here: dict[Clock, int], to: Situation, restarts: frozenset[Clock]
    ) -> tuple[int, ...]:
        there = self.clocks(to)
        if not there:
            return ()
        sources = tuple([-1 if clock in restarts else here.get(clock, LOST) for clock in there])
        if LOST in sources:
            missing = [c for c, s in zip(there, sources, strict=True) if s == LOST]
            raise AssertionError(f"clocks {missing} count in {to} and did not in {at}")
        return sources

    def _loops_of(self, at: Situation) -> tuple[Loop, ...]:
        """List every loop that is possible here, as those who look on tell it apart."""
        known = self._looked_on.get(at)
        if known is None:
            quiet = watching(at, ()) if at.watch else at
            may_stall = self.question.may_stall
            here = self.parts.looked_at(at.places)
            known = self.loops.of(quiet, here & self._told_apart, may_stall=may_stall)
            if self._onlookers.is_anybody:
                known = self._onlookers.see(at, known, self.judged - self.followed - here)
            self._looked_on[at] = known
        return known

    # --- Inputs ---

    def _observed(self) -> frozenset[int]:
        """Give the inputs at which observers may look."""
        if not self.question.observers:
            return frozenset()
        looked_at = self.question.looked_at
        return frozenset(range(len(self.model.inputs))) if looked_at is None else looked_at

    def is_forced(self, at: Situation, number: int) -> bool:
        """Tell whether a mechanism forces an input where it stands."""
        return self.parts.is_forced(at.standings, number)

    def looked_at(self, at: Situation) -> frozenset[int]:
        """Give the inputs that somebody may look at in the next loop."""
        return self.judged | self.parts.looked_at(at.places)

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
        if self.tracked is None:
            return number in self._minded or number in self.circuit.lines
        if not self.tracked:
            return False
        clocks = {since_clock(number), truly_clock(self.model, number), filter_clock(number)}
        if number in self.circuit.lines:
            clocks |= {true_filter_clock(number), true_clock(number)}
        return not clocks.isdisjoint(self.tracked)


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
        *,
        recalls: bool = False,
    ) -> Space:
        """Give the space of a question with some clocks tracked and some inputs followed."""
        key = (question.key(), tracked, follow, recalls)
        known = self._spaces.get(key)
        if known is None:
            known = self._spaces[key] = Space(
                model, question, tracked, follow, recalls, self._shared
            )
        return known


def _is_freer(moment: Moment, known: Moment) -> bool:
    """Tell whether a loop stands for its like better: by fewer bounds on clocks not looked at."""
    return len(moment.highs) < len(known.highs)


def _marked(found: Sequence[Mark], here: dict[Clock, int]) -> tuple[Marked, ...]:
    return tuple(
        [Marked(name, lows, _numbered(lows, here) if lows else ()) for name, lows in found]
    )


def _numbered(bounds: Lows, here: dict[Clock, int]) -> tuple[tuple[int, int], ...]:
    return tuple(sorted([(here[clock], bound) for clock, bound in bounds if clock in here]))


def _longest(stays: Mapping[tuple[object, ...], Stay]) -> tuple[Stay, ...]:
    """Keep the stays that allow to wait where no other one does that is worth no more marks.

    They are by what regions do in them, among other things.
    """
    if len(stays) < 2:  # noqa: PLR2004
        return tuple(stays.values())
    found: list[tuple[object, Stay]] = []
    for (acted, *_), stay in sorted(
        stays.items(), key=lambda each: (len(each[1].highs), len(each[1].marks))
    ):
        mine = dict(stay.highs)
        if not any(
            all(mine.get(clock, -1) >= 0 and mine[clock] <= most for clock, most in other.highs)
            for others_acted, other in found
            if (not other.marks or other.marks == stay.marks) and others_acted == acted
        ):
            found.append((acted, stay))
    return tuple(stay for _, stay in found)
