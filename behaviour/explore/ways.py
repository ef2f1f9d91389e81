"""Whether something stays possible from everywhere: a proof, a place where it ends, or neither.

Strategy, cheapest first. (1) With no clock tracked everything can do more than it really can: where
even that never gets to the goal is a place of no return. (2) Hold the inputs in some way: if every
course of things leads to the goal, or to a rest from which turning an input does, then it is
possible. (3) What is left is worked out backwards with all clocks, if the budget allows.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from behaviour.explore.aiming import Vector
from behaviour.explore.backwards import IsGood, possible_from, same_world, standings
from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.holding import ALL, LITTLE, Holding
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.reach import Lookout, Witness, reach
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Schedule, schedule
from behaviour.explore.search import Node, Reached, explore
from behaviour.explore.situations import Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.zones import Zone, uncovered

SOON = 50
"""So many situations may follow one of which it is soon seen that all is lost."""

MOST_LATE, TURNED = 200, 6
"""So many situations are looked at, and so many inputs turned, to show all from what is late."""


@dataclass(frozen=True, slots=True)
class NoReturn:
    """A run into a situation from which the goal is out of reach for ever."""

    situation: Situation
    witness: Witness


@dataclass(slots=True, eq=False)
class Possible:
    """One goal under one question; `counts` says from which situations it must be possible."""

    lookout: Lookout
    is_good: IsGood
    counts: Callable[[Situation], bool]
    is_excused: Callable[[dict[Situation, list[Move]]], bool] = lambda _: False
    kind: Callable[[Situation], object] = lambda at: tuple(p.leaf for p in at.places)
    ends_well: Callable[[Situation], bool] | None = None
    """Tells whether a situation from which the goal is out of reach is excused for good."""
    free: frozenset[int] = frozenset()
    """Inputs that stand for what others may do: no person moves them."""
    tried: Counter[Vector] = field(default_factory=Counter)
    """How much each way to hold the inputs has shown of any goal: the best is tried first."""
    stopped: LimitError | None = None

    def is_proved(self) -> bool:
        """Tell whether holding inputs alone shows that the goal is possible from everywhere.

        What `ends_well` counts; no other excuse does, since what others do may be left out.
        """
        space = self.lookout.space(frozenset())
        reached = explore(space, self.lookout.budget)
        lost, open_ones = self._untimed(space, reached)
        if lost:
            return False
        return not self.unproved(space, _in_order(reached, open_ones), sets_out=False)

    def is_proved_from(
        self, late: Sequence[Situation], vector: Vector, kept: frozenset[int] = frozenset()
    ) -> bool:
        """Tell whether the goal is possible from everywhere, since it is where a prop is `late`.

        People have then long held `vector`, and never turn the inputs `kept`. Whoever was where it
        counts and is late where it does not has passed the goal. Raises LimitError.
        """
        lookout = replace(self.lookout, budget=self.lookout.budget.few(MOST_LATE))
        holding = Holding(
            lookout,
            lookout.space(frozenset()),
            self._is_surely_good,
            self.free,
            tried=self.tried,
            kept=kept,
        )
        return holding.leads([at for at in late if self.counts(at)], vector, TURNED)

    def nowhere(self, *, one: bool = False) -> list[NoReturn]:
        """List places of no return, one for each kind that the search can tell apart; none: proved.

        If `one` will do, no other is looked for once it is found. Raises LimitError where neither a
        proof nor a place was found.
        """
        space = self.lookout.space(frozenset())
        reached = explore(space, self.lookout.budget)
        lost, open_ones = self._untimed(space, reached)
        found: list[NoReturn] = []
        for situation in sorted(_in_order(reached, lost), key=lambda s: _first(reached, s)):
            if self.is_excused(onward(space, situation)):
                lost.discard(situation)
                continue
            if any(self.kind(place.situation) == self.kind(situation) for place in found):
                continue
            witness = reach(self.lookout, partial(_is_seen_as, situation))
            if witness is not None:
                found.append(NoReturn(situation, witness))
                if one:
                    return found
        kinds = {self.kind(place.situation) for place in found}
        unsure = [s for s in _in_order(reached, open_ones | lost) if self.kind(s) not in kinds]
        if self.unproved(space, unsure):
            try:
                found += self._backwards(kinds)
            except LimitError as stop:
                if not found:
                    raise
                self.stopped = stop
        return found

    def at_first(self) -> NoReturn | None:
        """Find a place of no return right at power-up, or where a fault has just begun then.

        Only what is soon seen is found. Raises LimitError.
        """
        space = self.lookout.space(frozenset())
        begun = [move.to for move in space.begin()]
        struck = [to.to for at in begun for to in space.moves(at).moves if to.to.lives != at.lives]
        for situation in dict.fromkeys((*begun, *struck)):
            if self.counts(situation) and self._is_soon_seen_lost(space, situation):
                witness = reach(self.lookout, partial(_is_seen_as, situation))
                if witness is not None:
                    return NoReturn(situation, witness)
        return None

    def _is_soon_seen_lost(self, space: Space, start: Situation) -> bool:
        """Tell whether even without times nothing leads to the goal; not if that takes long."""
        met, left = {start}, [start]
        while left:
            at = left.pop()
            moves = space.moves(at)
            steps: list[Move | Stay] = [*moves.moves, *moves.stays, *moves.marked]
            if len(met) > SOON or any(self.is_good(at, step) is not None for step in steps):
                return False
            onward = {move.to for move in moves.moves if same_world(at, move)} - met
            met |= onward
            left += onward
        return True

    # --- Untimed ---

    def _untimed(self, space: Space, reached: Reached) -> tuple[set[Situation], set[Situation]]:
        """Split what counts into what has no way to the goal at all, and what might."""
        before: dict[Situation, list[Situation]] = {}
        able: list[Situation] = []
        for situation in reached.by_situation:
            moves = space.moves(situation)
            steps: list[Move | Stay] = [*moves.moves, *moves.stays, *moves.marked]
            if any(self.is_good(situation, step) is not None for step in steps):
                able.append(situation)
            for move in moves.moves:
                if same_world(situation, move):
                    before.setdefault(move.to, []).append(situation)
        seen = set(able)
        while able:
            for earlier in before.get(able.pop(), ()):
                if earlier not in seen:
                    seen.add(earlier)
                    able.append(earlier)
        counting = {s for s in reached.by_situation if self.counts(s)}
        return counting - seen, counting & seen

    # --- By holding inputs ---

    def unproved(
        self, space: Space, situations: Sequence[Situation], *, sets_out: bool = True
    ) -> list[Situation]:
        """Leave out the situations from which holding the inputs in some way leads to the goal."""
        holding = Holding(
            self.lookout,
            space,
            self._is_surely_good,
            self.free,
            sets_out=sets_out,
            tried=self.tried,
        )
        efforts = (LITTLE, ALL) if self._may_end_well(space, situations) else (ALL,)
        left = list(situations)
        for hard in efforts:
            left = holding.unproved(left, hard)
            if not left or self._ends_excused(space, left, holding.proved, hard):
                return []
        return left

    def _may_end_well(self, space: Space, situations: Iterable[Situation]) -> bool:
        """Tell whether a move leads to where it is excused: only then is it worth asking early."""
        ends_well = self.ends_well
        return ends_well is not None and any(
            ends_well(move.to) for at in situations for move in space.moves(at).moves
        )

    def _ends_excused(
        self, space: Space, left: list[Situation], proved: set[Situation], hard: slice
    ) -> bool:
        """Tell whether all that is left surely ends where it is excused, short of the goal.

        Nothing goes round in what is left, and in some way of holding the inputs all of it leads to
        an excused place or to where the goal is possible.
        """
        if self.ends_well is None or self._goes_round(space, left):
            return False
        ends_well = self.ends_well

        def is_over(at: Situation, step: Move | Stay) -> bool:
            if isinstance(step, Stay):
                return self._is_surely_good(at, step)
            return self._is_surely_good(at, step) or ends_well(step.to) or step.to in proved

        holding = Holding(self.lookout, space, is_over, self.free, set(proved))
        return not holding.unproved(left, hard)

    def _goes_round(self, space: Space, left: list[Situation]) -> bool:
        inside = set(left)
        onward = {
            at: [move.to for move in space.moves(at).moves if move.to in inside] for at in left
        }
        acts = any(
            way is not None
            for at in left
            for stay in space.moves(at).stays
            for way in stay.moment.ways
        )
        return acts or any(
            len(group) > 1 or any(at in onward[at] for at in group)
            for group in strongly_connected(onward)
        )

    def _is_surely_good(self, at: Situation, step: Move | Stay) -> bool:
        return self.is_good(at, step) == ()

    # --- Backwards with all clocks ---

    def _backwards(self, kinds: set[object]) -> list[NoReturn]:
        space = self.lookout.space(None)
        small = Budget(
            states=min(4000, self.lookout.budget.states), seconds=self.lookout.budget.seconds
        )
        reached = explore(space, small, exact=True)
        possible = possible_from(space, reached, self.is_good, self.lookout.budget)
        found: list[NoReturn] = []
        for node in reached.nodes:
            if not self.counts(node.situation):
                continue
            if self.kind(node.situation) in kinds:
                continue
            for stay, zone in standings(space, node):
                pieces = uncovered(
                    zone, len(space.clocks(node.situation)) + 1, possible.get(node.situation, ())
                )
                if pieces and self.is_excused(onward(space, node.situation)):
                    break
                witness = self._laid_out(space, node, stay, pieces)
                if witness is not None:
                    found.append(NoReturn(node.situation, witness))
                    kinds.add(self.kind(node.situation))
                    break
        return found

    def _laid_out(
        self, space: Space, node: Node, stay: Stay | None, pieces: Iterable[Zone]
    ) -> Witness | None:
        failed = False
        for piece in pieces:
            legs = legs_to(space, node)
            if stay is not None:
                legs.append(Leg(space, node.situation, stay, None, (), piece))
            plan = schedule(legs)
            if isinstance(plan, Schedule):
                return Witness(concrete(legs, plan), tuple(legs), plan)
            failed = True
        if failed:
            raise ReplayError("a place of no return was found whose times cannot be")
        return None


def onward(space: Space, start: Situation) -> dict[Situation, list[Move]]:
    """Map each situation that can follow `start`, and itself, to its moves.

    A stay in which a region does something is a move from a situation to itself.
    """
    found: dict[Situation, list[Move]] = {}
    stack = [start]
    while stack:
        at = stack.pop()
        if at not in found:
            found[at] = [m for m in space.moves(at).moves if same_world(at, m)]
            found[at] += [
                Move(at, (), (), (), (), stay.moment)
                for stay in space.moves(at).stays
                if any(way is not None for way in stay.moment.ways)
            ]
            stack += [move.to for move in found[at]]
    return found


def _in_order(reached: Reached, situations: Collection[Situation]) -> list[Situation]:
    return [at for at in reached.by_situation if at in situations]


def _is_seen_as(rough: Situation, at: Situation) -> bool:
    """Tell whether a situation is one of those that a rougher search took together."""
    readings = all(r is None or r == s for r, s in zip(rough.readings, at.readings, strict=True))
    return readings and at._replace(readings=rough.readings) == rough


def _first(reached: Reached, situation: Situation) -> int:
    return min(node.earliest for node in reached.by_situation[situation])
