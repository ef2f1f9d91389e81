"""Regions, their states, and the transitions between them."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property

from behaviour.model.conditions import Condition
from behaviour.model.quantities import Quantity, Time, Unknown
from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True)
class AddTo:
    """`add 1 to NAME`, or with a negative amount `take 1 from NAME`."""

    counter: str
    amount: int
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class SetTo:
    """`set NAME to 3`."""

    counter: str
    value: int
    span: Span = field(default=NOWHERE, compare=False)


Action = AddTo | SetTo


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """How far a state turns a motor: `amount` as written, and the window in which it ends.

    `number` goes on from the region's transitions. `steps` are the steps to be counted, `guesses`
    the figures behind the window that the file calls guesses.
    """

    number: int
    amount: Quantity
    low: Time
    high: Time
    steps: int = 0
    guesses: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Setting:
    """What a state or cue gives an output; with a `move` it ends by itself and leaves it at rest.

    A move begins on entering its state, and stands in the `set` of a state alone.
    """

    output: str
    value: str
    span: Span = field(default=NOWHERE, compare=False)
    move: Move | None = None


@dataclass(frozen=True, slots=True)
class After:
    """A time in the state; `low` and `high` differ where it is drawn at random."""

    low: Time
    high: Time
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Chance:
    """What is drawn on entering `source`: the time of a random `after`, or the end of a move."""

    number: int
    source: int
    low: Time
    high: Time
    is_move: bool = False


class Part(Enum):
    """Where in a state (or region) a transition is written."""

    INTERLOCK = "interlocks"
    LEAVE = "leave"
    END = "at the end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Transition:
    """One way on. Numbered through its region in the order written (`number`).

    `source` is the state it belongs to, None for an interlock of the region itself. `target` is
    None for `stay`. A transition at the end of cues has neither `when` nor `after`: the last cue's
    time stands for it.
    """

    number: int
    part: Part
    source: int | None
    when: Condition | None = None
    after: After | None = None
    does: tuple[Action, ...] = ()
    target: int | Unknown | None = None
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """A moment in a state, counted from entering it, and what it sets from then on."""

    at: Time
    sets: tuple[Setting, ...] = ()
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A state. `parent`, `children` and `begins` are numbers in the region's flat `states`.

    `begins` is the child entered with it, None for a leaf. Only a leaf has `cues`; `end` is the
    transition `at the end` of them.
    """

    number: int
    name: str
    parent: int | None = None
    children: tuple[int, ...] = ()
    begins: int | None = None
    sets: tuple[Setting, ...] = ()
    leave: tuple[Transition, ...] = ()
    interlocks: tuple[Transition, ...] = ()
    cues: tuple[Cue, ...] = ()
    end: Transition | None = None
    ignores: tuple[str, ...] = ()
    lockout: bool = False
    about: str = ""
    operator: str = ""
    span: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, kw_only=True)
class Region:
    name: str
    begins: int
    states: tuple[State, ...]
    interlocks: tuple[Transition, ...] = ()
    about: str = ""
    span: Span = field(default=NOWHERE, compare=False)

    def path(self, state: int) -> tuple[int, ...]:
        """List the states around and including `state`, outermost first."""
        return self._paths[state]

    @cached_property
    def _paths(self) -> tuple[tuple[int, ...], ...]:
        return tuple(
            tuple(reversed([*self._outwards(number)])) for number in range(len(self.states))
        )

    def _outwards(self, state: int) -> Iterator[int]:
        at: int | None = state
        while at is not None:
            yield at
            at = self.states[at].parent

    def leaf(self, state: int) -> int:
        """Follow `begins` from `state` down to the leaf that entering it enters."""
        return self._leaves[state]

    @cached_property
    def _leaves(self) -> tuple[int, ...]:
        return tuple(map(self._innermost, range(len(self.states))))

    def _innermost(self, state: int) -> int:
        at = state
        while (inner := self.states[at].begins) is not None:
            at = inner
        return at

    @cached_property
    def lockouts(self) -> frozenset[int]:
        """The states that nothing leaves."""
        return frozenset(number for number, state in enumerate(self.states) if state.lockout)

    def contains(self, outer: int, inner: int) -> bool:
        """Tell whether `inner` is `outer` or lies inside it."""
        return outer in self._paths[inner]

    def transitions(self) -> tuple[Transition, ...]:
        """List every transition of the region by its number."""
        return self._transitions

    @cached_property
    def _transitions(self) -> tuple[Transition, ...]:
        found = list(self.interlocks)
        for state in self.states:
            found += state.interlocks + state.leave
            if state.end is not None:
                found.append(state.end)
        return tuple(sorted(found, key=lambda transition: transition.number))

    def transition(self, number: int) -> Transition:
        """Give the transition with a number; moves are numbered with them, so some are left out."""
        return next(each for each in self.transitions() if each.number == number)

    def chances(self, state: int) -> tuple[Chance, ...]:
        """List what is drawn on entering `state` itself, by number: random times, then moves."""
        return self._chances[state]

    @cached_property
    def _chances(self) -> tuple[tuple[Chance, ...], ...]:
        return tuple(map(self._drawn_in, range(len(self.states))))

    def _drawn_in(self, state: int) -> tuple[Chance, ...]:
        here = self.states[state]
        drawn = [
            Chance(way.number, state, way.after.low, way.after.high)
            for way in here.leave
            if way.after is not None and way.after.low != way.after.high
        ]
        moved = [
            Chance(each.move.number, state, each.move.low, each.move.high, is_move=True)
            for each in here.sets
            if each.move is not None
        ]
        return (*drawn, *moved)
