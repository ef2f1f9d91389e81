"""Every state that a small prop with something wrong can be in, loop by loop, with `step` itself.

Written from the page on faults. It gives a graph of the twin's form, in which the outputs of a
state are what the hardware has, and the inputs `seen` are what is truly there.
"""

from collections.abc import Iterable, Iterator
from itertools import product
from typing import NamedTuple

from behaviour.explore.canonical import (
    canonical_inputs,
    canonical_prop,
    canonical_stand,
    ceilings,
    own_conditions,
)
from behaviour.explore.twin import Graph, Loop, TooManyStatesError, WorldState
from behaviour.findings import Beat, Stimulus
from behaviour.model import Condition, Model, Movement
from behaviour.semantics import (
    InputState,
    Look,
    PropState,
    first_reading,
    next_reading,
    power_up,
    step,
    window_of,
    without_fired,
)
from behaviour.world.circuit import Circuit, Lives, acting, beat
from behaviour.world.mechanism import Stand, at_power_up, choose, settle


class Faulty(NamedTuple):
    """A prop, its world and its faults as a loop leaves them.

    `prop` is the controller's side, `seen` the true one. `shadows` is where healthy mechanisms
    stand that have read the same since the controller last started, if that is asked for. `flips`
    counts for each input the loops in a row in which it has read what is not there.
    """

    prop: PropState
    seen: tuple[InputState, ...]
    stands: tuple[Stand, ...]
    shadows: tuple[Stand, ...]
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


def walk_faulty(
    circuit: Circuit, watched: Iterable[Condition], limit: int, *, shadowed: bool = False
) -> Graph:
    """Visit every state that can be reached; with `shadowed` only what reads like a healthy prop.

    Raises TooManyStatesError beyond `limit` states.
    """
    walk = _Walk(circuit, tuple(watched), limit, shadowed)
    starts = tuple(walk.loop(None, each) for each in walk.starts())
    loops: list[tuple[Loop, ...]] = []
    while len(loops) < len(walk.states):
        number = len(loops)
        steps = tuple(walk.onward(walk.states[number]))
        loops.append(tuple(walk.loop(number, each) for each in steps))
    states = tuple(
        WorldState(at.prop._replace(outputs=at.real), at.seen, at.stands, None)
        for at in walk.states
    )
    return Graph(states, starts, tuple(loops), ())


