"""How people move their inputs, and when, so that a transition's condition comes true.

It knows where the prop is and when its movements will end; it does not know why somebody wants
the transition, and it promises nothing: what else happens meanwhile may spoil it.

Strategy: each need of the condition asks for a lead, the loops from now in which it can be met at
the soonest. All are met in the one loop that the longest lead gives, so that edges fall together
and filters are done in time. Transitions that would come first are kept from it in the same way.
"""

from random import Random
from typing import NamedTuple

from behaviour.explore.dues import loops_of
from behaviour.explore.guards import atoms
from behaviour.explore.walking.needs import Need, Needs, with_needs
from behaviour.explore.walking.strides import Snapshot, Strides
from behaviour.model import Condition, Done, Not, Part, Transition
from behaviour.semantics import (
    InputState,
    Look,
    NextCue,
    RegionState,
    candidates,
    done_next,
    is_open,
)

SOON = 0.5
"""How often an input is moved at once, rather than as late as will do."""

TARDY = 0.2
"""How often a transition is aimed at later than it could be, by up to `MOST_TARDY` loops."""
MOST_TARDY = 12

WHIM = 0.1
"""How often another input is turned too, for no reason."""

MOST_BLOCKERS = 4
"""So many transitions that would come first are kept from it, one after another."""


Way = tuple[int, Transition]
"""A transition with the number of its region."""


class Turn(NamedTuple):
    """People turn an input to `value`, `at` loops from now."""

    at: int
    input: int
    value: str


class Aim(NamedTuple):
    """The turns that lead to a loop, and how many loops from now it is."""

    turns: tuple[Turn, ...]
    loops: int


class _Lead(NamedTuple):
    """The fewest loops in which a need can be met, and whether it can be met in that loop alone."""

    loops: int
    is_exact: bool = False


