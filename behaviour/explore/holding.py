"""A proof that something stays possible: people hold the inputs somehow, and things lead to it.

Strategy: while people bring the inputs to what they mean to hold, each input reads what it did or
comes to that. After that the inputs are still. So if a set of situations is left only to where the
goal is known to be possible, and if from each of them, with the inputs held, every course leads to
the goal or to such a place, then the goal is possible from all of the set. Where things come to
rest, people may wait until everything has timed out and then turn one input, or do whatever it is
that leads to the goal from there. The ways to hold are tried one after the other, and what one has
proved the next may lead to; times are looked at only where it takes them.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import product
from typing import NamedTuple

from behaviour.explore.aiming import Turns, Vector, aims, vectors
from behaviour.explore.courses import Courses, Onward
from behaviour.explore.guards import Clock
from behaviour.explore.opened import Reading
from behaviour.explore.reach import Lookout
from behaviour.explore.search import steps
from behaviour.explore.setting_out import SettingOut
from behaviour.explore.situations import Move, Situation, Stay
from behaviour.explore.sketch import is_lasting
from behaviour.explore.space import Space
from behaviour.explore.still import always_forced, long_since
from behaviour.explore.surroundings import movement_clock
from behaviour.explore.zones import Zone, carry, everything, extrapolate
from behaviour.model import Model

IsReached = Callable[[Situation, Move | Stay], bool]
"""Tells whether a loop out of a situation surely is what must stay possible."""


class Effort(NamedTuple):
    """How many inputs are `turned` after things came to rest, and what is looked at besides."""

    turned: int
    timed: bool
    """Whether the times of states and movements are looked at."""
    sets_out: bool = False
    """Whether whatever people may do is looked at where things came to rest, as one more turn."""
    aims: bool = False
    """Whether inputs are turned together, to what some way on asks for, and not one by one."""


EFFORTS: tuple[Effort, ...] = (
    Effort(0, timed=False),
    Effort(2, timed=True),
    Effort(0, timed=False, sets_out=True),
    Effort(0, timed=True, sets_out=True),
)
"""How hard to try, one after the other. Whatever the first shows, and whatever could stand between
the two, the second shows too."""

LITTLE, ALL = slice(1), slice(None)
"""Which efforts are made."""

SAMPLE = 6
"""On so many situations a way to hold is tried first."""

Node = tuple[Situation, Zone]
"""A situation with its inputs held, and the clocks that are looked at as a loop leaves them."""


@dataclass(slots=True, eq=False)
class Holding:
    """One goal; `free` numbers the inputs that people do not move, and that nobody holds."""

    lookout: Lookout
    space: Space
    is_reached: IsReached
    free: frozenset[int] = frozenset()
    proved: set[Situation] = field(default_factory=set)
    tried: Counter[Vector] = field(default_factory=Counter)
    """How much each way to hold the inputs of the prop itself has shown of any goal."""
    sets_out: bool = False
    """Whether the goal counts as possible where a single way leads there from a rest."""
    kept: frozenset[int] = frozenset()
    """Inputs that stay as they are held, whatever others are turned to."""
    _always: frozenset[int] = field(init=False)
    _waits: bool = field(init=False)
    """Whether a rest goes on only if one wants: nobody else, and no movement, may do so."""
    _setting_out: SettingOut = field(init=False)
    _held: dict[object, Space] = field(default_factory=dict, init=False)
    _courses: dict[Effort, Courses[Node]] = field(default_factory=dict, init=False)
    """What was followed since something was last proved: it is the same however inputs are held."""

    def __post_init__(self) -> None:
        self._always = always_forced(self.lookout.model)
        self._waits = not self.free and not is_lasting(self.lookout.model)
        self._setting_out = SettingOut(self.lookout, self.is_reached)

    def _still(self, timed: bool, turns: Turns = ()) -> Space:  # noqa: FBT001
        """Give the space in which people hold the inputs, or hold all but those they turn."""
        known = self._held.get((timed, turns))
        if known is None:
            asked = replace(
                self.lookout.question, may_stall=False, holds=True, free=self.free, turns=turns
            )
            tracked = _times(self.lookout.model) if timed else frozenset()
            known = self._held[timed, turns] = self.lookout.asked(asked, tracked)
        return known

    def _toward(self, vector: Vector) -> Space:
        """Give the space in which people bring the inputs to a vector."""
        known = self._held.get(vector)
        if known is None:
            asked = replace(self.space.question, toward=vector, free=self.free, may_stall=False)
            known = self.lookout.asked(asked, frozenset(), self.space.follow)
            self._held[vector] = known
        return known

    def unproved(self, situations: Iterable[Situation], hard: slice = ALL) -> list[Situation]:
        """Leave out the situations from which the goal is shown to be possible; the order is kept.

        A way to hold is first tried on some of them, and on all only if it is good for any.
        """
        left = dict.fromkeys(situations)
        ways = sorted(vectors(self.lookout.model), key=lambda each: -self.tried[self._own(each)])
        tried = [effort for effort in EFFORTS[hard] if self.sets_out or not effort.sets_out]
        efforts = [*product((True,), tried), *product((False,), tried[1:])]
        at = 0
        while left and at < len(efforts):
            news = False
            for vector in ways:
                found = self._shown(left, vector, *efforts[at])
                if found:
                    news = True
                    self.proved |= found
                    self.tried[self._own(vector)] += len(found)
                    self._courses.clear()
                for situation in found:
                    del left[situation]
                if not left:
                    break
            at = 0 if news else at + 1
        return list(left)

    def leads(self, late: Sequence[Situation], vector: Vector, turned: int) -> bool:
        """Tell whether all leads to the goal from where people have long held the inputs.

        So many times they turn some of them, once all has come to rest. Raises LimitError.
        """
        if any(self._held_at(at, vector) is None for at in late):
            return False
        effort = Effort(turned, timed=True, aims=True)
        courses = Courses(partial(self._onward, effort), waits=self._waits)
        return len(self._led(late, vector, effort, courses, all)) == len(late)

    def _own(self, vector: Vector) -> Vector:
        """Leave out what is held that a drawing has for other things."""
        inputs = self.lookout.model.inputs
        return tuple(v for v, item in zip(vector, inputs, strict=True) if not item.drawn)

    def _shown(
        self,
        left: dict[Situation, None],
        vector: Vector,
        sampled: bool,  # noqa: FBT001
        effort: Effort,
    ) -> set[Situation]:
        """Collect what one way to hold the inputs shows."""
        if effort.sets_out and self._setting_out.is_spent:
            return set()
        every = list(left)
        if not sampled and len(every) <= SAMPLE:
            return set()
        courses = self._followed(effort)
        if sampled and len(every) > SAMPLE:
            sample = every[:: len(every) // SAMPLE]
            if not self._led(sample, vector, effort, courses, any):
                return set()
        led = self._led(every, vector, effort, courses, all)
        return self._kept_inside(led, set(every), vector)

    def _followed(self, effort: Effort) -> Courses[Node]:
        """Give what was followed with an effort; setting out may show more each time."""
        known = self._courses.get(effort)
        if known is None:
            known = Courses(partial(self._onward, effort), waits=self._waits)
            if not effort.sets_out:
                self._courses[effort] = known
        return known

    def _kept_inside(
        self, led: set[Situation], left: set[Situation], vector: Vector
    ) -> set[Situation]:
        """Leave out what may get away while the inputs are brought to where they are held."""
        if not led:
            return set()
        toward = self._toward(vector)
        before: dict[Situation, list[Situation]] = {}
        inside, lost = set(led), []
        for at in led:
            for to in self._goes_to(toward, at):
                before.setdefault(to, []).append(at)
                if to not in led:
                    lost.append(to)
        while lost:
            for at in before.get(lost.pop(), ()):
                if at in inside:
                    inside.discard(at)
                    lost.append(at)
        return inside & left

    def _goes_to(self, toward: Space, at: Situation) -> Iterator[Situation]:
        """List where a loop leads while the inputs are brought somewhere, short of the goal."""
        for move in toward.moves(at).moves:
            self.lookout.budget.spend()
            if move.to not in self.proved and not self.is_reached(at, move):
                yield move.to

    def _led(
        self,
        situations: Collection[Situation],
        vector: Vector,
        effort: Effort,
        courses: Courses[Node],
        enough: Callable[[Iterable[bool]], bool],
    ) -> set[Situation]:
        """Collect the situations from which, with the inputs held so, all leads to the goal.

        `enough` says whether all of them are looked for, or any.
        """
        still, home = self._still(effort.timed), courses.home
        start: dict[Situation, Node | None] = {}
        for at in situations:
            held = self._held_at(at, vector)
            start[at] = held and (held, everything(len(still.clocks(held))))
        nodes = [node for node in dict.fromkeys(start.values()) if node is not None]
        courses.follow(
            nodes, effort.turned + effort.sets_out, lambda: enough(node in home for node in nodes)
        )
        return {at for at, node in start.items() if node is None or node in home}

    def _onward(self, effort: Effort, node: Node) -> Onward[Node]:
        self.lookout.budget.spend()
        still = self._still(effort.timed)
        at, zone = node
        is_rest = any(
            not stay.moment.highs and not self.is_reached(at, stay)
            for stay in still.moves(at).stays
        )
        going = frozenset(
            _arrived(still, at, zone_then, move)
            for move, _, zone_then in steps(still, at, zone)
            if not self._ends(at, move)
        )
        is_stuck = not still.moves(at).moves and not any(
            self.is_reached(at, stay) for stay in still.moves(at).stays
        )
        turns: Iterator[frozenset[Node]] = iter(())
        if is_rest and effort.sets_out and self._waits:
            turns = self._ways_out(at)
        elif is_rest and not effort.sets_out and (self._waits or not going):
            several = self._together(at) if effort.aims else self._singly(at, effort.timed)
            turns = self._turned(at, effort.timed, several)
        return Onward(going, is_rest or is_stuck, turns)

    def _ways_out(self, at: Situation) -> Iterator[frozenset[Node]]:
        """Give a turn after which nothing is left to come, if people can bring the goal about."""
        if self._setting_out.leads(at):
            yield frozenset()

    def _turned(
        self,
        at: Situation,
        timed: bool,  # noqa: FBT001
        several: Iterable[Turns],
    ) -> Iterator[frozenset[Node]]:
        """Give what each way to turn inputs may lead to once everything has timed out."""
        for turns in several:
            outcomes = self._after_turn(at, self._still(timed, turns))
            if outcomes is not None:
                yield outcomes

    def _singly(self, at: Situation, timed: bool) -> Iterator[Turns]:  # noqa: FBT001
        """Turn each input that somebody looks at to each of its values."""
        for number in sorted(self._still(timed).looked_at(at)):
            if self._is_turned(at, number):
                for value in self.lookout.model.inputs[number].values:
                    if self._turns_anything(at, number, value):
                        yield ((number, value),)

    def _together(self, at: Situation) -> Iterator[Turns]:
        """Turn at once all that some way on asks for."""
        spots = [self.space.parts.spot(number, place) for number, place in enumerate(at.places)]
        ways = [way.transition for spot in spots for way in spot.ways if way.transition is not None]
        for turns in aims(self.lookout.model, ways, at.readings):
            could = tuple((number, value) for number, value in turns if self._is_turned(at, number))
            if could:
                yield could

    def _is_turned(self, at: Situation, number: int) -> bool:
        """Tell whether people may turn an input that is held at something."""
        return (
            number not in self.free | self.kept | self._always
            and at.readings[number] is not None
            and not self.space.is_forced(at, number)
        )

    def _turns_anything(self, at: Situation, number: int, value: str) -> bool:
        now = at.readings[number]
        if number in self.space.circuit.lines:
            return now != self.space.loops.inputs.settled_line(number, at.lives, value)
        return now is not None and now.steady != value

    def _after_turn(self, at: Situation, turned: Space) -> frozenset[Node] | None:
        zone = long_since(turned, at)
        moves = [move for move in turned.moves(at).moves if not move.moment.highs]
        if not moves:
            return None
        return frozenset(
            _arrived(turned, at, zone, move) for move in moves if not self._ends(at, move)
        )

    def _ends(self, at: Situation, move: Move) -> bool:
        return self.is_reached(at, move) or self._forgotten(move.to) in self.proved

    def _held_at(self, at: Situation, vector: Vector) -> Situation | None:
        """Give a situation once people hold `vector`; None if it is not held so there."""
        readings: list[Reading | None] = []
        for number, (now, value) in enumerate(zip(at.readings, vector, strict=True)):
            if number in self.free or number in self._always or self.space.is_forced(at, number):
                readings.append(now)
            elif number in self.space.circuit.lines:
                settled = self.space.loops.inputs.settled_line(number, at.lives, value)
                if now is not None and now != settled:
                    return None
                readings.append(settled)
            elif now is None or (now.steady == value and now.truly == value):
                is_filtered = number in self.space.forced
                readings.append(Reading(value, value, value if is_filtered else ""))
            else:
                return None
        return at._replace(readings=tuple(readings))

    def _forgotten(self, at: Situation) -> Situation:
        """Give a held situation as the search without clocks has it."""
        readings = tuple(
            now if number in self.space.followed else None for number, now in enumerate(at.readings)
        )
        return at._replace(readings=readings)


def _times(model: Model) -> frozenset[Clock]:
    """Name the clocks of states and of movements."""
    depths = range(max((len(r.path(s.number)) for r in model.regions for s in r.states), default=0))
    found: set[Clock] = {
        ("region", number, d) for number in range(len(model.regions)) for d in depths
    }
    for number, mechanism in enumerate(model.mechanism):
        for state in mechanism.states:
            found |= {movement_clock(number, which) for which in range(len(state.movements))}
    return frozenset(found)


def _arrived(space: Space, at: Situation, zone: Zone, move: Move) -> Node:
    clocks = space.clocks(move.to)
    wide = carry(zone, len(space.clocks(at)) + 1, move.sources)
    return move.to, extrapolate(wide, len(clocks) + 1, [limit.most for limit in clocks.values()])
