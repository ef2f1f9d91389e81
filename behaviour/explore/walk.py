"""A guided random walk of the concrete prop, which quickly finds runs for most of what can happen.

It knows the model and its world, and no rule; what it does not find may still be possible.

Strategy: every look of the prop (states, cues, counters, mechanism) that is new is kept with the
shortest run to it. The walk goes in stretches. One begins at power-up, or at a look from which
something wanted is near, or at one seldom begun at; it aims at transitions: at those that lead to
its goal, at those that nobody took yet, at those that lead to a new look. Only the marks' runs are
laid out loop by loop, when they are asked for.
"""

import time
from collections.abc import Callable, Collection, Iterator
from contextlib import suppress
from random import Random

from behaviour.explore.walking.aims import Aim, Aims, Way
from behaviour.explore.walking.dues import FOREVER
from behaviour.explore.walking.finds import MOST_LOOPS, Finds, Spot, whereabouts
from behaviour.explore.walking.goals import Goal
from behaviour.explore.walking.later import Runs
from behaviour.explore.walking.marks import Mark, Sought, marks_of
from behaviour.explore.walking.nearness import Whereabouts, open_ways
from behaviour.explore.walking.strides import Snapshot, Strides
from behaviour.model import Model, Transition
from behaviour.semantics import NotKnownError, acted

OPENINGS = 8
"""So often it is switched on at first, to see how it begins."""
FRESH = 0.1
"""How often a stretch begins at power-up."""
TOWARDS = 0.5
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

DEEPEST = 3
"""How far what a transition needs is followed to what that needs."""

MOST_STRIDES = 4
"""So many strides nothing may happen in before waiting ends."""

FIDGETS = (1, 2, 5, 20)
"""How many loops a fidget may last."""

PAIR = 2
"""So many transitions are aimed at together."""

