"""Rules that the transitions of one region keep by themselves, as the file shows.

It searches nothing, and is asked with nothing wrong. Strategy: what is forbidden for longer than a
time asks where a region is, or how it drives, beside what inputs are and where mechanisms stand.
Once that has lasted for the time allowed, the controller is told what those mechanisms force, and
in that loop what the inputs are. Where the region then goes elsewhere from wherever it may be, it
never lasts longer.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from math import prod

from behaviour.check.roles.hands import Hands, every, inverse
from behaviour.check.sensing import Left, Sensed, left_side
from behaviour.check.spots import Spot, after, begin, spots_of
from behaviour.explore.guards import atoms, count
from behaviour.model import (
    Always,
    And,
    Condition,
    InState,
    Is,
    Model,
    Never,
    Not,
    Or,
    Region,
    Rule,
    Time,
)
from behaviour.semantics import filter_loops, settings

MOST_READ = 16
"""In no more ways inputs may read what is forbidden."""


def is_kept_outright(model: Model, rule: Rule) -> bool:
    """Tell whether a region keeps a rule by itself; if not, that says nothing.

    The file must leave nothing open.
    """
    limit: Time | None = None
    match rule.requirement:
        case Never(condition=condition, limit=limit):
            pass
        case Always(condition=condition):
            condition = Not(condition)
        case _:
            return False
    left = left_side(model, condition)
    loops = 0 if limit is None else count(model, limit)
    if left is None or left.edges or rule.scope is not None:
        return False
    if limit is not None and left.slowest() > loops:
        return False
    told = _told(model, left, loops)
    return told is not None and any(
        _leaves(region, _forbidden(model, region, left.rest), told, at_once=not loops)
        for region in _named(model, left.rest)
    )


def _leaves(
    region: Region, forbidden: Sequence[Spot], told: Sequence[Hands], *, at_once: bool
) -> bool:
    """Tell whether a region is nowhere forbidden once so much is told.

    If not `at_once` it was somewhere forbidden in the loop before.
    """
    spots = frozenset(forbidden)
    before = spots_of(region) if at_once else forbidden
    return all(
        spots.isdisjoint(after(region, spot, hands)) for spot in before for hands in told
    ) and not (at_once and any(not spots.isdisjoint(begin(region, hands)) for hands in told))


def _named(model: Model, rest: Condition | None) -> Iterator[Region]:
    """List the regions whose states or outputs a condition names, each once."""
    names: dict[str, None] = {}
    for atom in atoms(rest):
        name = atom.region if isinstance(atom, InState) else model.owner.get(atom.name, "")
        if name in model.region:
            names[name] = None
    for name in names:
        yield model.region[name]


# --- What is told -------------------------------------------------------------------------------


def _told(model: Model, left: Left, loops: int) -> list[Hands] | None:
    """List what the controller may be told then; None if in too many ways."""
    forced = {
        name: value
        for part in (left.rest.parts if isinstance(left.rest, And) else (left.rest,))
        if isinstance(part, InState) and not part.negated and part.region in model.mechanism_index
        for name, value in model.mechanisms[part.region].states[part.state].reads
        if filter_loops(model, model.input[name], value) <= loops
    }
    parts = [_reads(model, part) for part in left.sensed]
    if prod(map(len, parts)) > MOST_READ:
        return None
    return [Hands({**forced, **dict(reads)}) for reads in product(*parts)]


def _reads(model: Model, part: Sensed) -> list[tuple[str, str]]:
    """List what inputs may be told to be where a part holds.

    A guard or stop may be presumed not safe all the same.
    """
    found: dict[tuple[str, str], None] = {}
    for literal in part.literals:
        item = model.input[model.inputs[literal.input].name]
        values = [value for value, _ in literal.sensing]
        if item.presumed is not None:
            values.append(item.presumed)
        found |= dict.fromkeys((item.name, value) for value in values)
    return list(found)


# --- What is forbidden --------------------------------------------------------------------------


def _forbidden(model: Model, region: Region, rest: Condition | None) -> list[Spot]:
    """List where a region may be while a condition holds."""
    moved = {each.output for state in region.states for each in state.sets if each.move is not None}
    rests = {
        output.name: output.rest
        for output in model.outputs
        if model.owner.get(output.name) == region.name
        and not output.keeps
        and output.name not in moved
    }
    found: list[Spot] = []
    for leaf, fired in spots_of(region):
        sets = settings(region, leaf, fired)
        drives = {name: sets.get(name, value) for name, value in rests.items()}
        if _judge(region, leaf, drives, rest) is not False:
            found.append((leaf, fired))
    return found


def _judge(
    region: Region, leaf: int, drives: Mapping[str, str], condition: Condition | None
) -> bool | None:
    """Judge what a condition asks of a region and of how it drives; None where it asks for more."""
    match condition:
        case None:
            return True
        case And(parts=parts):
            return every([_judge(region, leaf, drives, part) for part in parts])
        case Or(parts=parts):
            found = [inverse(_judge(region, leaf, drives, part)) for part in parts]
            return inverse(every(found))
        case Not(part=part):
            return inverse(_judge(region, leaf, drives, part))
        case Is(name=name, values=values, negated=negated) if name in drives:
            return (drives[name] in values) != negated
        case InState(region=name, state=state, negated=negated) if name == region.name:
            return region.contains(state, leaf) != negated
        case _:
            return None
