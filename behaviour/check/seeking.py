"""What a short walk is to look for besides states and transitions: it is found there at once.

What it does not find is searched for as if nobody had looked.
"""

from collections.abc import Iterable, Iterator

from behaviour.check.awaiting import awaited_by
from behaviour.check.races import rival_pairs
from behaviour.explore.guards import atoms
from behaviour.explore.walking.marks import Mark, Sought
from behaviour.model import Becomes, Condition, Model
from behaviour.semantics import NotKnownError
from behaviour.wording import condition_words


def sought(model: Model, part: Model, regions: Iterable[str]) -> tuple[Sought, ...]:
    """List what to look for in a part of a model: races of these regions of it.

    In the whole also what rules wait for.
    """
    found = {each.mark: each for name in regions for each in _races(model, name)}
    if (part.region_index, part.mechanism_index) == (model.region_index, model.mechanism_index):
        found |= {each.mark: each for each in _awaited(model)}
    return tuple(found.values())


def name_of(model: Model, condition: Condition) -> Mark:
    """Name the mark of a condition that a loop finds to hold."""
    return ("found", condition_words(model, condition))


def _races(model: Model, name: str) -> Iterator[Sought]:
    try:
        pairs = rival_pairs(model, model.region[name])
    except NotKnownError:
        return
    for first, second in pairs:
        yield Sought(("order", name, first.number, second.number), name, None, (first, second))


def _awaited(model: Model) -> Iterator[Sought]:
    """List what rules wait for as a loop finds things, where that is read as it really is.

    What an output becomes is no more as the next loop finds it: the walk does not look for that.
    """
    presumed = {item.name for item in model.inputs if item.presumed is not None}
    for rule in model.rules:
        for condition, scope, found in awaited_by(rule):
            asked = atoms(condition)
            names = {getattr(atom, "name", "") for atom in asked}
            if any(isinstance(atom, Becomes) and atom.name in model.output for atom in asked):
                continue
            if found and scope is None and model.regions and not names & presumed:
                yield Sought(name_of(model, condition), model.regions[0].name, condition)
