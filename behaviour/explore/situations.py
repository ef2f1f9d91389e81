"""What a search deals in: situations, the loops between them, and what is asked of both."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import NamedTuple, Protocol

from behaviour.explore.bounds import Bounded, Bounds, meet
from behaviour.explore.guards import Clock, Limit, Lows
from behaviour.explore.opened import Opened, Reading
from behaviour.explore.places import Place, Way
from behaviour.explore.sight import Scene, Sight
from behaviour.explore.surroundings import Motion, Standing
from behaviour.faults import Fault
from behaviour.findings import Beat
from behaviour.model import Condition, Model
from behaviour.world.circuit import Lives, beat


class Situation(NamedTuple):
    """Where everything is as a loop leaves it, clocks apart, in the order of the model's parts.

    A reading is None where nobody can tell what it was. `kept` holds the outputs that keep their
    value, `stalled` the mechanism and movement that never ends, `lives` how far each fault has
    come, `shadows` where healthy mechanisms would stand that read the same, `watch` where the
    watches are.
    """

    places: tuple[Place, ...]
    counters: tuple[int, ...]
    standings: tuple[Standing, ...]
    readings: tuple[Reading | None, ...]
    kept: tuple[str, ...]
    stalled: tuple[int, int] | None
    lives: Lives = ()
    shadows: tuple[Standing, ...] = ()
    watch: tuple[int, ...] = ()


new_situation = partial(tuple.__new__, Situation)
"""Makes a situation of all that is in it: a search makes so many that it is felt."""


@dataclass(slots=True, eq=False)
class Moment:
    """One loop: what each part of the prop and its world does in it.

    `before` is where it begins, without the watches; `was` and `now` are how it finds things and
    how it leaves them.
    """

    before: Situation | None
    opened: Opened
    was: Scene
    now: Scene
    ways: tuple[Way | None, ...]
    motions: tuple[Motion, ...]
    beyond: tuple[str, ...]
    lows: Lows
    highs: Lows
    lives: Lives = ()

    def seen_as(self, opened: Opened) -> "Moment":
        """Give the loop with its inputs opened so far."""
        return Moment(
            self.before,
            opened,
            self.was,
            self.now,
            self.ways,
            self.motions,
            self.beyond,
            self.lows,
            self.highs,
            self.lives,
        )

    def within(self, part: Bounded) -> "Moment | None":
        """Give the loop under further bounds on clocks; None where they cannot be met as well."""
        bounds = meet(Bounds(self.lows, self.highs), part)
        if bounds is None:
            return None
        return Moment(
            self.before,
            self.opened,
            self.was,
            self.now,
            self.ways,
            self.motions,
            self.beyond,
            bounds.lows,
            bounds.highs,
            self.lives,
        )

    @property
    def model(self) -> Model:
        return self.was.model

    @property
    def told(self) -> Sight:
        """Give what the controller's conditions were judged on."""
        return Sight(self.was, self.opened, False)  # noqa: FBT003

    @property
    def found(self) -> Sight:
        """Give what rules see of the loop as it found things."""
        starts = self.lives and beat(self.lives) is Beat.STARTS
        return Sight(self.now if starts else self.was, self.opened, True)  # noqa: FBT003

    @property
    def left(self) -> Sight:
        """Give what rules see of the loop as it leaves things."""
        return Sight(self.now, self.opened, True)  # noqa: FBT003

    @property
    def raw(self) -> tuple[str | None, ...]:
        """Give what each input reads; None where it is all one."""
        return self.opened.raw()


class Next(NamedTuple):
    """Where a watch goes: its place, bounds on clocks, and which of its clocks start again."""

    place: int
    lows: Lows = ()
    highs: Lows = ()
    restarts: tuple[int, ...] = ()


going = lru_cache(1 << 12)(Next)
"""Gives where a watch goes, made once for all that is alike: most go to few places, unbounded."""


