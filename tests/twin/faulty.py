"""Every state that a small prop with something wrong can be in, loop by loop, with `step` itself.

Written from the page on faults. It gives a graph of the twin's form, in which the outputs of a
state are what the hardware has, and the inputs `seen` are what is truly there.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import cache, partial
from itertools import product
from typing import NamedTuple

from behaviour.explore.canonical import (
    canonical_inputs,
    canonical_prop,
    canonical_stand,
    ceilings,
    own_conditions,
)
from behaviour.explore.draws import Drawn, all_draws
from behaviour.explore.twin import (
    Graph,
    Loop,
    Numbered,
    TooManyStatesError,
    Whiles,
    WorldState,
)
from behaviour.findings import Beat, Stimulus
from behaviour.model import Condition, Mechanism, Model, Movement
from behaviour.semantics import (
    InputState,
    Look,
    PropState,
    first_reading,
    next_reading,
    power_up,
    step,
    without_fired,
)
from behaviour.world.circuit import Circuit, Lives, acting, beat
from behaviour.world.mechanism import Stand, at_power_up, choose, settle
from tests.twin.alike import Alike


class Faulty(NamedTuple):
    """A prop, its world and its faults as a loop leaves them; the first four are numbers.

    `prop` is the controller's side, `seen` the true one. `shadows` numbers where healthy mechanisms
    stand that have read the same since the controller last started, if that is asked for. `flips`
    counts for each input the loops in a row in which it has read what is not there.
    """

    prop: int
    seen: int
    stands: int
    shadows: int
    lives: Lives
    flips: tuple[int, ...]
    skipped: int
    real: tuple[str, ...]


class _Step(NamedTuple):
    to: Faulty
    stimulus: Stimulus
    left: PropState
    seen: tuple[InputState, ...]
    ended: tuple[tuple[Movement, ...], ...]


class _Life(NamedTuple):
    """How the faults stand in a loop, and what that makes of it."""

    lives: Lives
    wrong: tuple[int, ...]
    beat: Beat
    stalled: tuple[int, int] | None


class _Outcome(NamedTuple):
    """What the controller may come to in a loop; `number` is its own, `prop` its small form's."""

    number: int
    draws: Drawn
    left: PropState
    prop: int


class _Move(NamedTuple):
    """What the mechanisms may do in a loop, `stands` being the number of where they stand then."""

    stands: int
    stood: tuple[int, ...]
    ended: tuple[tuple[Movement, ...], ...]


class _Lines(NamedTuple):
    """What is truly there in a loop, and what the controller reads of it.

    `now` is the number of what is truly there as a filter reads it, `seen` that of its small form.
    """

    true: tuple[str, ...]
    now: int
    seen: int
    raw: tuple[str, ...]
    flips: tuple[int, ...]


NOWHERE = -1
"""Where healthy mechanisms stand where nobody asks."""


