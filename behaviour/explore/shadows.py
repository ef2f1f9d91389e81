"""Healthy mechanisms beside those of a prop at fault: where they would stand that read the same.

Strategy: what is beyond software is searched for (D-030). Beside a faulty mechanism a healthy one
is walked that sees what the controller sets; only those loops are left in which the controller
reads nothing that it could not have read of a healthy prop.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from behaviour.explore.guards import Clock
from behaviour.explore.inputs import Inputs
from behaviour.explore.opened import Change, Opened
from behaviour.explore.parts import Parts, standing_of
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Situation
from behaviour.explore.surroundings import Motion, Standing, motions, movement_clock
from behaviour.findings import Beat
from behaviour.semantics import filter_loops
from behaviour.world.circuit import Lives, acting, beat, loops_since
from behaviour.world.mechanism import at_power_up, settle


@dataclass(eq=False)
class Shadows:
    """The healthy mechanisms of a model whose controller reads `inputs`."""

    parts: Parts
    inputs: Inputs

    def motions(self, at: Situation, lives: Lives, told: Sight) -> Iterator[tuple[Motion, ...]]:
        """List what healthy mechanisms may do in a loop; `told` is what the last one left.

        None at all is possible where the controller can tell that something was wrong.
        """
        model, count = self.parts.model, len(at.shadows)
        match beat(lives):
            case Beat.RUNS if loops_since(lives) > 1:
                return
            case Beat.RUNS:
                each = (
                    tuple(motions(model, count + n, shadow, told, None, may_stall=False))
                    for n, shadow in enumerate(at.shadows)
                )
                yield from product(*each)
            case Beat.STARTS:
                for states in self.at_power_up():
                    yield tuple(Motion(state, ()) for state in states)
            case _:
                yield tuple(Motion(shadow.state, ()) for shadow in at.shadows)

    def at_power_up(self) -> Iterator[tuple[int, ...]]:
        """List where healthy mechanisms may stand at power-up."""
        stood = (at_power_up(mechanism) for mechanism in self.parts.model.mechanism)
        yield from (tuple(stand.state for stand in stands) for stands in product(*stood))

    def read_alike(
        self, opened: Opened, states: tuple[int, ...], shadows: tuple[int, ...], lives: Lives
    ) -> Opened | None:
        """Leave of what inputs may do what the shadows would read too; None if nothing is left."""
        if beat(lives) in (Beat.SKIPS, Beat.IS_DOWN):
            return opened
        masks, circuit = list(opened.masks), self.parts.circuit
        forces = self.parts.forces(states)
        for number, value in self.parts.forces(shadows).items():
            wire = circuit.wires[number]
            choice = opened.choices[wire]
            if choice is None:
                true = forces.get(wire)
                if true is not None and value not in circuit.reads(acting(lives), number, true):
                    return None
                continue
            masks[wire] &= sum(
                1 << at
                for at, change in enumerate(choice.changes)
                if change.raw == value or self._may_read(number, value, change)
            )
            if not masks[wire]:
                return None
        return self.inputs.opened(opened, tuple(masks))

    def _may_read(self, number: int, value: str, change: Change) -> bool:
        """Tell whether an input that nobody follows may read a value that its filter holds back."""
        model = self.parts.model
        is_kept, is_news = bool(change.to.raw), change.seen.became
        return not is_kept and not is_news and filter_loops(model, model.inputs[number], value) > 0

    def settled(
        self, at: Situation, lives: Lives, moved: tuple[Motion, ...], told: Sight
    ) -> tuple[tuple[Standing, ...], frozenset[Clock]]:
        """Give where healthy mechanisms come to stand, and the clocks that begin by it.

        `told` is what the loop left, as the controller sees it.
        """
        if beat(lives) in (Beat.SKIPS, Beat.IS_DOWN):
            return at.shadows, frozenset()
        states = told.scene.mechanism
        if beat(lives) is Beat.STARTS:
            return self.begun(told), frozenset(self._clocks(states))
        count, restarts, found = len(states), frozenset[Clock](), []
        for number, motion in enumerate(moved):
            standing, started = self.parts.settle(count + number, at.shadows[number], motion, told)
            found.append(standing)
            restarts |= started
        return tuple(found), restarts

    def begun(self, told: Sight) -> tuple[Standing, ...]:
        """Give where healthy mechanisms stand that have just been powered up."""
        return tuple(
            standing_of(settle(mechanism, stand, lambda c: bool(told.judge(c))))
            for mechanism, state in zip(
                self.parts.model.mechanism, told.scene.mechanism, strict=True
            )
            for stand in at_power_up(mechanism)
            if stand.state == state
        )

    def _clocks(self, states: tuple[int, ...]) -> Iterator[Clock]:
        for number, (mechanism, state) in enumerate(
            zip(self.parts.model.mechanism, states, strict=True)
        ):
            for which in range(len(mechanism.states[state].movements)):
                yield movement_clock(len(states) + number, which)
