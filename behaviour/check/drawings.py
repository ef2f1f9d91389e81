"""What a question is asked of: drawings of what it can depend on, rough to fine.

It knows conditions and models, and neither faults nor searches.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import NamedTuple

from behaviour.explore.cone import cone
from behaviour.explore.forgetting import compared, forgetful
from behaviour.explore.guards import atoms
from behaviour.explore.sketch import sketches, uncounted
from behaviour.model import Becomes, Compare, Condition, Done, InState, Is, Model, Region


class Drawing(NamedTuple):
    """A drawing, cut down to what matters in it, and the part of the prop that it is of."""

    of: Model
    part: Model


class Asked(NamedTuple):
    """What a question asks for: conditions, regions, outputs, and mechanisms to be kept.

    `moving` keeps the mechanisms that what is asked for moves. With `uncounting` each is drawn
    without its counters first, and the whole so as well. Counters that are `told` besides those
    that conditions ask for are never forgotten.
    """

    conditions: Sequence[Condition | None]
    regions: Sequence[str]
    outputs: Sequence[str]
    mechanisms: Sequence[str]
    moving: bool
    uncounting: bool
    told: frozenset[str] = frozenset()


def drawings(model: Model, asked: Asked, *, once: bool) -> Iterator[Drawing]:
    """Draw the part of a model that matters, with regions that are only looked at anywhere.

    Its counters are left out `once` at most, in the first drawing that has any, or in each.
    """
    conditions, regions, outputs, read, moving, uncounting, _ = asked
    whole = cone(model, conditions, regions, outputs, read).model
    named = {*regions, *(whole.owner[name] for name in outputs if name in whole.owner)}
    mechanisms: set[str] = set(read)
    for condition in conditions:
        for atom in atoms(condition):
            match atom:
                case InState(region=name) if name in whole.mechanism_index:
                    mechanisms.add(name)
                case InState(region=name):
                    named.add(name)
                case Is(name=name) | Becomes(name=name) | Done(name=name) if name in whole.owner:
                    named.add(whole.owner[name])
                case Compare(name=name):
                    named |= {r.name for r in whole.regions if _counts(r, name)}
                case _:
                    pass
    drawn = sketches(whole, named, mechanisms, moving=moving)
    told = compared(conditions) | asked.told
    if uncounting:
        drawn = _uncounted(whole, drawn, told, once=once)
    for rough in drawn:
        part = cone(rough, conditions, named, (), mechanisms).model
        yield Drawing(whole, forgetful(part, model, told))


def _uncounted(
    model: Model, drawn: Iterable[Model], counted: Collection[str], *, once: bool
) -> Iterator[Model]:
    is_done = False
    for rough in drawn:
        without = None if is_done else uncounted(rough, counted)
        if without is not None:
            yield without
            is_done = once
        yield rough
    without = None if is_done else uncounted(model, counted)
    if without is not None:
        yield without


def _counts(region: Region, counter: str) -> bool:
    return any(a.counter == counter for way in region.transitions() for a in way.does)
