"""Where the mechanisms of a healthy prop can stand that reads the same as one that is not.

Written from the page on faults; stands are numbered as they are met.
"""

from collections.abc import Sequence
from functools import cache
from itertools import product

from behaviour.explore.canonical import canonical_stand
from behaviour.explore.twin import Numbered
from behaviour.model import Model
from behaviour.semantics import PropState, look_back
from behaviour.world.mechanism import Judge, Stand, at_power_up, choose, settle


class Alike:
    """`props` and `lefts` are the states of the controller by their numbers, small and as left."""

    def __init__(
        self, model: Model, props: Sequence[PropState], lefts: Sequence[PropState]
    ) -> None:
        self.model, self.props, self.lefts = model, props, lefts
        self.stands: Numbered[tuple[Stand, ...]] = Numbered()
        self.first = cache(self._first)
        self.onward = cache(self._onward)
        self.settled = cache(self._settled)

    def _first(self, raw: tuple[str, ...]) -> tuple[int, ...]:
        """List where they can stand that read so as the controller starts."""
        stood = product(*(at_power_up(each) for each in self.model.mechanism))
        return tuple(self.stands.number(stands) for stands in stood if self._reads_so(stands, raw))

    def _onward(self, prop: int, at: int, raw: tuple[str, ...]) -> tuple[int, ...]:
        """List where they can have come in a loop that read so, after one that left the prop."""
        stands = self.stands.items[at]
        judge = self._judge(self.props[prop], stands)
        choices = (
            tuple(choice.stand for choice in choose(self.model, mechanism, stand, judge))
            for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
        )
        every = product(*choices)
        return tuple(self.stands.number(stands) for stands in every if self._reads_so(stands, raw))

    def _settled(self, left: int, at: int) -> int:
        stands = self.stands.items[at]
        judge = self._judge(self.lefts[left], stands)
        return self.stands.number(
            tuple(
                canonical_stand(self.model, mechanism, settle(mechanism, stand, judge), None)
                for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
            )
        )

    def _judge(self, prop: PropState, stands: tuple[Stand, ...]) -> Judge:
        return look_back(self.model, prop, tuple(stand.state for stand in stands)).holds

    def _reads_so(self, stands: tuple[Stand, ...], raw: tuple[str, ...]) -> bool:
        return all(
            raw[self.model.input_index[name]] == value
            for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
            for name, value in mechanism.states[stand.state].reads
        )
