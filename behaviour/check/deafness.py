"""States that wait for a change which may already have been when they are entered."""

from collections.abc import Iterable, Iterator

from behaviour.check.implying import holds_without
from behaviour.explore.guards import atoms
from behaviour.explore.situations import Mark, Moment
from behaviour.model import Becomes, HeldFor, Is, Model, Region, Transition
from behaviour.semantics import is_open


def deaf_waits(model: Model, region: Region, state: int, leaf: int) -> list[tuple[str, str]]:
    """List (input, value) of the changes that a state waits for, and that only people get around.

    `leaf` is where entering the state has led, in it or the state itself.
    """
    ways = [*region.interlocks]
    for number in region.path(leaf):
        inner = region.states[number]
        ways += [*inner.interlocks, *inner.leave, *([inner.end] if inner.end else [])]
    ways = [way for way in ways if way.target is not None and is_open(region, leaf, way)]
    waits: list[tuple[str, str]] = []
    for waiting in region.states[state].leave:
        for atom in atoms(waiting.when):
            if (
                not isinstance(atom, Becomes)
                or atom.name not in model.moved
                or waiting.target is None
            ):
                continue
            if holds_without(model, waiting.when, atom):
                continue
            others = [way for way in ways if way is not waiting]
            if all(_by_people(way, model) for way in others):
                waits.append((atom.name, atom.value))
    return waits


def _by_people(way: Transition, model: Model) -> bool:
    return any(
        isinstance(atom, Is | Becomes | HeldFor)
        and atom.name in model.input_index
        and atom.name not in model.moved
        for atom in atoms(way.when)
    )


def deaf(
    region: Region, state: int, waits: Iterable[tuple[str, str]], moment: Moment
) -> Iterator[Mark]:
    """Mark a state that is entered when what it waits for has been already."""
    for name, value in waits:
        seen = moment.told.look(moment.told.model.input_index[name])
        if seen is None or seen.value == value:
            yield Mark(("deaf", region.name, state, name, value))
