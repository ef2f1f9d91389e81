"""A guided random walk of the concrete prop, which quickly finds runs for most of what can happen.

It knows the model and its world, and no rule; what it does not find may still be possible.

Strategy: every look of the prop (states, cues, counters, mechanism) that is new is kept with the
shortest run to it. The walk goes in stretches. One begins at power-up, or at a look from which a
goal is near. It aims at transitions that lead to its goal; once that is met it goes on to the one
that is nearest then. Goals are transitions, cues and movements out of states that were met; what
lies behind comes later. Each is gone for in turn, and a short walk ends when each was gone for
long enough in vain. Now and then a stretch has no goal, and aims at transitions that nobody took
yet and at new looks. Only the marks' runs are laid out loop by loop, when they are asked for.
"""

import time
from collections.abc import Callable, Collection, Iterable
from random import Random

from behaviour.explore.walking.aims import Way
from behaviour.explore.walking.finds import (
    DEAREST,
    MOST_LOOPS,
    RUN_UP,
    Finds,
    Spot,
    whereabouts,
)
from behaviour.explore.walking.goals import Goal
from behaviour.explore.walking.hands import Hands
from behaviour.explore.walking.marks import Mark, Sought, marks_of
from behaviour.explore.walking.nearness import FAR
from behaviour.explore.walking.strides import OFTEN, Snapshot, Strides
from behaviour.explore.walking.trying import Walked
from behaviour.model import Model, Transition
from behaviour.semantics import NotKnownError, acted

OPENINGS = 8
"""So often it is switched on at first, to see how it begins."""
FRESH = 0.1
"""How often a stretch begins at power-up."""
ANYWHERE = 0.5
"""How often one does that is for a movement's end: mechanisms may then stand anywhere."""
TOWARDS = 0.95
"""How often else it is given a goal."""
OBEYED = 0.97
"""How often it then does what leads there."""

LONG_IN_VAIN = 60
"""After so many strides in vain for each goal something else may be what is missing."""
AIMLESS = 0.6
"""How often it then still has a goal, and how often it obeys."""

USUAL = 0.5
"""How often at power-up every input is at its first or safe value."""

PATIENCE = 2
"""A stretch ends after so many doings without news that bring it no nearer to its goal."""

DRAWN = 12
"""Of so many looks, drawn at random, a stretch without a goal begins at the most hopeful one."""
HOPE = 8
"""So much more is a look worth for each transition that nobody took and that may come next."""

PAIR = 2
"""So many transitions are aimed at together."""

MOST_FAILURES = 200
"""After so many starts that need what the file leaves open, it gives up."""

WEIGHTS = (60, 15, 10, 5, 5, 5, 5)
"""How often a hopeful transition is taken, a new one, nothing but time, a fidget, and so on."""


def walk(  # noqa: PLR0913
    model: Model,
    *,
    seed: int,
    steps: int,
    seconds: float,
    may_stall: bool,
    wanted: Collection[Mark] | None = None,
    sought: Collection[Sought] = (),
    idle: int | None = None,
    after: Walked | None = None,
    is_never: Callable[[Mark], bool] = lambda _: False,
) -> Walked:
    """Find a run for each of as many marks as it can, by `steps` calls of `step` or in `seconds`.

    Each run ends in the loop in which its mark is met, be it one of the model's own or of what is
    `sought` besides. The walk stops early when all that are `wanted` are met, or each that could
    be met next was gone for in `idle` calls without coming nearer; what `is_never` tells never to
    come is not gone for a second time. With `may_stall` one movement may never end from some loop
    on. It may go on from where another walk of the same model has been
    (`after`). Where the file leaves something open, runs that need it are given up. The same seed
    gives the same runs, unless `seconds` cut it short.
    """
    marks = [mark for mark in marks_of(model) if wanted is None or mark in wanted]
    marks += [each.mark for each in sought]
    until = time.monotonic() + seconds
    walker = Walker(model, seed, marks, sought, may_stall=may_stall, is_never=is_never)
    if after is not None:
        walker.begin_after(after.spots)
    walker.walk(steps, until, idle)
    sharp = walker.finds.sought if after is None else marks
    return Walked(walker.strides, walker.finds, marks, seed, until, sharp)


