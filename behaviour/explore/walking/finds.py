"""What a walk has found: the shortest run to each mark, and the looks that it can go on from.

It is told of every loop in which something happened, and knows nothing of how one gets there.
"""

from collections.abc import Collection, Iterable
from copy import copy
from dataclasses import dataclass, field
from random import Random

from behaviour.explore.walking.goals import Goal, before_each, goals_of
from behaviour.explore.walking.marks import Mark, Sought, cues_of
from behaviour.explore.walking.nearness import FAR, Nearness, Whereabouts, open_ways
from behaviour.explore.walking.strides import Snapshot
from behaviour.explore.walking.trail import Trail
from behaviour.model import Model, Transition
from behaviour.semantics import Look, candidates, is_due
from behaviour.world.mechanism import Phase, Stand

MOST_LOOPS = 1_000_000
"""Longer runs are given up."""

MOST_OTHERS = 6
"""So many snapshots of one look are kept besides the one with the shortest run."""

EXCHANGE = 0.1
"""How often one of them gives way to a new one."""

MOST_NEAR = 8
"""So many of the looks nearest to a goal are kept, of those as near the latest."""

SHORTEST = 0.75
"""How often a stretch that begins at a look does so at the snapshot with the shortest run."""

WEARY = 0.3
"""How much further away a look seems each time that a stretch has begun there."""

STALLED = 0.5
"""How much further away a look seems once a movement has stalled."""

DEAREST = 10
"""So many strides of a stretch in vain count at most: a long way round is worth a second try."""

RACE = 3
"""So much dearer is a stride in vain for a race, which may be tried for later."""

RUN_UP = 1
"""A look so many steps before a race is as good as one in which only inputs are missing: that may
be gone before they are there."""


@dataclass(slots=True, eq=False)
class Spot:
    """A look of the prop, snapshots of it with the shortest run first, and what came of it.

    `others` are by what the inputs then count as; `begun` counts the stretches begun here; `hopes`
    are (marks unmet, hopes) when last counted.
    """

    here: Snapshot
    at: Whereabouts
    others: dict[tuple[str, ...], Snapshot] = field(default_factory=dict)
    begun: int = 0
    hopes: tuple[int, int] = (-1, 0)

    def one(self, random: Random) -> Snapshot:
        """Give one of its snapshots, often that with the shortest run."""
        if not self.others or random.random() < SHORTEST:
            return self.here
        return random.choice(tuple(self.others.values()))


