"""The concrete prop and its world in strides: one loop, or many in which nothing happens.

It drives `power_up` and `step` and keeps what every loop was given; it does not know where to go.

Strategy: once a loop has passed in which nothing happened, the next ones do the same until a clock
comes to a number that somebody compares it with. All loops up to that one are a single `step` with
`loops`, which counts them as single ones would have been. When a movement begins, the loop in
which it will end is chosen at once, so that it is known how long nothing will happen.
"""

from collections.abc import Iterator, Mapping
from copy import copy
from random import Random
from typing import NamedTuple

from behaviour.explore.dues import FOREVER, Dues
from behaviour.explore.lulls import is_quiet
from behaviour.explore.walking.trail import Trail, Trails
from behaviour.model import Mechanism, Model, Movement
from behaviour.semantics import Look, PropState, look_back, power_up, step
from behaviour.world.mechanism import Progress, Stand, at_power_up, choose, settle, window

EXTREME = 0.35
"""How often a time is the first of its window, and how often the last."""

STALL = 0.2
"""How often a movement that must end stalls instead, where one may."""
OFTEN = 0.5
"""How often it does where all that is left may need one that does."""

Stalled = tuple[int, int]
"""A movement by the number of its mechanism in the model, and its own number in that."""

Endings = tuple["Ending", ...]


class Ending(NamedTuple):
    """What a clock of a movement reads when the movement will end, or `stalls` instead."""

    at: int
    stalls: bool


NO_ENDING = Ending(0, stalls=False)
"""That of a movement that does not run."""


class Snapshot(NamedTuple):
    """Everything as a loop leaves it.

    `endings` are those of each mechanism's movements; `ended` are the movements that ended in this
    loop, with the number of their mechanism. `is_quiet` where nothing happened in it: then the next
    loops do the same until some clock has come far enough.
    """

    prop: PropState
    stands: tuple[Stand, ...]
    endings: tuple[Endings, ...]
    stalled: Stalled | None
    trail: Trail
    is_quiet: bool
    ended: tuple[tuple[int, Movement], ...] = ()

    @property
    def raw(self) -> tuple[str, ...]:
        return self.trail.stimulus.raw

    def look(self, model: Model) -> Look:
        """Give what a condition is judged on in the next loop, by what this one left."""
        return look_back(model, self.prop, tuple(stand.state for stand in self.stands))