class _Walk:
    def __init__(
        self,
        circuit: Circuit,
        watched: tuple[Condition, ...],
        limit: int,
        shadowed: bool,
    ) -> None:
        self.shadowed = shadowed
        self.circuit, self.model = circuit, circuit.model
        self.world: Model = circuit.world
        self.watched = ceilings(self.model, watched)
        self.own = ceilings(self.model, own_conditions(self.model))
        self.limit = limit
        self.states: list[Faulty] = []
        self.numbers: dict[Faulty, int] = {}

    def loop(self, source: int | None, each: _Step) -> Loop:
        number = self.numbers.get(each.to)
        if number is None:
            number = self.numbers[each.to] = len(self.states)
            self.states.append(each.to)
            if number >= self.limit:
                raise TooManyStatesError(self.limit)
        return Loop(source, number, each.stimulus, each.left, each.seen, each.ended)

    # --- Power-up ---

    def starts(self) -> Iterator[_Step]:
        for lives in self.circuit.at_power_up():
            for stands in product(*(at_power_up(each) for each in self.world.mechanism)):
                none_ended: tuple[tuple[Movement, ...], ...] = ((),) * len(stands)
                for true in self.true(stands):
                    for raw, flips in self.read(lives, true, None):
                        for draws, shadows in product(self.draws(), self.first_shadows(raw)):
                            left = power_up(self.model, raw, dict(draws))
                            seen = tuple(
                                first_reading(self.model, item, value, presume=False)
                                for item, value in zip(self.model.inputs, true, strict=True)
                            )
                            moved = (stands, shadows, none_ended)
                            yield self.left(
                                None, lives, left, seen, moved, (true, raw, flips), draws
                            )

    # --- A loop ---

    def onward(self, at: Faulty) -> Iterator[_Step]:
        for lives in self.circuit.onward(at.lives):
            for stands, ended in self.moved(at, lives):
                for true in self.true(stands):
                    seen = tuple(
                        next_reading(self.model, item, last, value, 1)
                        for item, last, value in zip(self.model.inputs, at.seen, true, strict=True)
                    )
                    for raw, flips in self.read(lives, true, at):
                        alike = self.next_shadows(at, lives, raw)
                        for draws, shadows in product(self.draws(at.prop), alike):
                            left = self.controlled(at, lives, raw, dict(draws))
                            moved = (stands, shadows, ended)
                            yield self.left(at, lives, left, seen, moved, (true, raw, flips), draws)

    # --- A healthy prop that reads the same ---

    def first_shadows(self, raw: tuple[str, ...]) -> tuple[tuple[Stand, ...], ...]:
        """List where healthy mechanisms can stand that read so as the controller starts."""
        if not self.shadowed:
            return ((),)
        stood = product(*(at_power_up(each) for each in self.model.mechanism))
        return tuple(stands for stands in stood if self.reads_so(stands, raw))

    def next_shadows(
        self, at: Faulty, lives: Lives, raw: tuple[str, ...]
    ) -> tuple[tuple[Stand, ...], ...]:
        """List where they can have come that read so; nothing reads so that came late."""
        if not self.shadowed:
            return ((),)
        match beat(lives):
            case Beat.STARTS:
                return self.first_shadows(raw)
            case Beat.SKIPS | Beat.IS_DOWN:
                return (at.shadows,)
            case Beat.RUNS if at.skipped:
                return ()
        outputs, stood = at.prop.outputs, tuple(stand.state for stand in at.shadows)
        look = self.look(at.prop, at.prop.inputs, outputs, stood)
        choices = (
            tuple(choice.stand for choice in choose(self.model, mechanism, stand, look.holds))
            for mechanism, stand in zip(self.model.mechanism, at.shadows, strict=True)
        )
        return tuple(stands for stands in product(*choices) if self.reads_so(stands, raw))

    def reads_so(self, stands: tuple[Stand, ...], raw: tuple[str, ...]) -> bool:
        return all(
            raw[self.model.input_index[name]] == value
            for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
            for name, value in mechanism.states[stand.state].reads
        )

    def settled_shadows(
        self, lives: Lives, left: PropState, shadows: tuple[Stand, ...]
    ) -> tuple[Stand, ...]:
        if not shadows or beat(lives) in (Beat.SKIPS, Beat.IS_DOWN):
            return shadows
        stood = tuple(stand.state for stand in shadows)
        look = self.look(left, left.inputs, left.outputs, stood)
        return tuple(
            canonical_stand(self.model, mechanism, settle(mechanism, stand, look.holds), None)
            for mechanism, stand in zip(self.model.mechanism, shadows, strict=True)
        )

    def controlled(
        self, at: Faulty, lives: Lives, raw: tuple[str, ...], draws: dict[tuple[str, int], int]
    ) -> PropState:
        match beat(lives):
            case Beat.STARTS:
                return power_up(self.model, raw, draws)
            case Beat.SKIPS:
                return without_fired(at.prop)
            case Beat.IS_DOWN:
                rest = tuple(output.rest for output in self.model.outputs)
                return without_fired(at.prop)._replace(outputs=rest)
            case Beat.RUNS:
                return step(self.model, at.prop, raw, draws, at.skipped + 1)

    def moved(
        self, at: Faulty, lives: Lives
    ) -> Iterator[tuple[tuple[Stand, ...], tuple[tuple[Movement, ...], ...]]]:
        look = self.look(at.prop, at.seen, at.real, tuple(s.state for s in at.stands))
        stalled = self.circuit.stalled(acting(lives))
        choices = (
            tuple(choose(self.world, mechanism, stand, look.holds, stalled=_of(number, stalled)))
            for number, (mechanism, stand) in enumerate(
                zip(self.world.mechanism, at.stands, strict=True)
            )
        )
        for together in product(*choices):
            yield tuple(c.stand for c in together), tuple(c.movements for c in together)

    def left(
        self,
        at: Faulty | None,
        lives: Lives,
        left: PropState,
        seen: tuple[InputState, ...],
        moved: tuple[tuple[Stand, ...], tuple[Stand, ...], tuple[tuple[Movement, ...], ...]],
        lines: tuple[tuple[str, ...], tuple[str, ...], tuple[int, ...]],
        draws: tuple[tuple[tuple[str, int], int], ...],
    ) -> _Step:
        (stands, shadows, ended), (true, raw, flips) = moved, lines
        wrong = acting(lives)
        real = self.circuit.real(wrong, left.outputs)
        stood = tuple(stand.state for stand in stands)
        look = self.look(left, seen, real, stood)
        stalled = self.circuit.stalled(wrong)
        settled = tuple(
            canonical_stand(
                self.world,
                mechanism,
                settle(mechanism, stand, look.holds),
                next(iter(_of(number, stalled)), None),
            )
            for number, (mechanism, stand) in enumerate(
                zip(self.world.mechanism, stands, strict=True)
            )
        )
        before = None if at is None else at.prop.outputs
        to = Faulty(
            canonical_prop(self.model, left, self.own),
            canonical_inputs(self.model, seen, self.watched),
            settled,
            self.settled_shadows(lives, left, shadows),
            self.circuit.left(tuple(lives), hazard_began=self.began(before, left.outputs)),
            flips,
            0 if at is None or beat(lives) is not Beat.SKIPS else _few(at.skipped + 1),
            real,
        )
        stimulus = Stimulus(raw, stood, draws, stalled, true, beat(lives), wrong)
        return _Step(to, stimulus, left._replace(outputs=real), seen, ended)

    def began(self, before: tuple[str, ...] | None, now: tuple[str, ...]) -> bool:
        return any(
            output.hazard and value != output.rest and (before is None or before[at] == output.rest)
            for at, (output, value) in enumerate(zip(self.model.outputs, now, strict=True))
        )

    # --- Lines ---

    def true(self, stands: tuple[Stand, ...]) -> Iterator[tuple[str, ...]]:
        forced: dict[str, str] = {}
        for mechanism, stand in zip(self.world.mechanism, stands, strict=True):
            forced.update(mechanism.states[stand.state].reads)
        return product(
            *(
                (forced[item.name],) if item.name in forced else item.values
                for item in self.model.inputs
            )
        )

    def read(
        self, lives: Lives, true: tuple[str, ...], at: Faulty | None
    ) -> Iterator[tuple[tuple[str, ...], tuple[int, ...]]]:
        """List what the inputs may read, and how long each has read what is not there."""
        wrong = acting(lives)
        every = (
            self.circuit.reads(wrong, n, true[self.circuit.wires[n]])
            for n in range(len(self.model.inputs))
        )
        for raw in product(*every):
            flips = []
            for number, (value, really) in enumerate(zip(raw, true, strict=True)):
                most = self.circuit.most_flipped(number, value)
                goes_on = (
                    at is not None and at.flips[number] and at.prop.inputs[number].raw == value
                )
                if most is None or value == really:
                    flips.append(0)
                else:
                    flips.append(at.flips[number] + 1 if at is not None and goes_on else 1)
                    if flips[-1] > most:
                        break
            else:
                yield raw, tuple(flips)

    def draws(
        self, prop: PropState | None = None
    ) -> Iterator[tuple[tuple[tuple[str, int], int], ...]]:
        """List every way to draw the random times, all of them at once."""
        del prop
        windows = {
            (region.name, chance.number): window_of(self.model, chance)
            for region in self.model.regions
            for state in region.states
            for chance in region.chances(state.number)
        }
        every = (range(low, high + 1) for low, high in windows.values())
        for times in product(*every):
            yield tuple(zip(windows, times, strict=True))

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
