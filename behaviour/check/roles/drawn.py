"""Where regions come to by themselves, asked first of rough drawings of the prop and of it last.

A drawing keeps the region that drives the hazard, and then those that it looks at, and so on; all
others are anywhere at any time, whatever inputs do. So each way in which the prop can go is among
those of the drawing, from the same places of what is kept. Where a question hangs on whether an
input is looked at, what was left out counts as looking at it all the time; what is kept goes on as
it would have without, as long as it looks at nothing by which it is told of the rest. So what may
not be in a drawing is never in the prop; what may be is asked again of the next (D-085).
"""

from collections.abc import Iterator

from behaviour.check.asking import Asking
from behaviour.check.roles.quiet import Quiet
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.sketch import left_to_others, sketches
from behaviour.model import Atom, Model, Output


def quiets_of(asking: Asking, output: Output) -> tuple[Quiet, ...]:
    """Give the drawings of what an output depends on, rough to fine; each is made once."""
    known = asking.common.known.get(output.name)
    if not isinstance(known, tuple):
        part = cone(asking.model, outputs=(output.name,)).model
        known = asking.common.known[output.name] = tuple(_drawn(part, output))
    return known


def _drawn(part: Model, output: Output) -> Iterator[Quiet]:
    for rough in sketches(part, (part.owner[output.name],)):
        if not rough.mechanism and len(rough.regions) < len(part.regions):
            yield Quiet(rough, output, tuple(_left_out(part, rough)), _told(part, rough))
    yield Quiet(part, output)


def _left_out(part: Model, rough: Model) -> Iterator[Atom]:
    """List what regions and mechanisms ask for that a sketch leaves out."""
    for region in part.regions:
        if region.name not in rough.region_index:
            for way in region.transitions():
                yield from atoms(way.when)
    for mechanism in part.mechanism:
        if mechanism.name not in rough.mechanism_index:
            for movement in mechanism.movements():
                yield from atoms(movement.during)


def _told(part: Model, rough: Model) -> frozenset[str]:
    """Name what others do to what is kept: inputs that stand for them or that they move."""
    moved = {rough.inputs[number].name for number in left_to_others(part, rough)}
    driven = {name for name, owner in part.owner.items() if owner not in rough.region_index}
    return frozenset(moved | driven)