class Strides:
    """Moves one model on; chooses at random what its world and its drawn times do.

    `taken` counts the calls of `step` and `power_up`; `stall` is how often a movement does so.
    """

    def __init__(self, model: Model, random: Random, *, may_stall: bool) -> None:
        self.model = model
        self.random = random
        self.may_stall = may_stall
        self.taken = 0
        self.stall = STALL
        self.dues = Dues(model)
        self.forced = tuple(
            tuple(
                tuple((model.input_index[name], value) for name, value in state.reads)
                for state in mechanism.states
            )
            for mechanism in model.mechanism
        )
        self.dice = _Dice(self.dues.windows, random)
        self._trails = Trails()

    def drawn_by(self, random: Random) -> "Strides":
        """Give strides of the same model with other random numbers, which count for themselves."""
        own = copy(self)
        own.random, own.taken = random, 0
        own.dice = _Dice(self.dues.windows, random)
        return own

    # --- From loop to loop ----------------------------------------------------------------------

    def begin(self, wish: tuple[str, ...]) -> Snapshot:
        """Switch on: mechanisms anywhere that they may be, and people's inputs at `wish`."""
        stands = tuple(self.random.choice(at_power_up(each)) for each in self.model.mechanism)
        at = tuple(stand.state for stand in stands)
        raw = self._raw(at, wish)
        self.taken += 1
        self.dice.drawn = []
        prop = power_up(self.model, raw, self.dice)
        stimulus = self._trails.stimulus(raw, at, tuple(self.dice.drawn), None)
        endings = tuple((NO_ENDING,) * len(stand.progress) for stand in stands)
        first = Trail(None, 1, stimulus, 1)
        return self._settled(Snapshot(prop, stands, endings, None, first, is_quiet=False))

    def onward(self, here: Snapshot, wish: tuple[str, ...], loops: int) -> Snapshot:
        """Go on by `loops`, at most `horizon` of them; in the last of them inputs read `wish`.

        What a mechanism forces reads as it says. Raises NotKnownError as `step` does.
        """
        stands, endings, stalled, ended = here.stands, here.endings, here.stalled, here.ended
        at, raw = here.trail.stimulus.mechanism, wish
        if stands:
            stands, endings, stalled, ended = self._moved(here, loops)
            at = tuple(stand.state for stand in stands)
            raw = self._raw(at, wish)
        self.taken += 1
        self.dice.drawn = []
        prop = step(self.model, here.prop, raw, self.dice, loops)
        stimulus = self._trails.stimulus(raw, at, tuple(self.dice.drawn), stalled)
        trail = self._trails.longer(here.trail, stimulus, loops)
        nothing = not ended and is_quiet(prop) and prop.outputs == here.prop.outputs
        now = Snapshot(prop, stands, endings, stalled, trail, nothing, ended)
        return now if nothing or not stands else self._settled(now)

    def horizon(self, here: Snapshot) -> int:
        """Count the loops to the next in which anything can happen while inputs stay."""
        if not here.is_quiet:
            return 1
        arrivals = (left for left, _, _ in self.arrivals(here))
        return min(self.dues.until_due(here.prop), *arrivals, FOREVER)

    def arrivals(self, here: Snapshot) -> Iterator[tuple[int, int, Movement]]:
        """List (loops from now, mechanism, movement) for each movement that will end."""
        for number, (stand, endings) in enumerate(zip(here.stands, here.endings, strict=True)):
            movements = self._movements(number, stand)
            for movement, now, ending in zip(movements, stand.progress, endings, strict=True):
                if now.phase.is_running and (number, movement.number) != here.stalled:
                    yield max(ending.at - now.clock, 1), number, movement

    def redrawn(self, here: Snapshot) -> Snapshot:
        """Choose anew when the movements that run will end."""
        endings = tuple(
            tuple(
                self._ending(number, movement, now, here.stalled)
                if now.phase.is_running
                else NO_ENDING
                for movement, now in zip(
                    self._movements(number, stand), stand.progress, strict=True
                )
            )
            for number, stand in enumerate(here.stands)
        )
        return here._replace(endings=endings)

    # --- Mechanisms -----------------------------------------------------------------------------

    def _moved(
        self, here: Snapshot, loops: int
    ) -> tuple[
        tuple[Stand, ...], tuple[Endings, ...], Stalled | None, tuple[tuple[int, Movement], ...]
    ]:
        stands, endings, stalled = list(here.stands), list(here.endings), here.stalled
        ended: list[tuple[int, Movement]] = []
        for number, stand in enumerate(here.stands):
            due = self._due(number, stand, endings[number], loops, stalled)
            if due and due[0][1].stalls and stalled is None:
                stalled = (number, due.pop(0)[0].number)
            if not due:
                stands[number] = _later(stand, loops)
                continue
            still = frozenset((stalled[1],)) if stalled and stalled[0] == number else frozenset()
            mechanism = self.model.mechanism[number]
            judge = here.look(self.model).holds
            choice = self.random.choice(
                [
                    choice
                    for choice in choose(self.model, mechanism, stand, judge, loops, still)
                    if choice.movements[:1] == (due[0][0],)
                ]
            )
            stands[number] = choice.stand
            endings[number] = (NO_ENDING,) * len(choice.stand.progress)
            ended += [(number, movement) for movement in choice.movements]
        return tuple(stands), tuple(endings), stalled, tuple(ended)

    def _due(
        self, number: int, stand: Stand, endings: Endings, loops: int, stalled: Stalled | None
    ) -> list[tuple[Movement, Ending]]:
        """List the movements of a mechanism that are to end, in the order in which they may."""
        movements = self._movements(number, stand)
        due = [
            (movement, ending)
            for movement, now, ending in zip(movements, stand.progress, endings, strict=True)
            if now.phase.is_running
            and now.clock + loops >= ending.at
            and (number, movement.number) != stalled
        ]
        if len(due) > 1:
            self.random.shuffle(due)
        return due

    def _settled(self, now: Snapshot) -> Snapshot:
        judge = now.look(self.model).holds
        stands = tuple(
            settle(mechanism, stand, judge)
            for mechanism, stand in zip(self.model.mechanism, now.stands, strict=True)
        )
        endings = tuple(
            tuple(
                self._ending(number, movement, after, now.stalled)
                if after.phase.is_running and not before.phase.is_running
                else ending
                for movement, before, after, ending in zip(
                    self._movements(number, stand),
                    now.stands[number].progress,
                    stand.progress,
                    now.endings[number],
                    strict=True,
                )
            )
            for number, stand in enumerate(stands)
        )
        return now._replace(stands=stands, endings=endings)

    def _movements(self, number: int, stand: Stand) -> tuple[Movement, ...]:
        mechanism: Mechanism = self.model.mechanism[number]
        return mechanism.states[stand.state].movements

    def _ending(
        self, number: int, movement: Movement, now: Progress, stalled: Stalled | None
    ) -> Ending:
        low, high = window(self.model, movement, now.phase)
        may_stall = self.may_stall and not self.model.mechanism[number].motion_of
        if may_stall and stalled is None and self.random.random() < self.stall:
            return Ending(high, stalls=True)
        low = max(low, now.clock + 1)
        return Ending(_between(self.random, low, max(low, high)), stalls=False)

    def _raw(self, at: tuple[int, ...], wish: tuple[str, ...]) -> tuple[str, ...]:
        raw = list(wish)
        for forced, state in zip(self.forced, at, strict=True):
            for number, value in forced[state]:
                raw[number] = value
        return tuple(raw)


class _Dice(Mapping[tuple[str, int], int]):
    """Draws each random time that is asked for, and remembers it."""

    def __init__(self, windows: Mapping[tuple[str, int], tuple[int, int]], random: Random) -> None:
        self.windows = windows
        self.random = random
        self.drawn: list[tuple[tuple[str, int], int]] = []

    def __getitem__(self, key: tuple[str, int]) -> int:
        loops = _between(self.random, *self.windows[key])
        self.drawn.append((key, loops))
        return loops

    def __iter__(self) -> Iterator[tuple[str, int]]:
        return iter(self.windows)

    def __len__(self) -> int:
        return len(self.windows)


def _between(random: Random, low: int, high: int) -> int:
    chance = random.random()
    if chance < EXTREME:
        return low
    if chance > 1 - EXTREME:
        return high
    return random.randint(low, high)


def _later(stand: Stand, loops: int) -> Stand:
    if not stand.progress:
        return stand
    progress = tuple(
        Progress(now.phase, now.clock + loops) if now.phase.is_running else now
        for now in stand.progress
    )
    return Stand(stand.state, progress, entered=False)
