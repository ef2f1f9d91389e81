"""What the regions of a prop choose together in one loop, for all that the inputs may do.

Strategy: each region chooses by itself, once for everything that it reads alike (`places.py`); then
they are put together one by one. What an input does matters only as long as somebody still looks
at it, so that two ways to choose which differ in nothing that matters later are one.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from behaviour.explore.bounds import Bounds, meet
from behaviour.explore.inputs import ALL
from behaviour.explore.opened import Masks, Opened, forks, met
from behaviour.explore.parts import Parts
from behaviour.explore.places import Option, Place, Spot, Way, decided_at
from behaviour.explore.sight import Scene, Sight

_Decided = tuple[tuple[Masks | None, tuple[Option, ...]], ...]
"""What is chosen for each part of what inputs may do; for all of it (None) where none matters."""
_Turns = tuple[tuple["_Chooser", tuple[int, ...]], ...]


@dataclass(slots=True, eq=False)
class Chosen:
    """What regions do in a loop, what is left that inputs may do in it, and the bounds for it."""

    masks: Masks
    ways: tuple[Way | None, ...]
    bounds: Bounds


@dataclass(eq=False, slots=True)
class _Chooser:
    """One region at one place: what it chooses, for each part of what its inputs may do."""

    spot: Spot
    _inputs: tuple[int, ...] = field(init=False)
    _counters: tuple[int, ...] = field(init=False)
    _regions: tuple[int, ...] = field(init=False)
    _known: dict[object, _Decided] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        asks = self.spot.asks
        self._inputs, self._counters = tuple(asks.inputs), tuple(asks.counters)
        self._regions = tuple(asks.regions)

    def decided(self, was: Scene, opened: Opened) -> _Decided:
        """Give what it chooses of its options, looking at nothing but what it asks for."""
        choices = opened.choices
        key = (
            tuple([choices[n] for n in self._inputs]),
            tuple([was.counters[n] for n in self._counters]) if self._counters else (),
            tuple([was.leaves[n] for n in self._regions]) if self._regions else (),
        )
        known = self._known.get(key)
        if known is None:
            every = tuple([ALL if choice is None else choice.every for choice in choices])
            told = Sight(was, Opened(choices, every, opened.wires), truly=False)
            decided = decided_at(self.spot, told)
            known = self._known[key] = (
                ((None, decided[0][1]),)
                if len(decided) == 1
                else tuple([(self._asked(masks), options) for masks, options in decided])
            )
        return known

    def _asked(self, masks: Masks) -> Masks:
        """Leave open what it does not ask for."""
        return tuple([mask if n in self._inputs else ALL for n, mask in enumerate(masks)])


def _only(so_far: Chosen, masks: Masks | None, option: Option) -> list[Chosen]:
    """Go on where a region has but one choice, and so had those before it."""
    kept = so_far.masks if masks is None else met(so_far.masks, masks)
    both = meet(so_far.bounds, option)
    if kept is None or both is None:
        return []
    return [Chosen(kept, (*so_far.ways, option.way), both)]


@dataclass(eq=False)
class Choosing:
    """The choices of the regions of one model."""

    parts: Parts
    _choosers: dict[tuple[int, Place], _Chooser] = field(default_factory=dict, init=False)
    _turns: dict[object, _Turns] = field(default_factory=dict, init=False)

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
        for chooser, mattering in self._in_turn(places, apart):
            decided = chooser.decided(was, opened)
            if len(partials) == 1 and len(decided) == 1 and len(decided[0][1]) == 1:
                partials = _only(partials[0], decided[0][0], decided[0][1][0])
                continue
            found: dict[object, Chosen] = {}
            for so_far in partials:
                masks_so_far, ways, bounds_so_far = so_far.masks, so_far.ways, so_far.bounds
                for masks, options in decided:
                    kept = masks_so_far if masks is None else met(masks_so_far, masks)
                    if kept is None:
                        continue
                    matters = tuple([kept[n] for n in mattering])
                    for option in options:
                        both: Bounds | None = bounds_so_far
                        if option.lows or option.highs:
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

    def _in_turn(self, places: tuple[Place, ...], apart: frozenset[int]) -> _Turns:
        """List the regions in turn, each with the inputs that still matter once it has chosen."""
        known = self._turns.get((places, apart))
        if known is None:
            turns: list[tuple[_Chooser, tuple[int, ...]]] = []
            mattering = apart
            for number in reversed(range(len(places))):
                chooser = self._chooser(number, places[number])
                turns.append((chooser, tuple(sorted(mattering))))
                mattering |= chooser.spot.asks.inputs
            known = self._turns[places, apart] = tuple(turns[::-1])
        return known

    def _chooser(self, number: int, place: Place) -> _Chooser:
        known = self._choosers.get((number, place))
        if known is None:
            chooser = _Chooser(self.parts.spot(number, place))
            known = self._choosers[number, place] = chooser
        return known