class FaultyWalk:
    """Numbers what it meets; each `cache` keeps a result by all that it depends on.

    What a loop comes to hangs on no limit, and on no other states; so several graphs share it.
    """

    def __init__(self, circuit: Circuit, watched: Iterable[Condition]) -> None:
        self.shadowed = False
        self.circuit, self.model = circuit, circuit.model
        self.world: Model = circuit.world
        self.watched = ceilings(self.model, watched)
        self.own = ceilings(self.model, own_conditions(self.model))
        self.limit = 0
        self.states: list[Faulty] = []
        self.numbers: dict[Faulty, int] = {}
        self.props: Numbered[PropState] = Numbered()
        self.lefts: list[PropState] = []
        self.nows: Numbered[tuple[InputState, ...]] = Numbered()
        self.seens: Numbered[tuple[InputState, ...]] = Numbered()
        self.stands: Numbered[tuple[Stand, ...]] = Numbered()
        self.whiles = Whiles(self.world)
        self.alike = Alike(self.model, self.props.items, self.lefts)
        self.lives = cache(self._lives)
        self.moves = cache(self._moves)
        self.true = cache(self._true)
        self.readings = cache(self._readings)
        self.read = cache(self._read)
        self.outcomes = cache(self._outcomes)
        self.said_before = cache(self._said_before)
        self.said_now = cache(self._said_now)
        self.settled = cache(self._settled)
        self.faults_left = cache(self._faults_left)
        self.really = cache(self._really)
        self.real = cache(circuit.real)
        self.stimulus = cache(Stimulus)

    def graph(self, limit: int, *, shadowed: bool = False) -> Graph:
        """Visit every state that can be reached; if `shadowed`, what reads like a healthy prop.

        Raises TooManyStatesError beyond `limit` states.
        """
        self.limit, self.shadowed = limit, shadowed
        self.states, self.numbers = [], {}
        starts = tuple(self.loop(None, each) for each in self.starts())
        loops: list[tuple[Loop, ...]] = []
        while len(loops) < len(self.states):
            number = len(loops)
            steps = self.onward(self.states[number])
            loops.append(tuple(self.loop(number, each) for each in steps))
        return Graph(tuple(map(self.world_state, self.states)), starts, tuple(loops), ())

    def loop(self, source: int | None, each: _Step) -> Loop:
        number = self.numbers.get(each.to)
        if number is None:
            number = self.numbers[each.to] = len(self.states)
            self.states.append(each.to)
            if number >= self.limit:
                raise TooManyStatesError(self.limit)
        return Loop(source, number, each.stimulus, each.left, each.seen, each.ended)

    def world_state(self, at: Faulty) -> WorldState:
        prop = self.props.items[at.prop]._replace(outputs=at.real)
        return WorldState(prop, self.seens.items[at.seen], self.stands.items[at.stands], None)

    # --- Power-up ---

    def starts(self) -> Iterator[_Step]:
        for lives in self.circuit.at_power_up():
            life = self.life(lives)
            for stands in product(*(at_power_up(each) for each in self.world.mechanism)):
                stood = tuple(stand.state for stand in stands)
                move = _Move(self.stands.number(stands), stood, ((),) * len(stands))
                for true in self.true(stood):
                    now, seen = self.readings(None, true)
                    for raw, flips in self.read(life.wrong, true, (), None):
                        lines = _Lines(true, now, seen, raw, flips)
                        outcomes = self.outcomes(Beat.STARTS, None, raw, 1)
                        for outcome, shadows in product(outcomes, self.first_shadows(raw)):
                            yield self.left(None, life, move, lines, outcome, shadows)

    # --- A loop ---

    def onward(self, at: Faulty) -> Iterator[_Step]:
        for life in self.lives(at.lives):
            said = self.said_before(at.prop, at.seen, at.real, at.stands)
            for move in self.moves(at.stands, said, life.stalled):
                for true in self.true(move.stood):
                    now, seen = self.readings(at.seen, true)
                    for raw, flips in self.read(life.wrong, true, at.flips, at.prop):
                        lines = _Lines(true, now, seen, raw, flips)
                        alike = self.shadows(at, life, raw)
                        outcomes = self.outcomes(life.beat, at.prop, raw, at.skipped + 1)
                        for outcome, shadows in product(outcomes, alike):
                            yield self.left(at, life, move, lines, outcome, shadows)

    def first_shadows(self, raw: tuple[str, ...]) -> tuple[int, ...]:
        return self.alike.first(raw) if self.shadowed else (NOWHERE,)

    def shadows(self, at: Faulty, life: _Life, raw: tuple[str, ...]) -> tuple[int, ...]:
        """List where healthy mechanisms can have come that read so; nothing does that came late."""
        match life.beat:
            case _ if not self.shadowed:
                return (at.shadows,)
            case Beat.STARTS:
                return self.first_shadows(raw)
            case Beat.SKIPS | Beat.IS_DOWN:
                return (at.shadows,)
            case Beat.RUNS if at.skipped:
                return ()
            case Beat.RUNS:
                return self.alike.onward(at.prop, at.shadows, raw)

    def _lives(self, lives: Lives) -> tuple[_Life, ...]:
        return tuple(self.life(tuple(each)) for each in self.circuit.onward(lives))

    def life(self, lives: Lives) -> _Life:
        wrong = acting(lives)
        return _Life(lives, wrong, beat(lives), self.circuit.stalled(wrong))

    # --- The controller ---

    def _outcomes(
        self, now: Beat, prop: int | None, raw: tuple[str, ...], loops: int
    ) -> tuple[_Outcome, ...]:
        every = all_draws(self.model, partial(self.controlled, now, prop, raw, loops))
        return tuple(self.outcome(draws, left) for draws, left in every)

    def outcome(self, draws: Drawn, left: PropState) -> _Outcome:
        self.lefts.append(left)
        small = self.props.number(canonical_prop(self.model, left, self.own))
        return _Outcome(len(self.lefts) - 1, draws, left, small)

    def controlled(
        self,
        now: Beat,
        prop: int | None,
        raw: tuple[str, ...],
        loops: int,
        draws: Mapping[tuple[str, int], int],
    ) -> PropState:
        if prop is None or now is Beat.STARTS:
            return power_up(self.model, raw, draws)
        last = self.props.items[prop]
        match now:
            case Beat.SKIPS:
                return without_fired(last)
            case Beat.IS_DOWN:
                rest = tuple(output.rest for output in self.model.outputs)
                return without_fired(last)._replace(outputs=rest)
            case Beat.RUNS:
                return step(self.model, last, raw, draws, loops)

    # --- The mechanisms ---

    def _said_before(self, prop: int, seen: int, real: tuple[str, ...], stands: int) -> int:
        stood = tuple(stand.state for stand in self.stands.items[stands])
        return self.whiles.said(
            self.look(self.props.items[prop], self.seens.items[seen], real, stood)
        )

    def _said_now(self, left: int, now: int, real: tuple[str, ...], stood: tuple[int, ...]) -> int:
        return self.whiles.said(self.look(self.lefts[left], self.nows.items[now], real, stood))

    def _moves(self, stands: int, said: int, stalled: tuple[int, int] | None) -> tuple[_Move, ...]:
        judge = self.whiles.judge(said)
        choices = (
            tuple(choose(self.world, mechanism, stand, judge, stalled=_of(number, stalled)))
            for number, mechanism, stand in self.standing(stands)
        )
        return tuple(
            _Move(
                self.stands.number(tuple(choice.stand for choice in together)),
                tuple(choice.stand.state for choice in together),
                tuple(choice.movements for choice in together),
            )
            for together in product(*choices)
        )

    def _settled(self, stands: int, said: int, stalled: tuple[int, int] | None) -> int:
        judge = self.whiles.judge(said)
        return self.stands.number(
            tuple(
                canonical_stand(
                    self.world,
                    mechanism,
                    settle(mechanism, stand, judge),
                    next(iter(_of(number, stalled)), None),
                )
                for number, mechanism, stand in self.standing(stands)
            )
        )

    def standing(self, stands: int) -> Iterator[tuple[int, Mechanism, Stand]]:
        together = zip(self.world.mechanism, self.stands.items[stands], strict=True)
        return ((number, mechanism, stand) for number, (mechanism, stand) in enumerate(together))

    # --- What a loop leaves ---

    def left(
        self,
        at: Faulty | None,
        life: _Life,
        move: _Move,
        lines: _Lines,
        outcome: _Outcome,
        shadows: int,
    ) -> _Step:
        real = self.real(life.wrong, outcome.left.outputs)
        said = self.said_now(outcome.number, lines.now, real, move.stood)
        stays = life.beat in (Beat.SKIPS, Beat.IS_DOWN) or not self.shadowed
        before = None if at is None else self.props.items[at.prop].outputs
        to = Faulty(
            outcome.prop,
            lines.seen,
            self.settled(move.stands, said, life.stalled),
            shadows if stays else self.alike.settled(outcome.number, shadows),
            self.faults_left(life.lives, before, outcome.left.outputs),
            lines.flips,
            0 if at is None or life.beat is not Beat.SKIPS else _few(at.skipped + 1),
            real,
        )
        stimulus = self.stimulus(
            lines.raw, move.stood, outcome.draws, life.stalled, lines.true, life.beat, life.wrong
        )
        left = self.really(outcome.number, real)
        return _Step(to, stimulus, left, self.nows.items[lines.now], move.ended)

    def _really(self, left: int, real: tuple[str, ...]) -> PropState:
        return self.lefts[left]._replace(outputs=real)

    def _faults_left(
        self, lives: Lives, before: tuple[str, ...] | None, now: tuple[str, ...]
    ) -> Lives:
        began = any(
            output.hazard and value != output.rest and (before is None or before[at] == output.rest)
            for at, (output, value) in enumerate(zip(self.model.outputs, now, strict=True))
        )
        return self.circuit.left(lives, hazard_began=began)

    # --- Lines ---

    def _true(self, stood: tuple[int, ...]) -> tuple[tuple[str, ...], ...]:
        forced: dict[str, str] = {}
        for mechanism, state in zip(self.world.mechanism, stood, strict=True):
            forced.update(mechanism.states[state].reads)
        possible = (
            (forced[item.name],) if item.name in forced else item.values
            for item in self.model.inputs
        )
        return tuple(product(*possible))

    def _readings(self, seen: int | None, true: tuple[str, ...]) -> tuple[int, int]:
        if seen is None:
            now = tuple(
                first_reading(self.model, item, value, presume=False)
                for item, value in zip(self.model.inputs, true, strict=True)
            )
        else:
            now = tuple(
                next_reading(self.model, item, last, value, 1)
                for item, last, value in zip(
                    self.model.inputs, self.seens.items[seen], true, strict=True
                )
            )
        small = canonical_inputs(self.model, now, self.watched)
        return self.nows.number(now), self.seens.number(small)

    def _read(
        self,
        wrong: tuple[int, ...],
        true: tuple[str, ...],
        flipped: tuple[int, ...],
        prop: int | None,
    ) -> tuple[tuple[tuple[str, ...], tuple[int, ...]], ...]:
        """List what the inputs may read, and how long each has read what is not there.

        `flipped` is how long each had done so, where it has read what `prop` has.
        """
        every = (
            self.circuit.reads(wrong, n, true[self.circuit.wires[n]])
            for n in range(len(self.model.inputs))
        )
        found = []
        for raw in product(*every):
            flips = []
            for number, (value, really) in enumerate(zip(raw, true, strict=True)):
                most = self.circuit.most_flipped(number, value)
                if most is None or value == really:
                    flips.append(0)
                    continue
                goes_on = prop is not None and self.props.items[prop].inputs[number].raw == value
                flips.append(flipped[number] + 1 if goes_on else 1)
                if flips[-1] > most:
                    break
            else:
                found.append((raw, tuple(flips)))
        return tuple(found)

    def look(
        self,
        prop: PropState,
        seen: tuple[InputState, ...],
        real: tuple[str, ...],
        stood: tuple[int, ...],
    ) -> Look:
        leaves = tuple(region.leaf for region in prop.regions)
        return Look(self.model, seen, prop.counters, leaves, real, real, stood, prop.done)


def _of(mechanism: int, stalled: tuple[int, int] | None) -> frozenset[int]:
    if stalled is None or stalled[0] != mechanism:
        return frozenset()
    return frozenset((stalled[1],))


def _few(skipped: int) -> int:
    """Count skipped loops only as far as a late loop goes: who hangs starts anew."""
    return min(skipped, 3)
