"""Everybody standing still: the same prop with the inputs that people move held where they are.

Once inputs are still for long enough their filters are done with them, and what a search knows of
a situation carries over: only the readings that people hold become certain.
"""

from collections.abc import Collection, Iterator, Sequence
from itertools import product

from behaviour.explore.opened import Reading
from behaviour.explore.places import asked
from behaviour.explore.search import Node
from behaviour.explore.situations import Situation
from behaviour.explore.space import Space
from behaviour.explore.zones import FREE, Zone, at_most, carry, shift, up
from behaviour.model import Model, Role

Vector = tuple[str | None, ...]
"""What every input is held at, in the order of the model; None where people do not hold it."""


def vectors(model: Model, *, let_go: bool, free: Collection[int] = frozenset()) -> Iterator[Vector]:
    """List how people may hold the inputs, those apart that are `free` (`ways_to_hold`)."""
    yield from product(*ways_to_hold(model, let_go=let_go, free=free))


def ways_to_hold(
    model: Model, *, let_go: bool, free: Collection[int] = frozenset()
) -> list[Sequence[str | None]]:
    """List for each input what people may hold it at; None where they cannot or do not hold it.

    Inputs that nobody reads stay at their first value. With `let_go` a hold-to-run is released.
    """
    apart = always_forced(model) | set(free)
    ways = [t.when for region in model.regions for t in region.transitions()]
    during = [m.during for mechanism in model.mechanism for m in mechanism.movements()]
    read = asked(model, [*ways, *during]).inputs
    several: list[Sequence[str | None]] = []
    for number, item in enumerate(model.inputs):
        if number in apart:
            several.append((None,))
        elif number not in read or (let_go and item.role is Role.HOLD_TO_RUN):
            several.append((item.values[0],))
        else:
            several.append(item.values)
    return several


def always_forced(model: Model) -> frozenset[int]:
    """Give the inputs that some mechanism forces in each of its states."""
    return frozenset(
        number
        for number, item in enumerate(model.inputs)
        if any(
            all(item.name in dict(state.reads) for state in mechanism.states)
            for mechanism in model.mechanism
        )
    )


def standing_zones(space: Space, still: Space, node: Node, to: Situation) -> list[Zone]:
    """Give the clocks with which people may begin to stand still at a node: at once, or later."""
    size = len(space.clocks(node.situation)) + 1
    here = {clock: number for number, clock in enumerate(space.clocks(node.situation))}
    sources = [here[clock] for clock in still.clocks(to)]
    zones = [carry(node.zone, size, sources)]
    later = up(shift(node.zone, size), size)
    for stay in space.moves(node.situation).stays:
        zone = at_most(later, size, stay.highs)
        if zone is not None:
            zones.append(carry(zone, size, sources))
    return zones


def long_since(space: Space, at: Situation) -> Zone:
    """Give the zone in which every clock has passed all that it is asked for."""
    most = [limit.most for limit in space.clocks(at).values()]
    size = len(most) + 1
    bounds = [FREE] * (size * size)
    for i in range(size):
        bounds[i * size + i] = 0
        if i:
            bounds[i] = -(most[i - 1] + 1)
    return tuple(bounds)


def opened(still: Space, at: Situation) -> Situation:
    """Forget what people's inputs read: they are held at whatever they are."""
    readings = tuple(
        reading
        if number in still.forced or (reading is not None and reading.steady == reading.truly)
        else None
        for number, reading in enumerate(at.readings)
    )
    return at._replace(readings=readings, watch=())


def chosen_inputs(still: Space, at: Situation, *, let_go: bool = False) -> list[Situation]:
    """Choose the inputs that the next loop asks for and that are open; none if none is."""
    open_ones = [
        n for n in sorted(still.looked_at(at) - still.question.free) if at.readings[n] is None
    ]
    if not open_ones:
        return []
    found = []
    for values in product(
        *(_held_values(still.model, number, let_go=let_go) for number in open_ones)
    ):
        readings = list(at.readings)
        for number, value in zip(open_ones, values, strict=True):
            readings[number] = Reading(value, value)
        found.append(at._replace(readings=tuple(readings)))
    return found


def _held_values(model: Model, number: int, *, let_go: bool) -> Sequence[str]:
    item = model.inputs[number]
    return item.values[:1] if let_go and item.role is Role.HOLD_TO_RUN else item.values
