"""Which clocks count in a situation, and the most that each is asked for there.

It knows the model, the people and who looks on, and which clocks a search tracks.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from behaviour.explore.guards import Clock, Limit, looked_at_with
from behaviour.explore.inputs import is_filtered
from behaviour.explore.kept_for import ByLeaf
from behaviour.explore.lines import line_limits, true_clock
from behaviour.explore.opened import Reading
from behaviour.explore.parts import Parts, longest_held
from behaviour.explore.places import Place
from behaviour.explore.situations import Question, Situation
from behaviour.explore.surroundings import (
    Standing,
    filtered_limit,
    free_limits,
    movement_clock,
    since_clock,
    truly_clock,
)
from behaviour.world.circuit import Circuit
from behaviour.world.mechanism import NEVER, window

Limited = tuple[tuple[Clock, Limit], ...]
"""Clocks with what each is asked for."""


class _OfReading(NamedTuple):
    """What is asked of the clocks of an input that reads something.

    `asked` has what regions may ask of the clock `since`, each by the leaf that it is in.
    """

    always: Limited
    since: Clock
    asked: tuple[tuple[int, ByLeaf], ...]


@dataclass(eq=False)
class Limits:
    """The limits of the clocks that are `tracked` (None tracks all) in a question's situations."""

    parts: Parts
    question: Question
    tracked: frozenset[Clock] | None
    circuit: Circuit = field(init=False)
    _truly_held: dict[tuple[int, str], int] = field(init=False)
    _places: dict[tuple[int, Place], Limited] = field(default_factory=dict, init=False)
    _movements: dict[object, Limited] = field(default_factory=dict, init=False)
    _readings: dict[tuple[int, Reading], "_OfReading"] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self.circuit = self.parts.circuit
        self._truly_held = longest_held(self.parts.model, self.question.conditions)

    def of(self, at: Situation) -> list[tuple[Clock, Limit]]:
        """Give each clock that somebody asks for here with what it is asked for."""
        found: list[tuple[Clock, Limit]] = []
        for number, place in enumerate(at.places):
            found += self._of_place(number, place)
        for number, standing in enumerate((*at.standings, *at.shadows)):
            found += self._of_movements(number, standing, at.stalled)
        for number, reading in enumerate(at.readings):
            if reading is not None:
                known = self._readings.get((number, reading))
                if known is None:
                    known = self._readings[number, reading] = self._of_reading(number, reading)
                found += known.always
                for region, loops in known.asked:
                    most = loops[at.places[region].leaf]
                    if most > 1:
                        found.append((known.since, Limit(most, most - 1)))
        for number, watch in enumerate(self.question.watches):
            if self._is_tracked(("watch", number, 0)):
                found += [
                    (("watch", number, which), limit)
                    for which, limit in watch.limits(at.watch[number])
                    if limit.most >= 0
                ]
        return found

    def _is_tracked(self, clock: Clock) -> bool:
        return self.tracked is None or looked_at_with(clock) in self.tracked

    def _tracked(self, limits: Iterable[tuple[Clock, Limit]]) -> Limited:
        return tuple([each for each in limits if self._is_tracked(each[0])])

    def _of_place(self, number: int, place: Place) -> Limited:
        known = self._places.get((number, place))
        if known is None:
            limits = self.parts.spot(number, place).limits
            known = self._places[number, place] = self._tracked(limits)
        return known

    def _of_movements(
        self, number: int, standing: Standing, stalled: tuple[int, int] | None
    ) -> Limited:
        key = (number, standing, stalled)
        known = self._movements.get(key)
        if known is None:
            known = self._movements[key] = self._tracked(self._moving(number, standing, stalled))
        return known

    def _moving(
        self, number: int, standing: Standing, stalled: tuple[int, int] | None
    ) -> Iterator[tuple[Clock, Limit]]:
        model = self.parts.model
        mechanism = (*self.circuit.world.mechanism, *model.mechanism)[number]
        movements = mechanism.states[standing.state].movements
        for which, (movement, phase) in enumerate(zip(movements, standing.phases, strict=True)):
            if phase.is_running and (number, movement.number) != stalled:
                low, high = window(model, movement, phase)
                limit = Limit(low, high) if high < NEVER else Limit(low)
                if limit.most > 1:
                    yield movement_clock(number, which), limit

    def _of_reading(self, at: int, now: Reading) -> "_OfReading":
        always = self._tracked(each for each in self._read(at, now) if each[1].counts)
        reader = self.circuit.wires[at]
        since = since_clock(reader)
        is_asked = self._is_tracked(since) and self._may_be_short(at)
        asked = self.parts.kept_for.by_leaf(reader, now.steady) if is_asked else ()
        return _OfReading(always, since, asked)

    def _read(self, at: int, now: Reading) -> Iterator[tuple[Clock, Limit]]:
        model = self.parts.model
        truly = truly_clock(model, at)
        if at in self.circuit.lines:
            truly = true_clock(at)
            yield from line_limits(self.circuit, at, now)
        elif is_filtered(self.parts, self.question, at):
            yield filtered_limit(model, at, now)
        else:
            yield from free_limits(model, at, now)
        loops = self._truly_held.get((at, now.truly), 0)
        if loops and self._may_be_short(at):
            yield truly, Limit(loops, loops - 1)

    def _may_be_short(self, at: int) -> bool:
        """Tell whether an input may have its value for a shorter time than anybody asks."""
        still = self.question.still
        return still is None or not still.settled or at in self.parts.forced
