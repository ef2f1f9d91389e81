"""What somebody does with a prop: let it be, turn inputs, take a transition, come nearer to a goal.

It knows how each is done and not why, and tells of every loop that it goes on by.
"""

from collections.abc import Callable, Iterable, Iterator
from random import Random

from behaviour.explore.dues import FOREVER
from behaviour.explore.walking.aims import Aim, Aims, Way
from behaviour.explore.walking.finds import whereabouts
from behaviour.explore.walking.goals import Goal
from behaviour.explore.walking.marks import Mark
from behaviour.explore.walking.nearness import Nearness, Whereabouts, open_ways
from behaviour.explore.walking.strides import Snapshot, Strides
from behaviour.model import Transition

DEEPEST = 3
"""How far what a transition needs is followed to what that needs."""

MOST_STRIDES = 4
"""So many strides nothing may happen in before waiting ends."""

FIDGETS = (1, 2, 5, 20)
"""How many loops a fidget may last."""

Note = Callable[[Snapshot, Snapshot, int], None]
"""Takes note of a loop: what was before, what it left, and how many loops lie between."""


class Hands:
    """Does things with one model; what comes of it is told to `note`."""

    def __init__(self, strides: Strides, random: Random, nearness: Nearness, note: Note) -> None:
        self.strides = strides
        self.model = strides.model
        self.random = random
        self.nearness = nearness
        self.note = note
        self.aims = Aims(strides, random)
        self._gone: dict[Mark, dict[tuple[int, int], int]] = {}
        self._ways: dict[tuple[int, int, int], tuple[Transition, ...]] = {}

    def approach(self, here: Snapshot, goal: Goal, depth: int = 0) -> Snapshot:
        """Take a transition that leads nearer to a goal, or to what such a transition needs."""
        nearness, at = self.nearness, whereabouts(here)
        far = nearness.far(goal, at)
        if not far and goal.way is not None:
            return self.take(here, (self.model.region_index[goal.part], goal.way), goal.also)
        if not far:
            aim = self.aims.at_condition(here, goal.when)
            return self.wait(here if aim is None else self.follow(here, aim))
        nearer = [
            (number, way)
            for number, way in self.next(here)
            if nearness.far(goal, nearness.after(at, number, way)) < far
        ]
        able = [each for each in nearer if self.aims.needs(here, each[1].when) is not None]
        if able:
            able = self._least_gone(goal, able)
            aims = (self._just_in_time(here, goal, at, each) for each in able)
            aim = next((each for each in aims if each is not None), None)
            return self._take_one(here, able) if aim is None else self.follow(here, aim)
        if not nearer or depth == DEEPEST:
            return self.wait(here)
        _, way = self.random.choice(nearer)
        return self.approach(here, Goal(goal.mark, goal.part, None, way.when), depth + 1)

    def _take_one(self, here: Snapshot, ways: Iterable[Way]) -> Snapshot:
        """Take the first of some transitions that can be taken as things are."""
        for way in ways:
            aim = self.aims.at_transition(here, way)
            if aim is not None:
                return self.follow(here, aim, way[0])
        return self.wait(here)

    def _least_gone(self, goal: Goal, ways: list[Way]) -> list[Way]:
        """Order ways to a goal by how often each was gone for it, and count the first once more."""
        gone = self._gone.setdefault(goal.mark, {})
        ways = self.random.sample(ways, len(ways))
        ways.sort(key=lambda each: gone.get((each[0], each[1].number), 0))
        number, first = ways[0]
        gone[number, first.number] = gone.get((number, first.number), 0) + 1
        return ways

    def _just_in_time(self, here: Snapshot, goal: Goal, at: Whereabouts, first: Way) -> Aim | None:
        """Aim at a transition that leads to a race, and at the race in the very next loop."""
        if goal.way is None or goal.also is None:
            return None
        number = self.model.region_index[goal.part]
        after = self.nearness.after(at, *first)
        if self.nearness.far(goal, after):
            return None
        there = (after.leaves, after.counters)
        return self.aims.at_two(here, first, number, (goal.way, goal.also), there)

    def take(self, here: Snapshot, way: Way, also: Transition | None = None) -> Snapshot:
        """Take a transition, with another one of its region due in the same loop."""
        second = None if also is None else (way[0], also)
        aim = self.aims.at_transition(here, way, second)
        return self.wait(here) if aim is None else self.follow(here, aim, way[0])

    def follow(self, here: Snapshot, aim: Aim, region: int | None = None) -> Snapshot:
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
            here = self.onward(here, tuple(wish), loops)
            if region is not None and here.prop.regions[region].leaf != leaf:
                break
        return here

    def wait(self, here: Snapshot) -> Snapshot:
        """Let inputs be until something happens."""
        for _ in range(MOST_STRIDES):
            loops = self.strides.horizon(here)
            if loops == FOREVER:
                return self.fidget(here)
            here = self.onward(here, here.raw, loops)
            if not here.is_quiet:
                break
        return here

    def fidget(self, here: Snapshot) -> Snapshot:
        """Turn an input or two and let a while go by."""
        wish = list(here.raw)
        for _ in range(self.random.choice((1, 1, 2))):
            if wish:
                at = self.random.randrange(len(wish))
                wish[at] = self.random.choice(self.model.inputs[at].values)
        here = self.onward(here, tuple(wish), 1)
        left = self.random.choice(FIDGETS)
        while left:
            loops = min(self.strides.horizon(here), left)
            here = self.onward(here, here.raw, loops)
            left -= loops
        return here

    def onward(self, here: Snapshot, wish: tuple[str, ...], loops: int) -> Snapshot:
        """Go on by `loops`, in the last of which inputs read `wish`, and tell of it."""
        now = self.strides.onward(here, wish, loops)
        self.note(here, now, loops)
        return now

    def next(self, here: Snapshot) -> Iterator[Way]:
        """List the transitions that regions may take next, the end of a state before its time."""
        for number, now in enumerate(here.prop.regions):
            key = (number, now.leaf, now.cue)
            ways = self._ways.get(key)
            if ways is None:
                region = self.model.regions[number]
                cue = max(now.cue, len(region.states[now.leaf].cues) - 1)
                ways = self._ways[key] = open_ways(region, now.leaf, cue)
            for way in ways:
                yield number, way