class Walker:
    """One walk, as far as it has gone."""

    def __init__(
        self,
        model: Model,
        seed: int,
        wanted: Collection[Mark],
        sought: Collection[Sought] = (),
        *,
        may_stall: bool,
        is_never: Callable[[Mark], bool] = lambda _: False,
    ) -> None:
        self.model = model
        self.is_never = is_never
        self._asked: set[Mark] = set()
        self.random = Random(seed)  # noqa: S311
        self.strides = Strides(model, self.random, may_stall=may_stall)
        self.finds = Finds(model, self.random, wanted, sought)
        self.hands = Hands(self.strides, self.random, self.finds.nearness, self.finds.note)
        self.aims = self.hands.aims
        self.goal: Goal | None = None
        self.openings = 0
        self.is_weary = False
        self.fresh, self.towards = FRESH, TOWARDS
        self._doings: tuple[Callable[[Snapshot], Snapshot], ...] = (
            self._take_hopeful,
            self._take_new,
            self.hands.wait,
            self.hands.fidget,
            self._be_restless,
            self._take_any,
            self._take_two,
        )

    def walk(self, steps: int, until: float, idle: int | None) -> None:
        """Go on until every wanted mark is met, none comes nearer, or steps or time are up."""
        failures = 0
        while (
            self.finds.unmet
            and self.strides.taken < steps
            and (idle is None or self.finds.least_vain() < idle)
            and failures < MOST_FAILURES
            and time.monotonic() < until
        ):
            try:
                self._stretch()
            except NotKnownError:
                self.strides.taken += 1
                self.finds.went_in_vain(self.goal, DEAREST)
                failures += not self.finds.spots

    def begin_after(self, spots: Iterable[Spot]) -> None:
        """Take over the looks of another walk, instead of seeing how it begins."""
        self.finds.take_over(spots)
        self.openings = OPENINGS
        self.fresh, self.towards = 0.0, 1.0
        self.strides.stall = OFTEN

    # --- Stretches ------------------------------------------------------------------------------

    def _stretch(self) -> None:
        here = self._begin()
        began, patience, least = self.strides.taken, PATIENCE, self._far(here)
        is_straight = least <= RUN_UP
        while patience and self.finds.unmet and here.trail.length <= MOST_LOOPS:
            news = self.finds.news
            here = self._do(here)
            if self.goal is not None and self.goal.mark not in self.finds.unmet:
                self.goal = self.finds.goal_from(whereabouts(here))
                began, least, is_straight = self.strides.taken, FAR, False
            far = self._far(here)
            if self.finds.news > news or far < least:
                patience = PATIENCE
            elif is_straight and far > RUN_UP:
                break
            else:
                patience -= 1
            least = min(far, least)
        self._note_vain(self.strides.taken - began)

    def _note_vain(self, strides: int) -> None:
        """Take note that a goal was not met; no more is it gone for if it is told never to come."""
        self.finds.went_in_vain(self.goal, strides)
        if self.goal is not None and self.goal.mark not in self._asked:
            self._asked.add(self.goal.mark)
            if self.is_never(self.goal.mark):
                self.finds.unmet.discard(self.goal.mark)

    def _far(self, here: Snapshot) -> int:
        return FAR if self.goal is None else self.finds.nearness.far(self.goal, whereabouts(here))

    def _begin(self) -> Snapshot:
        self.goal = None
        while not self.finds.spots or self.openings < OPENINGS:
            self.openings += 1
            self._power_up()
        self.is_weary = self.finds.least_vain() > LONG_IN_VAIN
        if self.random.random() < (AIMLESS if self.is_weary else self.towards):
            self.goal = self.finds.goal()
        if self.random.random() < self._freshness():
            return self._power_up()
        if self.goal is not None:
            spot = self.finds.nearest(self.goal)
        else:
            drawn = [self.random.choice(self.finds.spots) for _ in range(DRAWN)]
            spot = max(drawn, key=self._worth)
        spot.begun += 1
        return self.strides.redrawn(spot.one(self.random))

    def _freshness(self) -> float:
        """Give how often such a stretch begins at power-up."""
        goal = self.goal
        is_movement = goal is not None and goal.mark[0] == "ended"
        return ANYWHERE if self.fresh and is_movement else self.fresh

    def _worth(self, spot: Spot) -> float:
        unmet = len(self.finds.unmet)
        if spot.hopes[0] != unmet:
            spot.hopes = (unmet, len(self._hopeful(spot.here)))
        return (1 + HOPE * spot.hopes[1]) / (1 + spot.begun)

    def _power_up(self) -> Snapshot:
        is_usual = self.random.random() < USUAL
        wish = tuple(
            item.safe or item.values[0] if is_usual else self.random.choice(item.values)
            for item in self.model.inputs
        )
        here = self.strides.begin(wish)
        self.finds.note_power_up(here)
        return here

    # --- What to do -----------------------------------------------------------------------------

    def _do(self, here: Snapshot) -> Snapshot:
        goal = self.goal
        obeyed = AIMLESS if self.is_weary else OBEYED
        if goal is not None and goal.mark in self.finds.unmet and self.random.random() < obeyed:
            return self.hands.approach(here, goal)
        (do,) = self.random.choices(self._doings, WEIGHTS)
        return do(here)

    def _take_hopeful(self, here: Snapshot) -> Snapshot:
        ways = self._hopeful(here)
        return self.hands.take(here, self.random.choice(ways)) if ways else self._take_new(here)

    def _take_new(self, here: Snapshot) -> Snapshot:
        at = whereabouts(here)
        ways = [
            (number, way)
            for number, way in self.hands.next(here)
            if self.finds.is_new(self.finds.nearness.after(at, number, way))
        ]
        return self.hands.take(here, self.random.choice(ways)) if ways else self._take_any(here)

    def _take_any(self, here: Snapshot) -> Snapshot:
        ways = list(self.hands.next(here))
        return self.hands.take(here, self.random.choice(ways)) if ways else self.hands.fidget(here)

    def _take_two(self, here: Snapshot) -> Snapshot:
        """Take transitions of two regions in the same loop."""
        ways = list(self.hands.next(here))
        if len(ways) < PAIR:
            return self._take_any(here)
        way, also = self.random.sample(ways, PAIR)
        if way[0] == also[0]:
            return self.hands.take(here, way)
        aim = self.aims.at_transition(here, way, also)
        return self.hands.wait(here) if aim is None else self.hands.follow(here, aim, way[0])

    def _be_restless(self, here: Snapshot) -> Snapshot:
        """Turn inputs in every loop, for some loops."""
        for _ in range(self.random.randrange(2, 10)):
            wish = (
                self.random.choice((raw, self.random.choice(item.values)))
                for item, raw in zip(self.model.inputs, here.raw, strict=True)
            )
            here = self.hands.onward(here, tuple(wish), 1)
        return here

    # --- What may come next ---------------------------------------------------------------------

    def _hopeful(self, here: Snapshot) -> list[Way]:
        """List what would meet a mark and may come next by turning inputs."""
        return [
            (number, way)
            for number, way in self.hands.next(here)
            if self._is_wanted(here, number, way) and self.aims.needs(here, way.when) is not None
        ]

    def _is_wanted(self, here: Snapshot, number: int, way: Transition) -> bool:
        region, unmet = self.model.regions[number], self.finds.unmet
        if ("taken", region.name, way.number) in unmet:
            return True
        if isinstance(way.target, int) and ("state", region.name, way.target) in unmet:
            return True
        for action in way.does:
            at = self.model.counter_index[action.counter]
            counter = self.model.counters[at]
            value = acted(action, here.prop.counters[at])
            if ("beyond", counter.name) in unmet and not counter.low <= value <= counter.high:
                return True
        return False