class Watch(Protocol):
    """A one-clock automaton beside the prop that looks at every loop, such as a rule's monitor."""

    def begin(self, number: int, moment: Moment) -> Iterable[Next]: ...

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]: ...

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]: ...


class Mark(NamedTuple):
    """Something worth knowing of a moment, true where the clocks have come to `lows`."""

    name: object
    lows: Lows = ()


class Marked(NamedTuple):
    """A mark of a move or stay; `bounds` are its lows over the numbered clocks that are tracked."""

    name: object
    lows: Lows
    bounds: tuple[tuple[int, int], ...]


Observer = Callable[[Moment, Situation], Iterable[Mark]]


@dataclass(slots=True, eq=False)
class Move:
    """What happens in one loop, over the numbered clocks of the situation before.

    `sources` says for each clock of `to` which clock it was, -1 where it starts again.
    """

    to: Situation
    lows: tuple[tuple[int, int], ...]
    highs: tuple[tuple[int, int], ...]
    sources: tuple[int, ...]
    marks: tuple[Marked, ...]
    moment: Moment
    restarts: frozenset[Clock] = frozenset()


@dataclass(slots=True, eq=False)
class Stay:
    """A loop in which nothing changes, possible while each clock has at most its bound."""

    highs: tuple[tuple[int, int], ...]
    marks: tuple[Marked, ...]
    moment: Moment


@dataclass(slots=True, eq=False)
class Moves:
    moves: tuple[Move, ...]
    stays: tuple[Stay, ...]
    marked: tuple[Stay, ...]
    """Stays that are worth a mark, whether or not another stay is possible for longer."""


@dataclass(frozen=True, slots=True)
class Still:
    """People who do nothing: the true value of each input that no mechanism forces.

    With `settled` the filters are done with it, and `for` conditions hold.
    """

    values: tuple[str | None, ...]
    settled: bool


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of a model: the world it runs in, and who looks on."""

    watches: tuple[Watch, ...] = ()
    observers: tuple[Observer, ...] = ()
    still: Still | None = None
    may_stall: bool = False
    stalls: tuple[tuple[str, int], ...] = ()
    """The movements that may stall, by mechanism and number; none at all is any."""
    faults: tuple[Fault, ...] = ()
    """What is wrong with lines, outputs or the controller."""
    begins_anew: bool = False
    """The watches begin anew when the controller starts again."""
    shadowed: bool = False
    """Only what a controller could have read of a healthy prop too."""
    holds: bool = False
    """With no clock tracked: people hold each input at what it is; a reading of None is open."""
    free: frozenset[int] = frozenset()
    """Inputs that nobody holds all the same."""
    toward: tuple[str, ...] | None = None
    """People bring every input to this value, and do nothing else."""
    turns: tuple[tuple[int, str], ...] = ()
    """The inputs that people turn in this very loop while they hold the others, and to what."""
    conditions: tuple[Condition, ...] = ()
    """What the watches and observers judge, by which the inputs that they need are known."""
    looked_at: frozenset[int] | None = None
    """The inputs at which observers look besides, where regions look at them; None is any."""
    is_timed: bool = False
    """Whether it is asked how long something lasts or how soon it comes again.

    Then times are looked at from the first, since without them all may come at once."""
    is_counted: bool = False
    """Whether it is asked if something comes more than a few times.

    Then counters are not left out: without them it mostly comes as often as one likes."""

    def key(self) -> object:
        """Give something equal for questions that are alike, and at which the same look on."""
        looking = (
            self.watches,
            self.observers,
            self.conditions,
            self.looked_at,
            self.begins_anew,
        )
        return (looking, self.may_stall, self.people())

    def people(self) -> object:
        """Give something equal for questions in which people do the same."""
        return (
            self.still,
            self.stalls,
            self.faults,
            self.shadowed,
            self.holds,
            self.free,
            self.toward,
            self.turns,
        )

    @property
    def is_planned(self) -> bool:
        """Tell whether people do as they mean to, and no fault begins that need not."""
        return self.holds or self.toward is not None or bool(self.turns)