class Aims:
    """Finds aims for one model."""

    def __init__(self, strides: Strides, random: Random) -> None:
        self.strides = strides
        self.model = strides.model
        self.dues = strides.dues
        self.random = random
        self.forcing = {
            number: at
            for at, states in enumerate(strides.forced)
            for state in states
            for number, _ in state
        }

    def needs(self, here: Snapshot, condition: Condition | None) -> Needs | None:
        """Give what a condition needs of the inputs; None if they cannot make it true now."""
        return with_needs(here.look(self.model), self.random, {}, condition)

    def at_condition(self, here: Snapshot, condition: Condition | None) -> Aim | None:
        """Aim at a loop in which the inputs are as a condition needs them."""
        needs = self.needs(here, condition)
        return None if needs is None else self._aim(here, needs, 1)

    def at_transition(self, here: Snapshot, way: Way, also: Way | None = None) -> Aim | None:
        """Aim at the loop in which a region takes a transition; None if it cannot as things are.

        In the same loop another region shall take `also`, or it shall be due in this one.
        """
        look = here.look(self.model)
        needs = with_needs(look, self.random, {}, way[1].when)
        wait = self._wait(here, *way)
        if also is not None and needs is not None:
            needs = with_needs(look, self.random, needs, also[1].when)
            wait = max(wait, self._wait(here, *also))
        if needs is None:
            return None
        if self.random.random() < TARDY:
            wait += self.random.randrange(MOST_TARDY)
        is_race = also is not None
        aim = self._aim(here, needs, wait, just_then=is_race)
        for _ in range(MOST_BLOCKERS):
            if aim is None:
                return None
            blocker = self._blocker(here, way, needs, aim.loops)
            against = (
                None if blocker is None else with_needs(look, self.random, needs, Not(blocker))
            )
            if against is None:
                return aim
            needs = against
            aim = self._aim(here, needs, wait, just_then=is_race)
        return aim

    def at_two(
        self,
        here: Snapshot,
        first: Way,
        number: int,
        ways: tuple[Transition, Transition],
        there: tuple[tuple[int, ...], tuple[int, ...]],
    ) -> Aim | None:
        """Aim at the loop after a region takes `first`, in which two ways of `number` are due.

        `there` are the leaves and counters that `first` leads to.
        """
        look = here.look(self.model)
        needs = with_needs(look, self.random, {}, first[1].when)
        left = look._replace(leaves=there[0], counters=there[1])
        later = with_needs(left, self.random, {}, ways[0].when)
        later = None if later is None else with_needs(left, self.random, later, ways[1].when)
        if needs is None or later is None or needs.keys() & later.keys():
            return None
        waits = (
            () if first[0] == number else tuple(self._wait(here, number, way) - 1 for way in ways)
        )
        soonest = self._aim(here, needs, max([self._wait(here, *first), *waits]))
        soonest_later = self._aim(here, later, 2)
        if soonest is None or soonest_later is None:
            return None
        wait = max(soonest.loops, soonest_later.loops - 1)
        before = self._aim(here, needs, wait, just_then=True)
        then = self._aim(here, later, wait + 1, just_then=True)
        if before is None or then is None or (before.loops, then.loops) != (wait, wait + 1):
            return None
        return Aim(tuple(sorted((*before.turns, *then.turns))), wait + 1)

    # --- Times ----------------------------------------------------------------------------------

    def _wait(self, here: Snapshot, number: int, way: Transition) -> int:
        """Count the loops until a transition's time in the state is up, at least one."""
        region, now = self.model.regions[number], here.prop.regions[number]
        if way.part is Part.END:
            at = loops_of(self.model, region.states[now.leaf].cues[-1].at)
            return max(1, (at or 0) - now.timers[-1])
        if way.when is not None and any(isinstance(atom, Done) for atom in atoms(way.when)):
            return self._until_done(number, now)
        if way.after is None or way.source is None:
            return 1
        after = dict(now.draws).get(way.number) or loops_of(self.model, way.after.low) or 0
        return max(1, after - now.timers[region.path(now.leaf).index(way.source)])

    def _until_done(self, number: int, now: RegionState) -> int:
        """Count the loops until every move of a region has ended, at least one."""
        region, drawn = self.model.regions[number], dict(now.draws)
        left = [
            drawn[chance.number] - timer
            for timer, state in zip(now.timers, region.path(now.leaf), strict=True)
            for chance in region.chances(state)
            if chance.is_move
        ]
        return max([1, *left])

    def _aim(
        self, here: Snapshot, needs: Needs, wait: int, *, just_then: bool = False
    ) -> Aim | None:
        """Aim at the first loop, from `wait` on, in which all needs can be met.

        With `just_then` they are met in no loop before it, as far as inputs can do that.
        """
        leads: dict[int, _Lead] = {}
        for number, need in needs.items():
            lead = self._lead(here, number, need)
            if lead is None:
                return None
            leads[number] = lead
        exact = {lead.loops for lead in leads.values() if lead.is_exact}
        loops = max([wait, *(lead.loops for lead in leads.values())])
        if len(exact) > 1 or (exact and loops > min(exact)):
            return None
        turns: list[Turn] = []
        for number, need in needs.items():
            if not self._is_forced(here, number):
                turns += self._turns(here, number, need, loops, just_then=just_then)
        if not just_then and self.random.random() < WHIM:
            turns += self._whim(needs, loops)
        return Aim(tuple(sorted(turns)), loops)

    def _lead(self, here: Snapshot, number: int, need: Need) -> _Lead | None:
        now = here.prop.inputs[number]
        if self._is_forced(here, number):
            return self._forced_lead(here, number, need)
        filters = self.dues.filters[number]
        if need.edge:
            value = need.values[0]
            if now.steady == value:
                return _Lead(2 + filters[self._other(number, value)] + filters[value])
            return _Lead(1 + filters[value] + (now.raw == value))
        if now.steady in need.values:
            return _Lead(max(1, need.held - now.since))
        return _Lead(1 + min(filters[value] for value in need.values) + need.held)

    def _forced_lead(self, here: Snapshot, number: int, need: Need) -> _Lead | None:
        now = here.prop.inputs[number]
        filters = self.dues.filters[number]
        if not need.edge and now.steady in need.values and now.raw == now.steady:
            return _Lead(max(1, need.held - now.since))
        if now.raw in need.values and now.raw != now.steady:
            left = max(1, filters[now.raw] - now.run)
            return _Lead(left + need.held, is_exact=need.edge)
        mechanism = self.forcing[number]
        found = [
            (left, reads[number])
            for left, at, movement in self.strides.arrivals(here)
            if at == mechanism
            for reads in (dict(self.strides.forced[at][movement.target]),)
            if reads.get(number) in need.values
        ]
        if not found:
            return None
        left, value = min(found)
        return _Lead(left + filters[value] + need.held, is_exact=need.edge)

    def _turns(
        self, here: Snapshot, number: int, need: Need, loops: int, *, just_then: bool
    ) -> list[Turn]:
        now = here.prop.inputs[number]
        filters = self.dues.filters[number]
        if need.edge:
            value = need.values[0]
            if now.steady == value:
                first = [Turn(1, number, self._other(number, value))]
            else:
                first = [Turn(1, number, now.steady)] if now.raw == value else []
            return [*first, Turn(loops - filters[value], number, value)]
        if now.steady in need.values:
            return [] if now.raw == now.steady else [Turn(1, number, now.steady)]
        fits = [v for v in need.values if 1 + filters[v] + need.held <= loops]
        value = now.raw if now.raw in fits else self.random.choice(fits)
        latest = loops - filters[value] - need.held
        at_once = not just_then and self.random.random() < SOON
        return [Turn(1 if at_once else latest, number, value)]

    def _whim(self, needs: Needs, loops: int) -> list[Turn]:
        others = [number for number in range(len(self.model.inputs)) if number not in needs]
        if not others:
            return []
        number = self.random.choice(others)
        value = self.random.choice(self.model.inputs[number].values)
        return [Turn(self.random.choice((1, loops)), number, value)]

    def _other(self, number: int, value: str) -> str:
        """Give the value to come from, the one that is believed soonest."""
        filters = self.dues.filters[number]
        others = [each for each in self.model.inputs[number].values if each != value]
        return min(others, key=lambda each: (filters[each], each))

    def _is_forced(self, here: Snapshot, number: int) -> bool:
        at = self.forcing.get(number)
        return at is not None and any(
            forced == number for forced, _ in self.strides.forced[at][here.stands[at].state]
        )

    # --- What would come first ------------------------------------------------------------------

    def _blocker(self, here: Snapshot, way: Way, needs: Needs, loops: int) -> Condition | None:
        """Find the condition of a transition that would be taken instead in the loop aimed at."""
        number, wanted = way
        region, now = self.model.regions[number], here.prop.regions[number]
        look = Look(
            self.model,
            self._foreseen(here, needs, loops),
            here.prop.counters,
            tuple(each.leaf for each in here.prop.regions),
            done=done_next(self.model, here.prop, loops),
        )
        for other in candidates(region, now.leaf, now.cue):
            if other == wanted:
                return None
            if isinstance(other, NextCue) or other.when is None:
                continue
            is_due = self._wait(here, number, other) <= loops
            if is_due and look.holds(other.when) and is_open(region, now.leaf, other):
                return other.when
        return None

    def _foreseen(self, here: Snapshot, needs: Needs, loops: int) -> tuple[InputState, ...]:
        found = []
        for number, now in enumerate(here.prop.inputs):
            need = needs.get(number)
            if need is None:
                is_done = now.run + loops >= self.dues.filters[number][now.raw]
                steady, became = now.raw if is_done else now.steady, False
                since = now.since + loops
            else:
                steady = now.steady if now.steady in need.values else need.values[0]
                became, since = need.edge, need.held
            found.append(InputState(steady, steady, 0, since, became=became))
        return tuple(found)
