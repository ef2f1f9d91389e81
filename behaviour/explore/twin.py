"""The brute-force twin: every state that a small prop and its world can be in, loop by loop.

It walks with `step` itself and exists to keep the search that is fast honest. It knows no rule;
who asks on behalf of one says which conditions it will look at.

Strategy: one breadth-first walk of the healthy world, then one for each movement that may stall,
begun in every healthy state. Results of `step` are kept by what they depend on, for many states
of the world share the state of the prop.
"""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, partial
from itertools import product
from typing import Generic, NamedTuple, TypeVar

from behaviour.explore.canonical import (
    Ceilings,
    canonical_inputs,
    canonical_prop,
    canonical_stand,
    ceilings,
    own_conditions,
)
from behaviour.explore.draws import Drawn, all_draws
from behaviour.findings import Stimulus
from behaviour.model import Condition, Model, Movement
from behaviour.semantics import (
    InputState,
    Look,
    PropState,
    first_reading,
    look_back,
    next_reading,
    power_up,
    step,
)
from behaviour.world.mechanism import Judge, Stand, at_power_up, choose, settle

Item = TypeVar("Item", bound=Hashable)

MOST_STATES = 50_000

Stalled = tuple[int, int]
"""A movement by the number of its mechanism in the model, and its own number in that."""


class TooManyStatesError(Exception):
    """The walk met more than `limit` states; nothing can be said of the prop."""

    def __init__(self, limit: int) -> None:
        super().__init__(f"more than {limit} states")
        self.limit = limit


class WorldState(NamedTuple):
    """The prop and its world as a loop leaves them, with clocks as small as they can be.

    `seen` is what the inputs are for a rule: read by the same filter, but in loop 0 a guard counts
    as what it reads. `stands` are settled. `stalled` is the movement that no longer ends.
    """

    prop: PropState
    seen: tuple[InputState, ...]
    stands: tuple[Stand, ...]
    stalled: Stalled | None


class Loop(NamedTuple):
    """One loop: from the state numbered `source` (None in loop 0) to the one numbered `target`.

    `left` and `seen` are what the loop leaves as `step` gave it: with what fired, what became,
    and which counters would have gone beyond. `ended` has the movements of each mechanism that
    ended in this loop, more than one where a state was passed between two looks.
    """

    source: int | None
    target: int
    stimulus: Stimulus
    left: PropState
    seen: tuple[InputState, ...]
    ended: tuple[tuple[Movement, ...], ...]


@dataclass(frozen=True, slots=True)
class Graph:
    """All that can happen. The healthy states come first.

    `starts` are the loops 0; `loops[n]` are those that follow state n. `stalls` has (healthy state,
    the same state with a movement stalled) for each movement that may stall there.
    """

    states: tuple[WorldState, ...]
    starts: tuple[Loop, ...]
    loops: tuple[tuple[Loop, ...], ...]
    stalls: tuple[tuple[int, int], ...]

    @property
    def healthy(self) -> int:
        """Count the states of the healthy world: those numbered below this."""
        return sum(state.stalled is None for state in self.states)


def walk(model: Model, watched: Iterable[Condition] = (), limit: int = MOST_STATES) -> Graph:
    """Visit every reachable state, in the healthy world and with each movement stalled.

    `watched` are conditions that will be judged on what the loops leave: how long their `is ..
    for` lasted is kept apart. Raises TooManyStatesError beyond `limit` states and NotKnownError
    where the file leaves open what is needed.
    """
    return _Walk(model, ceilings(model, watched), limit).whole()


class Numbered(Generic[Item]):
    """Gives equal things equal numbers, counted from 0."""

    def __init__(self) -> None:
        self.items: list[Item] = []
        self._number: dict[Item, int] = {}

    def number(self, item: Item) -> int:
        found = self._number.get(item)
        if found is None:
            found = self._number[item] = len(self.items)
            self.items.append(item)
        return found


