"""A proof that something stays possible: people hold the inputs somehow, and things lead to it.

Strategy: while people bring the inputs to what they mean to hold, anything may happen that moves
allow. After that the inputs are still. So if a set of situations is left only to where the goal is
known to be possible, and if from each of them, with the inputs held, every course leads to the goal
or to such a place, then the goal is possible from all of the set. The ways to hold are tried one
after the other, and what one has proved the next may lead to.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from behaviour.explore.guards import alternatives, atoms
from behaviour.explore.opened import Reading
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.still import always_forced
from behaviour.model import And, Becomes, Condition, HeldFor, Is, Model, Not

Vector = tuple[str, ...]
"""What every input is held at, in the order of the model."""

IsReached = Callable[[Situation, Move | Stay], bool]
"""Tells whether a loop out of a situation surely is what must stay possible."""

IsPossible = Callable[[Situation], bool]
"""Tells whether the goal is possible from a rest in which everything has timed out."""


@dataclass(slots=True, eq=False)
class Holding:
    """One goal; `free` numbers the inputs that people do not move, and that nobody holds."""

    lookout: Lookout
    space: Space
    is_reached: IsReached
    from_rest: IsPossible
    free: frozenset[int] = frozenset()
    proved: set[Situation] = field(default_factory=set)
    _held: Space = field(init=False)
    _always: frozenset[int] = field(init=False)

    def __post_init__(self) -> None:
        asked = replace(self.lookout.question, may_stall=False, holds=True, free=self.free)
        self._held = Space(self.lookout.model, asked, frozenset())
        self._always = always_forced(self.lookout.model)

    def unproved(self, situations: Iterable[Situation]) -> set[Situation]:
        """Leave out the situations from which the goal is shown to be possible."""
        left = set(situations)
        news = True
        while left and news:
            news = False
            for vector in vectors(self.lookout.model):
                found = self._kept_inside(self._led(left, vector), left)
                if found:
                    news = True
                    self.proved |= found
                    left -= found
                if not left:
                    break
        return left

    def _kept_inside(self, led: set[Situation], left: set[Situation]) -> set[Situation]:
        """Leave out what may get away while the inputs are brought to where they are held."""
        inside = set(led)
        changed = True
        while changed:
            lost = {
                at
                for at in inside
                if any(
                    move.to.stalled == at.stalled
                    and move.to not in inside
                    and move.to not in self.proved
                    and not self.is_reached(at, move)
                    for move in self.space.moves(at).moves
                )
            }
            changed = bool(lost)
            inside -= lost
        return inside & left

    def _led(self, situations: set[Situation], vector: Vector) -> set[Situation]:
        """Collect the situations from which, with the inputs held so, all leads to the goal."""
        start = {at: self._held_at(at, vector) for at in situations}
        onward: dict[Situation, list[Move]] = {}
        stack = [at for at in start.values() if at is not None]
        while stack:
            at = stack.pop()
            if at not in onward:
                self.lookout.budget.spend()
                onward[at] = [m for m in self._held.moves(at).moves if not self._ends(at, m)]
                stack += [move.to for move in onward[at]]
        home = self._attracted(onward)
        return {at for at, held in start.items() if held is None or held in home}

    def _attracted(self, onward: dict[Situation, list[Move]]) -> set[Situation]:
        home: set[Situation] = set()
        waiting = {at: len({move.to for move in moves}) for at, moves in onward.items()}
        before: dict[Situation, set[Situation]] = {}
        for at, moves in onward.items():
            for move in moves:
                before.setdefault(move.to, set()).add(at)
        sure = [at for at in onward if not waiting[at] and self._goes_on(at)]
        rests = [at for at in onward if self._rests(at) and self.from_rest(at)]
        queue = list({*sure, *rests})
        while queue:
            at = queue.pop()
            if at in home:
                continue
            home.add(at)
            for earlier in before.get(at, ()):
                waiting[earlier] -= 1
                if not waiting[earlier] and not self._rests(earlier):
                    queue.append(earlier)
        return home

    def _ends(self, at: Situation, move: Move) -> bool:
        return self.is_reached(at, move) or self._forgotten(move.to) in self.proved

    def _rests(self, at: Situation) -> bool:
        """Tell whether one may stay here for ever, short of the goal."""
        stays = self._held.moves(at).stays
        return any(not s.moment.highs and not self.is_reached(at, s) for s in stays)

    def _goes_on(self, at: Situation) -> bool:
        moves = self._held.moves(at)
        return bool(moves.moves or moves.stays) and not self._rests(at)

    def _held_at(self, at: Situation, vector: Vector) -> Situation | None:
        """Give a situation once people hold `vector`; None if it is not held so there."""
        readings: list[Reading | None] = []
        for number, (now, value) in enumerate(zip(at.readings, vector, strict=True)):
            if number in self.free:
                readings.append(None)
            elif number in self._always or self.space.is_forced(at, number):
                readings.append(now)
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


def vectors(model: Model) -> list[Vector]:
    """List the ways to hold the inputs that are worth trying: those that some way on asks for.

    Whatever a way does not ask for is at its safe or first value.
    """
    quiet = {item.name: item.safe or item.values[0] for item in model.inputs}
    found = [dict(quiet)]
    for region in model.regions:
        for way in region.transitions():
            for each in alternatives(way.when) if way.when is not None else ():
                wanted = dict(quiet)
                wanted.update(_wanted(model, each))
                found.append(wanted)
    rows = (tuple(each[item.name] for item in model.inputs) for each in found)
    return list(dict.fromkeys(rows))


def _wanted(model: Model, condition: Condition) -> Iterator[tuple[str, str]]:
    """Give a value for each input that a condition without `or` names."""
    parts: Sequence[Condition] = condition.parts if isinstance(condition, And) else (condition,)
    for part in parts:
        match part:
            case Is(name=name, values=values, negated=negated) if name in model.input_index:
                every = model.input[name].values
                fits = [value for value in every if (value in values) != negated]
                yield from ((name, value) for value in fits[:1])
            case Becomes(name=name, value=value) | HeldFor(name=name, value=value):
                yield name, value
            case Not(part=inner):
                for atom in atoms(inner)[:1]:
                    if isinstance(atom, Is) and atom.name in model.input_index:
                        yield from _wanted(model, replace(atom, negated=not atom.negated))
            case _:
                pass
