"""Loop 0: where everything can be as a prop is powered up, before anybody looks on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

from behaviour.explore.inputs import NOTHING
from behaviour.explore.loops import Loop, Loops
from behaviour.explore.opened import Masks, Opened, forks
from behaviour.explore.parts import standing_of
from behaviour.explore.places import Place
from behaviour.explore.sight import Scene, Sight
from behaviour.explore.situations import Moment, Situation
from behaviour.world.circuit import Lives, acting
from behaviour.world.mechanism import Stand, at_power_up, settle


@dataclass(eq=False)
class PowerUp:
    """The power-up of a model whose later `loops` are known.

    `asks` are the inputs that somebody looks at then.
    """

    loops: Loops
    asks: frozenset[int]

    def all(self) -> Iterator[Loop]:
        """List what power-up may bring; no clock is asked for anything."""
        parts, inputs, shadows = self.loops.parts, self.loops.inputs, self.loops.shadows
        stood = product(*(at_power_up(mechanism) for mechanism in parts.model.mechanism))
        for stands, lives in product(stood, parts.circuit.at_power_up()):
            states = tuple(stand.state for stand in stands)
            forces = parts.forces(states)
            opened = inputs.undecided(
                tuple(
                    inputs.first(number, forces, lives) if self._is_asked(number) else None
                    for number in range(len(parts.model.inputs))
                )
            )
            shadowed = self.loops.question.shadowed
            for alone in shadows.at_power_up() if shadowed else ((),):
                alike = shadows.read_alike(opened, states, alone, lives) if shadowed else opened
                if alike is None:
                    continue
                look = partial(self._looked_at, stands, alone, lives, alike)
                for masks in inputs.apart(alike.choices, alike.masks):
                    for _, loop in forks(masks, look):
                        yield loop

    def _is_asked(self, number: int) -> bool:
        still = self.loops.question.still
        return still is not None or number in self.asks

    def _looked_at(
        self,
        stands: Sequence[Stand],
        alone: tuple[int, ...],
        lives: Lives,
        undecided: Opened,
        masks: Masks,
    ) -> Loop:
        loops, parts = self.loops, self.loops.parts
        model, circuit, opened = parts.model, parts.circuit, loops.inputs.opened(undecided, masks)
        counters = tuple(counter.begins for counter in model.counters)
        begun = Scene(model, counters, parts.begin)
        ways = parts.first_ways(Sight(begun, opened, truly=False))
        places = tuple(
            Place(leaf) if way is None else way.to
            for leaf, way in zip(parts.begin, ways, strict=True)
        )
        set_now = parts.drive(places, parts.kept(parts.rest))
        outputs = circuit.real(acting(lives), set_now)
        states = tuple(stand.state for stand in stands)
        leaves = tuple(place.leaf for place in places)
        now = Scene(model, counters, leaves, outputs, outputs, states)
        seen = Sight(now, opened, truly=circuit.parts)
        standings = tuple(
            standing_of(settle(mechanism, stand, lambda c: bool(seen.judge(c))))
            for mechanism, stand in zip(model.mechanism, stands, strict=True)
        )
        told = Sight(now._replace(outputs=set_now, mechanism=alone), opened, truly=False)
        shadowed = loops.shadows.begun(told) if loops.question.shadowed else ()
        moment = Moment(None, opened, now, now, tuple(ways), (), (), (), (), lives)
        to = Situation(
            places,
            counters,
            standings,
            loops.inputs.readings(opened),
            parts.kept(set_now),
            None,
            loops.faults_left(lives, parts.rest, set_now),
            shadowed,
        )
        return Loop(moment, NOTHING, to, ())
