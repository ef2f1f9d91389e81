"""A guided random walk of the concrete prop, which quickly finds runs for most of what can happen.

It knows the model and its world, and no rule; what it does not find may still be possible.

Strategy: every look of the prop (states, cues, counters, mechanism) that is new is kept with the
shortest run to it. The walk goes in stretches. One begins at power-up, or at a look from which
something wanted is near, or at one seldom begun at; it aims at transitions: at those that lead to
its goal, at those that nobody took yet, at those that lead to a new look. Only the marks' runs are
laid out loop by loop, when they are asked for.
"""

import time
from collections.abc import Callable, Collection, Iterable
from random import Random

from behaviour.explore.walking.aims import Way
from behaviour.explore.walking.finds import MOST_LOOPS, Finds, Spot, whereabouts
from behaviour.explore.walking.goals import Goal
from behaviour.explore.walking.hands import Hands
from behaviour.explore.walking.marks import Mark, Sought, marks_of
from behaviour.explore.walking.strides import Snapshot, Strides
from behaviour.explore.walking.trying import Walked
from behaviour.model import Model, Transition
from behaviour.semantics import NotKnownError, acted

OPENINGS = 8
"""So often it is switched on at first, to see how it begins."""
FRESH = 0.15
"""How often a stretch begins at power-up."""
TOWARDS = 0.9
"""How often else it is given a goal."""
OBEYED = 0.8
"""How often it then does what leads there."""

USUAL = 0.5
"""How often at power-up every input is at its first or safe value."""

PATIENCE = 4
"""A stretch ends after so many doings without news."""

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
) -> Walked:
    """Find a run for each of as many marks as it can, by `steps` calls of `step` or in `seconds`.

    Each run ends in the loop in which its mark is met, be it one of the model's own or of what is
    `sought` besides. The walk stops early when all that are `wanted` are met, or none was met and
    none came nearer for `idle` calls. With `may_stall` one movement may never end from some loop
    on. It may go on from where another walk of the same model has been
    (`after`). Where the file leaves something open, runs that need it are given up. The same seed
    gives the same runs, unless `seconds` cut it short.
    """
    marks = [mark for mark in marks_of(model) if wanted is None or mark in wanted]
    marks += [each.mark for each in sought]
    until = time.monotonic() + seconds
    walker = Walker(model, seed, marks, sought, may_stall=may_stall)
    if after is not None:
        walker.begin_after(after.spots)
    walker.walk(steps, until, idle or steps)
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
    ) -> None:
        self.model = model
        self.random = Random(seed)  # noqa: S311
        self.strides = Strides(model, self.random, may_stall=may_stall)
        self.finds = Finds(model, self.random, wanted, sought)
        self.hands = Hands(self.strides, self.random, self.finds.nearness, self.finds.note)
        self.aims = self.hands.aims
        self.goal: Goal | None = None
        self.openings = 0
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

    def walk(self, steps: int, until: float, idle: int) -> None:
        """Go on until every wanted mark is met, none comes nearer, or steps or time are up."""
        failures, progress, last = 0, 0, 0
        while (
            self.finds.unmet
            and self.strides.taken < min(steps, last + idle)
            and failures < MOST_FAILURES
            and time.monotonic() < until
        ):
            try:
                self._stretch()
            except NotKnownError:
                self.strides.taken += 1
                failures += not self.finds.spots
            if self.finds.progress > progress:
                progress, last = self.finds.progress, self.strides.taken

    def begin_after(self, spots: Iterable[Spot]) -> None:
        """Take over the looks of another walk, instead of seeing how it begins."""
        self.finds.take_over(spots)
        self.openings = OPENINGS
        self.fresh, self.towards = 0.0, 1.0

    # --- Stretches ------------------------------------------------------------------------------

    def _stretch(self) -> None:
        here = self._begin()
        patience = PATIENCE
        while patience and self.finds.unmet and here.trail.length <= MOST_LOOPS:
            news = self.finds.news
            here = self._do(here)
            patience = PATIENCE if self.finds.news > news else patience - 1

    def _begin(self) -> Snapshot:
        self.goal = None
        while not self.finds.spots or self.openings < OPENINGS:
            self.openings += 1
            self._power_up()
        if self.random.random() < self.fresh:
            return self._power_up()
        if self.random.random() < self.towards:
            self.goal = self.finds.goal()
        if self.goal is not None:
            spot = self.finds.nearest(self.goal)
        else:
            drawn = [self.random.choice(self.finds.spots) for _ in range(DRAWN)]
            spot = max(drawn, key=self._worth)
        spot.begun += 1
        return self.strides.redrawn(self.random.choice((spot.here, *spot.others.values())))

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
        if goal is not None and goal.mark in self.finds.unmet and self.random.random() < OBEYED:
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
        return self.hands.take(here, self.random.choice(ways)) if ways else self.hands.wait(here)

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