class Finds:
    """Grows as a walk goes on; `news` counts the marks and looks that were new."""

    def __init__(
        self,
        model: Model,
        random: Random,
        wanted: Collection[Mark],
        sought: Collection[Sought] = (),
    ) -> None:
        self.model = model
        self.random = random
        self.wanted = frozenset(wanted)
        self.unmet = set(wanted)
        self.best: dict[Mark, Trail] = {}
        self.spots: list[Spot] = []
        self.news = 0
        self._aimless = 0
        self.nearness = Nearness(model)
        self._spot: dict[tuple[object, ...], Spot] = {}
        self._seen: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
        self._goals = [goal for goal in goals_of(model, sought) if goal.mark in self.wanted]
        self.sought = {each.mark: each for each in sought}
        self._near: dict[Goal, list[tuple[float, Spot]]] = {goal: [] for goal in self._goals}
        self._before = before_each(model, self._goals)
        self._vain = dict.fromkeys(self._goals, 0)
        self._looked = dict.fromkeys(self._goals, 0)

    # --- What is told ---------------------------------------------------------------------------

    def note_power_up(self, here: Snapshot) -> None:
        """Take note of loop 0."""
        for number, stand in enumerate(here.stands):
            self._meet(("stands", self.model.mechanism[number].name, stand.state), here)
        for number in range(len(self.model.regions)):
            self._note_region(here, number)
        self._note_look(here)

    def note(self, before: Snapshot, here: Snapshot, loops: int) -> None:
        """Take note of a later loop, `loops` after the one before."""
        if not here.is_quiet and here.trail.length <= MOST_LOOPS:
            self._note_marks(before, here, loops)
            if here.ended or any(now.fired is not None for now in here.prop.regions):
                self._note_look(here)

    def note_marks(self, before: Snapshot, here: Snapshot, loops: int) -> None:
        """Take note of what a later loop meets, and not of where it can be gone on from."""
        if not here.is_quiet and here.trail.length <= MOST_LOOPS:
            self._note_marks(before, here, loops)

    def _note_marks(self, before: Snapshot, here: Snapshot, loops: int) -> None:
        for number, now in enumerate(here.prop.regions):
            if now.fired is not None:
                self._note_region(here, number)
        self._note_sought(before, here, loops)
        for name in here.prop.beyond:
            self._meet(("beyond", name), here)
        for number, movement in here.ended:
            name = self.model.mechanism[number].name
            self._meet(("ended", name, movement.number), here)
            self._meet(("stands", name, here.stands[number].state), here)

    def take_over(self, spots: Iterable[Spot]) -> None:
        """Know the looks of another walk of the same model, those with the shortest runs last.

        So these are the first to be begun at.
        """
        for spot in sorted(spots, key=lambda each: -each.here.trail.length):
            for here in (spot.here, *spot.others.values()):
                self._note_look(here)

    def _note_region(self, here: Snapshot, number: int) -> None:
        region, now = self.model.regions[number], here.prop.regions[number]
        if now.fired is not None and now.fired.transition is not None:
            self._meet(("taken", region.name, now.fired.transition.number), here)
        elif now.fired is not None:
            cue = cues_of(region).index((now.leaf, now.cue))
            self._meet(("cue", region.name, cue), here)
        for state in region.path(now.leaf):
            self._meet(("state", region.name, state), here)

    def _note_sought(self, before: Snapshot, here: Snapshot, loops: int) -> None:
        look: Look | None = None
        for mark, sought in self.sought.items():
            had = self.best.get(mark)
            if had is not None and had.length <= here.trail.length:
                continue
            number = self.model.region_index[sought.region]
            if sought.ways is not None and not self._is_race(
                sought.ways, number, before, here, loops
            ):
                continue
            look = look or before.look(self.model)._replace(
                inputs=here.prop.inputs, done=here.prop.done
            )
            condition = sought.when if sought.ways is None else sought.ways[1].when
            if look.holds(condition):
                self._meet(mark, here)

    def _is_race(
        self,
        ways: tuple[Transition, Transition],
        number: int,
        before: Snapshot,
        here: Snapshot,
        loops: int,
    ) -> bool:
        """Tell whether the first was taken and the time of the second was up as well."""
        first, second = ways
        fired, was = here.prop.regions[number].fired, before.prop.regions[number]
        if fired is None or fired.transition is None or fired.transition.number != first.number:
            return False
        region = self.model.regions[number]
        numbers = [
            way.number
            for way in candidates(region, was.leaf, was.cue)
            if isinstance(way, Transition)
        ]
        if second.number not in numbers:
            return False
        later = was._replace(timers=tuple(timer + loops for timer in was.timers))
        return is_due(self.model, region, later, second)

    def _meet(self, mark: Mark, here: Snapshot) -> None:
        if mark not in self.wanted:
            return
        had = self.best.get(mark)
        if had is None:
            self.unmet.discard(mark)
            self.news += 1
            self._aimless = 0
        if had is None or here.trail.length < had.length:
            self.best[mark] = here.trail

    def _note_look(self, here: Snapshot) -> None:
        at = whereabouts(here)
        self._seen.add((at.leaves, at.counters))
        cues = tuple(region.cue for region in here.prop.regions)
        look = (at, cues, here.stalled, tuple(_is_broken(stand) for stand in here.stands))
        spot = self._spot.get(look)
        if spot is None:
            spot = self._spot[look] = Spot(here, at)
            self.spots.append(spot)
            self.news += 1
        elif here.trail.length < spot.here.trail.length:
            spot.here = here
        else:
            self._keep_other(spot, here)

    def _keep_other(self, spot: Spot, here: Snapshot) -> None:
        """Keep some more snapshots of a look, of inputs that differ if there are any."""
        steady = tuple(item.steady for item in here.prop.inputs)
        if steady in spot.others:
            if self.random.random() < EXCHANGE:
                spot.others[steady] = here
            return
        if len(spot.others) == MOST_OTHERS:
            if self.random.random() >= EXCHANGE:
                return
            del spot.others[self.random.choice(list(spot.others))]
        spot.others[steady] = here

    def _near_to(self, goal: Goal) -> list[tuple[float, Spot]]:
        """Give the looks nearest to a goal; those that are new since are looked at first."""
        near = self._near[goal]
        for spot in self.spots[self._looked[goal] :]:
            self._note_near(goal, near, spot)
        self._looked[goal] = len(self.spots)
        return near

    def _note_near(self, goal: Goal, near: list[tuple[float, Spot]], spot: Spot) -> None:
        far: float = self.nearness.far(goal, spot.at)
        if goal.also is not None and far <= RUN_UP:
            far = RUN_UP if not far or self._is_poised(goal, spot) else RUN_UP + 1
        if spot.here.stalled is not None:
            far += STALLED
        if far < (near[0][0] if near else FAR):
            self._vain[goal] = 0
        if far < FAR and (len(near) < MOST_NEAR or far <= near[-1][0]):
            near.append((far, spot))
            near.sort(key=_by_length)
            del near[MOST_NEAR:]

    def _is_poised(self, goal: Goal, spot: Spot) -> bool:
        """Tell whether a transition that only inputs and time keep back leads to a goal."""
        return any(
            not self.nearness.of_condition(spot.at, way.when)
            and not self.nearness.far(goal, self.nearness.after(spot.at, number, way))
            for number, now in enumerate(spot.here.prop.regions)
            for way in open_ways(self.model.regions[number], now.leaf, now.cue)
        )

    # --- What is asked --------------------------------------------------------------------------

    def is_new(self, at: Whereabouts) -> bool:
        """Tell whether nothing has yet been there, mechanisms apart."""
        return (at.leaves, at.counters) not in self._seen

    def goal(self) -> Goal | None:
        """Choose a goal of those least gone for in vain, the one that some look is nearest to."""
        goals = self._next_goals()
        return min(goals, key=self._hope) if goals else None

    def goal_from(self, at: Whereabouts) -> Goal | None:
        """Choose a goal of those least gone for in vain, the nearest one."""
        goals = self._next_goals()

        def hope(goal: Goal) -> tuple[int, int]:
            return self._vain[goal], self.nearness.far(goal, at)

        return min(goals, key=hope) if goals else None

    def went_in_vain(self, goal: Goal | None, strides: int) -> None:
        """Take note that a stretch has not met the goal that it was for, if it was for one."""
        strides = min(max(strides, 1), DEAREST)
        if goal is None:
            self._aimless += strides
        else:
            self._vain[goal] += strides * (1 if goal.also is None else RACE)

    def least_vain(self) -> int:
        """Count the strides gone in vain for each goal that is to be met next, at least.

        If there is no such goal, those without one since a mark was met.
        """
        return min((self._vain[goal] for goal in self._next_goals()), default=self._aimless)

    def _hope(self, goal: Goal) -> tuple[int, float]:
        return self._vain[goal], self._near[goal][0][0]

    def _next_goals(self) -> list[Goal]:
        """List goals that some way may lead to, without those that another one comes before."""
        goals = [goal for goal in self._goals if goal.mark in self.unmet]
        first = [goal for goal in goals if self.unmet.isdisjoint(self._before[goal])]
        first = [goal for goal in first if self._near_to(goal)]
        return first or [goal for goal in goals if self._near_to(goal)]

    def near_to(self, mark: Mark) -> list[tuple[Goal, list[Spot]]]:
        """List the goals of a mark, and the looks near to each from which a run may lead there.

        If it is met, only those to which a shorter run leads.
        """
        most = self.best[mark].length if mark in self.best else MOST_LOOPS
        return [
            (goal, [spot for _, spot in self._near_to(goal) if spot.here.trail.length < most])
            for goal in self._goals
            if goal.mark == mark
        ]

    def wanted_as(self, name: object) -> Mark | None:
        """Give the mark that is wanted by a name, if it is and something leads to it."""
        return next((goal.mark for goal in self._goals if goal.mark == name), None)

    def apart(self, marks: Collection[Mark]) -> "Finds":
        """Give finds of their own for some marks: what is met there is not told here."""
        own = copy(self)
        own.wanted = frozenset(marks)
        own.unmet = own.unmet.intersection(marks)
        own.best = {mark: self.best[mark] for mark in marks if mark in self.best}
        own.sought = {mark: self.sought[mark] for mark in marks if mark in self.sought}
        return own

    def nearest(self, goal: Goal) -> Spot:
        """Give a look near to a goal, at which few stretches have begun."""
        return min(
            self._near_to(goal),
            key=lambda each: (each[0] + each[1].begun * WEARY, each[1].here.trail.length),
        )[1]


def _by_length(near: tuple[float, Spot]) -> tuple[float, int]:
    return near[0], near[1].here.trail.length


def _is_broken(stand: Stand) -> bool:
    """Tell whether a movement was broken off, so that it may end sooner than a whole one."""
    return any(now.phase in (Phase.BROKEN, Phase.LATER) for now in stand.progress)


def whereabouts(here: Snapshot) -> Whereabouts:
    return Whereabouts(
        tuple(region.leaf for region in here.prop.regions),
        here.prop.counters,
        tuple(stand.state for stand in here.stands),
    )
