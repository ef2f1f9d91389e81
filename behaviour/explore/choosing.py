"""What the regions of a prop choose together in one loop, for all that the inputs may do.

Strategy: each region chooses by itself, once for everything that it reads alike (`places.py`); then
they are put together one by one. What an input does matters only as long as somebody still looks
at it, so that two ways to choose which differ in nothing that matters later are one.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from behaviour.explore.bounds import Bounds, meet
from behaviour.explore.inputs import ALL
from behaviour.explore.opened import Masks, Opened, forks, met
from behaviour.explore.parts import Parts
from behaviour.explore.places import Option, Place, Way, choices_at
from behaviour.explore.sight import Scene, Sight

_Decided = tuple[tuple[Masks, tuple[Option, ...]], ...]
_Mattering = tuple[tuple[int, ...], ...]


class Chosen(NamedTuple):
    """What regions do in a loop, what is left that inputs may do in it, and the bounds for it."""

    masks: Masks
    ways: tuple[Way | None, ...]
    bounds: Bounds


@dataclass(eq=False)
class Choosing:
    """The choices of the regions of one model."""

    parts: Parts
    _options: dict[object, _Decided] = field(default_factory=dict, init=False)
    _later: dict[object, _Mattering] = field(default_factory=dict, init=False)

    def choose(
        self,
        was: Scene,
        places: tuple[Place, ...],
        opened: Opened,
        bounds: Bounds,
        apart: frozenset[int],
    ) -> Iterable[Chosen]:
        """Let the regions choose one by one; inputs to be told `apart` matter in the end."""
        partials = [Chosen(opened.masks, (), bounds)]
        for number, mattering in enumerate(self._mattering(places, apart)):
            decided = self._decided(number, was, places, opened)
            found: dict[object, Chosen] = {}
            for masks_so_far, ways, bounds_so_far in partials:
                for masks, options in decided:
                    kept = met(masks_so_far, masks)
                    if kept is None:
                        continue
                    matters = tuple([kept[n] for n in mattering])
                    for option in options:
                        both = meet(bounds_so_far, option)
                        if both is not None:
                            taken = (*ways, option.way)
                            key = (matters, taken, both)
                            if key not in found:
                                found[key] = Chosen(kept, taken, both)
            partials = list(found.values())
        return partials

    def begin_again(self, opened: Opened, bounds: Bounds) -> Iterator[Chosen]:
        """Let the regions do what they do where the controller starts again."""
        parts = self.parts
        counters = tuple(counter.begins for counter in parts.model.counters)
        begun = Scene(parts.model, counters, parts.begin)

        def look(masks: Masks) -> tuple[Way, ...]:
            told = Sight(begun, Opened(opened.choices, masks, opened.wires), truly=False)
            return tuple(
                parts.started(number, leaf if way is None else way.to.leaf)
                for number, (leaf, way) in enumerate(
                    zip(parts.begin, parts.first_ways(told), strict=True)
                )
            )

        for masks, ways in forks(opened.masks, look):
            yield Chosen(masks, ways, bounds)

    def do_nothing(self, opened: Opened, bounds: Bounds) -> Iterator[Chosen]:
        """Let the regions be, where the controller makes no loop."""
        yield Chosen(opened.masks, (None,) * len(self.parts.begin), bounds)

    def _mattering(self, places: tuple[Place, ...], apart: frozenset[int]) -> _Mattering:
        """List for each region the inputs that still matter once it has chosen."""
        known = self._later.get((places, apart))
        if known is None:
            after: list[tuple[int, ...]] = []
            mattering = apart
            for number in reversed(range(len(places))):
                after.append(tuple(sorted(mattering)))
                mattering |= self.parts.spot(number, places[number]).asks.inputs
            known = self._later[places, apart] = tuple(after[::-1])
        return known

    def _decided(
        self, number: int, was: Scene, places: tuple[Place, ...], opened: Opened
    ) -> _Decided:
        """Give what a region chooses, for each part of what its inputs may do."""
        here = self.parts.spot(number, places[number])
        asks, choices = here.asks, opened.choices
        key = (
            number,
            places[number],
            tuple([choices[n] for n in asks.inputs]),
            tuple([was.counters[n] for n in asks.counters]),
            tuple([was.leaves[n] for n in asks.regions]),
        )
        known = self._options.get(key)
        if known is None:

            def look(masks: Masks) -> tuple[Option, ...]:
                told = Sight(was, Opened(choices, masks, opened.wires), truly=False)
                return tuple(choices_at(here, told))

            every = tuple(ALL if choice is None else choice.every for choice in choices)
            known = self._options[key] = tuple(
                (tuple(m if n in asks.inputs else ALL for n, m in enumerate(masks)), options)
                for masks, options in forks(every, look)
            )
        return known
