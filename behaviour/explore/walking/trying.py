"""Going straight for one mark, from the looks of a walk that are nearest to it.

Each mark is tried for apart: from what the walk has found, with random numbers of its own, and
what else is met on the way is forgotten. So what comes of it does not hang on what else is tried.
"""

import time
from collections.abc import Collection, Iterable, Sequence
from contextlib import suppress
from functools import partial
from random import Random

from behaviour.explore.walking.finds import MOST_LOOPS, Finds, Spot
from behaviour.explore.walking.goals import Goal
from behaviour.explore.walking.hands import Hands
from behaviour.explore.walking.later import Runs
from behaviour.explore.walking.marks import Mark
from behaviour.explore.walking.strides import Snapshot, Strides
from behaviour.explore.walking.trail import Trail
from behaviour.findings import Run
from behaviour.semantics import NotKnownError

TRIES = 2
"""So often a mark is tried for from each look that is near to it."""
SHORTER = 1
"""So often one is that is met, for a shorter run."""
MUCH_SHORTER = 2
"""So much shorter must a run be for another one to be tried."""
STRAIGHT = 6
"""So many doings each such try has."""


class Walked(Runs):
    """The runs that a walk found; what it has not met may be tried for.

    For `sharp` ones a much shorter run is tried for when it is laid out.
    """

    def __init__(
        self,
        strides: Strides,
        finds: Finds,
        marks: Iterable[Mark],
        seed: int,
        until: float,
        sharp: Collection[Mark],
    ) -> None:
        super().__init__()
        self._strides = strides
        self._finds = finds
        self._seed = seed
        self._until = until
        self._sharp = sharp
        self._shortened: dict[tuple[Mark, ...], Trail] = {}
        self._attempts: dict[Mark, Trail | None] = {}
        for mark in marks:
            if mark in finds.best:
                short = self._shorter if mark in sharp else self._as_met
                self.put(mark, partial(short, mark))

    @property
    def spots(self) -> Sequence[Spot]:
        """The looks of the prop that the walk has come to."""
        return self._finds.spots

    def attempt(self, name: object) -> Run | None:
        """Try once for a mark that was not met, if the walk knows what it takes."""
        mark = self._finds.wanted_as(name)
        if mark is not None and mark not in self._attempts:
            self._attempts[mark] = self._tried(mark).best.get(mark)
        trail = None if mark is None else self._attempts[mark]
        return None if trail is None else trail.run()

    def _shorter(self, mark: Mark) -> Run:
        """Lay out a shorter run, to all that is met by the same one or to none of it."""
        met = self._finds.best
        together = tuple(each for each in self._sharp if each in met and met[each] is met[mark])
        if together not in self._shortened:
            found = self._tried(*together).best
            short = found[together[0]]
            is_met_by_all = all(found[each] is short for each in together)
            self._shortened[together] = short if is_met_by_all else met[mark]
        return self._shortened[together].run()

    def _as_met(self, mark: Mark) -> Run:
        return self._finds.best[mark].run()

    def _tried(self, mark: Mark, *others: Mark) -> Finds:
        """Try for a mark, and see whether others are met with it."""
        random = Random(f"{self._seed} {mark}")  # noqa: S311
        finds = self._finds.apart((mark, *others))
        hands = Hands(self._strides.drawn_by(random), random, finds.nearness, finds.note_marks)
        tries = SHORTER if mark in finds.best else TRIES
        for goal, near in finds.near_to(mark):
            for spot in near:
                for _ in range(tries):
                    is_late = time.monotonic() > self._until
                    if is_late or not _is_worth_trying(finds, goal, spot.here):
                        break
                    with suppress(NotKnownError):
                        _try(finds, hands, goal, spot)
        return finds


def _is_worth_trying(finds: Finds, goal: Goal, here: Snapshot) -> bool:
    """Tell whether a goal is not met, or a much shorter run may lead to it from here."""
    best = finds.best.get(goal.mark)
    return best is None or here.trail.length < best.length // MUCH_SHORTER


def _try(finds: Finds, hands: Hands, goal: Goal, spot: Spot) -> None:
    """Go from where a goal is near to where it may be met, and do nothing else."""
    here = hands.strides.redrawn(spot.one(hands.random))
    for _ in range(STRAIGHT):
        if here.trail.length <= MOST_LOOPS and _is_worth_trying(finds, goal, here):
            here = hands.approach(here, goal)