TRIES = 3
"""So often each thing that is sought is tried for at the end from each look that is near to it."""
MUCH_SHORTER = 2
"""So much shorter must a run be for another one to be tried."""
STRAIGHT = 6
"""So many doings each such try has."""

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
) -> Runs:
    """Find a run for each of as many marks as it can, by `steps` calls of `step` or in `seconds`.

    Each run ends in the loop in which its mark is met, be it one of the model's own or of what is
    `sought` besides. The walk stops early when all that are
    `wanted` are met, or nothing new was met for `idle` calls. With `may_stall` one movement may
    never end from some loop on. Where the file leaves something open, runs that need it are given
    up. The same seed gives the same runs,
    unless `seconds` cut it short.
    """
    marks = [mark for mark in marks_of(model) if wanted is None or mark in wanted]
    marks += [each.mark for each in sought]
    walker = Walker(model, seed, marks, sought, may_stall=may_stall)
    walker.walk(steps, time.monotonic() + seconds, idle or steps)
    best = walker.finds.best
    found = Runs()
    for mark in marks:
        if mark in best:
            found.put(mark, best[mark].run)
    return found


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
        self.aims = Aims(self.strides, self.random)
        self.finds = Finds(model, self.random, wanted, sought)
        self.goal: Goal | None = None
        self.openings = 0
        self._doings: tuple[Callable[[Snapshot], Snapshot], ...] = (
            self._take_hopeful,
            self._take_new,
            self._wait,
            self._fidget,
            self._be_restless,
            self._take_any,
            self._take_two,
        )
        self._ways: dict[tuple[int, int, int], tuple[Transition, ...]] = {}

    def walk(self, steps: int, until: float, idle: int) -> None:
        """Go on until every wanted mark is met, nothing new is, or steps or time are up."""
        failures, unmet, last = 0, len(self.finds.unmet), 0
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
            if len(self.finds.unmet) < unmet:
                unmet, last = len(self.finds.unmet), self.strides.taken
        for goal, near in self.finds.sought():
            for spot in near:
                for _ in range(TRIES):
                    if not self._is_worth_trying(goal, spot) or time.monotonic() > until:
                        break
                    with suppress(NotKnownError):
                        self._try(goal, spot)

    def _is_worth_trying(self, goal: Goal, spot: Spot) -> bool:
        """Tell whether a goal is not met, or a much shorter run may lead to it from a look."""
        best = self.finds.best.get(goal.mark)
        return best is None or spot.here.trail.length < best.length // MUCH_SHORTER

    def _try(self, goal: Goal, spot: Spot) -> None:
        """Go from where a goal is near to where it may be met, and do nothing else."""
        here = self.strides.redrawn(self.random.choice((spot.here, *spot.others.values())))
        for _ in range(STRAIGHT):
            if here.trail.length <= MOST_LOOPS and self._is_worth_trying(goal, spot):
                here = self._approach(here, goal)

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
        if self.random.random() < FRESH:
            return self._power_up()
        if self.random.random() < TOWARDS:
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
            return self._approach(here, goal)
        (do,) = self.random.choices(self._doings, WEIGHTS)
        return do(here)

    def _approach(self, here: Snapshot, goal: Goal, depth: int = 0) -> Snapshot:
        """Take a transition that leads nearer to a goal, or to what such a transition needs."""
        nearness, at = self.finds.nearness, whereabouts(here)
        far = nearness.far(goal, at)
        if not far and goal.way is not None:
            return self._take(here, (self.model.region_index[goal.part], goal.way), goal.also)
        if not far:
            aim = self.aims.at_condition(here, goal.when)
            return self._wait(here if aim is None else self._follow(here, aim))
        nearer = [
            (number, way)
            for number, way in self._next(here)
            if nearness.far(goal, nearness.after(at, number, way)) < far
        ]
        able = [each for each in nearer if self.aims.needs(here, each[1].when) is not None]
        if able:
            chosen = self.random.choice(able)
            aim = self._just_in_time(here, goal, at, chosen) if goal.also is not None else None
            return self._take(here, chosen) if aim is None else self._follow(here, aim)
        if not nearer or depth == DEEPEST:
            return self._wait(here)
        _, way = self.random.choice(nearer)
        return self._approach(here, Goal(goal.mark, goal.part, None, way.when), depth + 1)

    def _just_in_time(self, here: Snapshot, goal: Goal, at: Whereabouts, first: Way) -> Aim | None:
        """Aim at a transition that leads to a race, and at the race in the very next loop."""
        number = self.model.region_index[goal.part]
        after = self.finds.nearness.after(at, *first)
        if goal.way is None or goal.also is None or self.finds.nearness.far(goal, after):
            return None
        there = (after.leaves, after.counters)
        return self.aims.at_two(here, first, number, (goal.way, goal.also), there)

    def _take_hopeful(self, here: Snapshot) -> Snapshot:
        ways = self._hopeful(here)
        return self._take(here, self.random.choice(ways)) if ways else self._take_new(here)

    def _take_new(self, here: Snapshot) -> Snapshot:
        at = whereabouts(here)
        ways = [
            (number, way)
            for number, way in self._next(here)
            if self.finds.is_new(self.finds.nearness.after(at, number, way))
        ]
        return self._take(here, self.random.choice(ways)) if ways else self._wait(here)

    def _take_any(self, here: Snapshot) -> Snapshot:
        ways = list(self._next(here))
        return self._take(here, self.random.choice(ways)) if ways else self._fidget(here)

    def _take(self, here: Snapshot, way: Way, also: Transition | None = None) -> Snapshot:
        """Take a transition, with another one of its region due in the same loop."""
        second = None if also is None else (way[0], also)
        aim = self.aims.at_transition(here, way, second)
        return self._wait(here) if aim is None else self._follow(here, aim, way[0])

    def _take_two(self, here: Snapshot) -> Snapshot:
        """Take transitions of two regions in the same loop."""
        ways = list(self._next(here))
        if len(ways) < PAIR:
            return self._take_any(here)
        way, also = self.random.sample(ways, PAIR)
        if way[0] == also[0]:
            return self._take(here, way)
        aim = self.aims.at_transition(here, way, also)
        return self._wait(here) if aim is None else self._follow(here, aim, way[0])

    def _follow(self, here: Snapshot, aim: Aim, region: int | None = None) -> Snapshot:
        """Turn the inputs as an aim says, until a region is in another leaf."""
        leaf = None if region is None else here.prop.regions[region].leaf
        turns = list(reversed(aim.turns))
        gone = 0
        while gone < aim.loops:
            target = turns[-1].at if turns else aim.loops
            loops = min(target - gone, self.strides.horizon(here))
            gone += loops
            wish = list(here.raw)
            while turns and turns[-1].at == gone:
                turn = turns.pop()
                wish[turn.input] = turn.value
            here = self._onward(here, tuple(wish), loops)
            if region is not None and here.prop.regions[region].leaf != leaf:
                break
        return here

    def _wait(self, here: Snapshot) -> Snapshot:
        """Let inputs be until something happens."""
        for _ in range(MOST_STRIDES):
            loops = self.strides.horizon(here)
            if loops == FOREVER:
                return self._fidget(here)
            here = self._onward(here, here.raw, loops)
            if not here.is_quiet:
                break
        return here

    def _fidget(self, here: Snapshot) -> Snapshot:
        """Turn an input or two and let a while go by."""
        wish = list(here.raw)
        for _ in range(self.random.choice((1, 1, 2))):
            if wish:
                at = self.random.randrange(len(wish))
                wish[at] = self.random.choice(self.model.inputs[at].values)
        here = self._onward(here, tuple(wish), 1)
        left = self.random.choice(FIDGETS)
        while left:
            loops = min(self.strides.horizon(here), left)
            here = self._onward(here, here.raw, loops)
            left -= loops
        return here

    def _be_restless(self, here: Snapshot) -> Snapshot:
        """Turn inputs in every loop, for some loops."""
        for _ in range(self.random.randrange(2, 10)):
            wish = (
                self.random.choice((raw, self.random.choice(item.values)))
                for item, raw in zip(self.model.inputs, here.raw, strict=True)
            )
            here = self._onward(here, tuple(wish), 1)
        return here

    def _onward(self, here: Snapshot, wish: tuple[str, ...], loops: int) -> Snapshot:
        now = self.strides.onward(here, wish, loops)
        self.finds.note(here, now, loops)
        return now

    # --- What may come next ---------------------------------------------------------------------

    def _next(self, here: Snapshot) -> Iterator[Way]:
        for number, now in enumerate(here.prop.regions):
            key = (number, now.leaf, now.cue)
            ways = self._ways.get(key)
            if ways is None:
                ways = self._ways[key] = open_ways(self.model.regions[number], now.leaf, now.cue)
            for way in ways:
                yield number, way

    def _hopeful(self, here: Snapshot) -> list[Way]:
        """List what would meet a mark and may come next by turning inputs."""
        return [
            (number, way)
            for number, way in self._next(here)
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