class Whiles:
    """What all movements of a world wait for; what is said of that is numbered."""

    def __init__(self, world: Model) -> None:
        movements = (each for mechanism in world.mechanism for each in mechanism.movements())
        self._asked = tuple(dict.fromkeys(movement.during for movement in movements))
        self._said: Numbered[tuple[bool, ...]] = Numbered()

    def said(self, look: Look) -> int:
        """Give the number of what they say of a loop."""
        return self._said.number(tuple(look.holds(each) for each in self._asked))

    def judge(self, said: int) -> Judge:
        """Judge each of them by what was said."""
        return dict(zip(self._asked, self._said.items[said], strict=True)).__getitem__


class _Outcome(NamedTuple):
    """What a loop of the prop alone may come to; `prop` is the number of its small form."""

    draws: Drawn
    left: PropState
    prop: int


class _Move(NamedTuple):
    """What the whole mechanism may do in a loop, before it is settled on the loop's outputs.

    `stands` is the number of where it then stands.
    """

    stands: int
    at: tuple[int, ...]
    ended: tuple[tuple[Movement, ...], ...]


class _Parts(NamedTuple):
    """A state of the world by the numbers of its parts."""

    prop: int
    seen: int
    stands: int
    stalled: Stalled | None


class _Walk:
    """Numbers what it meets; each `cache` keeps a result by all that it depends on."""

    def __init__(self, model: Model, watched: Ceilings, limit: int) -> None:
        self.model = model
        self.watched = watched
        self.own = ceilings(model, own_conditions(model))
        self.limit = limit
        self.props: Numbered[PropState] = Numbered()
        self.seen: Numbered[tuple[InputState, ...]] = Numbered()
        self.stands: Numbered[tuple[Stand, ...]] = Numbered()
        self.whiles = Whiles(model)
        self.states: Numbered[_Parts] = Numbered()
        self.at = cache(self._at)
        self.says = cache(self._says)
        self.moves = cache(self._moves)
        self.raws = cache(self._raws)
        self.outcomes = cache(self._outcomes)
        self.readings = cache(self._readings)
        self.settled = cache(self._settled)
        self.stimulus = cache(Stimulus)

    def whole(self) -> Graph:
        starts = tuple(self._starts())
        loops: list[tuple[Loop, ...]] = []
        self._spread(loops)
        healthy = len(loops)
        movements = [
            (number, movement.number)
            for number, mechanism in enumerate(self.model.mechanism)
            if not mechanism.motion_of
            for movement in mechanism.movements()
        ]
        stalls = [(at, self._stall(at, each)) for at in range(healthy) for each in movements]
        self._spread(loops)
        states = tuple(
            WorldState(
                self.props.items[parts.prop],
                self.seen.items[parts.seen],
                self.stands.items[parts.stands],
                parts.stalled,
            )
            for parts in self.states.items
        )
        return Graph(states, starts, tuple(loops), tuple(stalls))

    def _spread(self, loops: list[tuple[Loop, ...]]) -> None:
        while len(loops) < len(self.states.items):
            loops.append(tuple(self._onward(len(loops))))

    def _starts(self) -> Iterator[Loop]:
        for stands in product(*(at_power_up(mechanism) for mechanism in self.model.mechanism)):
            at = tuple(stand.state for stand in stands)
            none_ended: tuple[tuple[Movement, ...], ...] = ((),) * len(stands)
            for raw in self.raws(at):
                seen = tuple(
                    first_reading(self.model, item, value, presume=False)
                    for item, value in zip(self.model.inputs, raw, strict=True)
                )
                for outcome in self.outcomes(None, raw):
                    parts = _Parts(
                        outcome.prop,
                        self.seen.number(canonical_inputs(self.model, seen, self.watched)),
                        self.settled(self.stands.number(stands), self.says(outcome.prop, at), None),
                        None,
                    )
                    stimulus = self.stimulus(raw, at, outcome.draws)
                    target = self._state(parts)
                    yield Loop(None, target, stimulus, outcome.left, seen, none_ended)

    def _onward(self, source: int) -> Iterator[Loop]:
        prop, seen, stands, stalled = self.states.items[source]
        for move in self.moves(stands, self.says(prop, self.at(stands)), stalled):
            for raw in self.raws(move.at):
                now, now_seen = self.readings(seen, raw)
                for outcome in self.outcomes(prop, raw):
                    says = self.says(outcome.prop, move.at)
                    settled = self.settled(move.stands, says, stalled)
                    stimulus = self.stimulus(raw, move.at, outcome.draws, stalled)
                    target = self._state(_Parts(outcome.prop, now_seen, settled, stalled))
                    yield Loop(source, target, stimulus, outcome.left, now, move.ended)

    def _state(self, parts: _Parts) -> int:
        number = self.states.number(parts)
        if number >= self.limit:
            raise TooManyStatesError(self.limit)
        return number

    def _stall(self, state: int, movement: Stalled) -> int:
        parts = self.states.items[state]
        stands = self._canonical(self.stands.items[parts.stands], movement)
        return self._state(parts._replace(stands=stands, stalled=movement))

    def _at(self, stands: int) -> tuple[int, ...]:
        return tuple(stand.state for stand in self.stands.items[stands])

    def _says(self, prop: int, at: tuple[int, ...]) -> int:
        return self.whiles.said(look_back(self.model, self.props.items[prop], at))

    def _moves(self, stands: int, says: int, stalled: Stalled | None) -> tuple[_Move, ...]:
        judge, standing = self.whiles.judge(says), self.stands.items[stands]
        choices = (
            tuple(choose(self.model, mechanism, stand, judge, stalled=_of(number, stalled)))
            for number, (mechanism, stand) in enumerate(
                zip(self.model.mechanism, standing, strict=True)
            )
        )
        return tuple(
            _Move(
                self.stands.number(tuple(choice.stand for choice in together)),
                tuple(choice.stand.state for choice in together),
                tuple(choice.movements for choice in together),
            )
            for together in product(*choices)
        )

    def _raws(self, at: tuple[int, ...]) -> tuple[tuple[str, ...], ...]:
        forced: dict[str, str] = {}
        for mechanism, state in zip(self.model.mechanism, at, strict=True):
            forced.update(mechanism.states[state].reads)
        possible = (
            (forced[item.name],) if item.name in forced else item.values
            for item in self.model.inputs
        )
        return tuple(product(*possible))

    def _outcomes(self, prop: int | None, raw: tuple[str, ...]) -> tuple[_Outcome, ...]:
        every = all_draws(self.model, partial(self._left, prop, raw))
        return tuple(_Outcome(draws, left, self._small(left)) for draws, left in every)

    def _left(
        self, prop: int | None, raw: tuple[str, ...], draws: Mapping[tuple[str, int], int]
    ) -> PropState:
        if prop is None:
            return power_up(self.model, raw, draws)
        return step(self.model, self.props.items[prop], raw, draws)

    def _small(self, left: PropState) -> int:
        return self.props.number(canonical_prop(self.model, left, self.own))

    def _readings(self, seen: int, raw: tuple[str, ...]) -> tuple[tuple[InputState, ...], int]:
        now = tuple(
            next_reading(self.model, item, last, value, 1)
            for item, last, value in zip(self.model.inputs, self.seen.items[seen], raw, strict=True)
        )
        return now, self.seen.number(canonical_inputs(self.model, now, self.watched))

    def _settled(self, stands: int, says: int, stalled: Stalled | None) -> int:
        judge = self.whiles.judge(says)
        settled = tuple(
            settle(mechanism, stand, judge)
            for mechanism, stand in zip(
                self.model.mechanism, self.stands.items[stands], strict=True
            )
        )
        return self._canonical(settled, stalled)

    def _canonical(self, stands: tuple[Stand, ...], stalled: Stalled | None) -> int:
        return self.stands.number(
            tuple(
                canonical_stand(
                    self.model, mechanism, stand, next(iter(_of(number, stalled)), None)
                )
                for number, (mechanism, stand) in enumerate(
                    zip(self.model.mechanism, stands, strict=True)
                )
            )
        )


def _of(mechanism: int, stalled: Stalled | None) -> frozenset[int]:
    """Give the stalled movement of one mechanism, if the stalled one is its."""
    if stalled is None or stalled[0] != mechanism:
        return frozenset()
    return frozenset((stalled[1],))
