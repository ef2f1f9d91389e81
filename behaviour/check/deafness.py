"""States that wait for a change which may already have been when they are entered."""

from collections.abc import Iterable, Iterator

from behaviour.check.implying import holds_without
from behaviour.explore.guards import alternatives, atoms
from behaviour.explore.situations import Mark, Moment
from behaviour.model import Becomes, Condition, HeldFor, Is, Model, Region, Transition
from behaviour.semantics import NextCue, candidates, is_open, states_left


def deaf_waits(model: Model, region: Region, state: int) -> list[tuple[str, str]]:
    """List (input, value) of the changes that a state waits for, and that only people get around.

    What is said by an `or` is several ways. A way that stays inside the state leads nowhere.
    """
    ways_out = _ways_out(region, state)
    waits: list[tuple[str, str]] = []
    for waiting in region.states[state].leave:
        if waiting.when is None or waiting.target is None:
            continue
        others = [way.when for way in ways_out if way is not waiting]
        ways = alternatives(waiting.when)
        for at, way in enumerate(ways):
            if not all(_by_people(each, model) for each in (*others, *ways[:at], *ways[at + 1 :])):
                continue
            waits += [
                (atom.name, atom.value)
                for atom in atoms(way)
                if isinstance(atom, Becomes)
                and atom.name in model.moved
                and not holds_without(model, way, atom)
            ]
    return waits


def _ways_out(region: Region, state: int) -> list[Transition]:
    """List the transitions that leave a state, from whatever state is active in it."""
    found: dict[int, Transition] = {}
    for leaf in region.states:
        if leaf.children or not region.contains(state, leaf.number):
            continue
        for way in candidates(region, leaf.number, max(len(leaf.cues) - 1, 0)):
            if (
                isinstance(way, NextCue)
                or way.target is None
                or not is_open(region, leaf.number, way)
            ):
                continue
            if isinstance(way.target, int) and state in states_left(
                region, leaf.number, way.target
            ):
                found[way.number] = way
    return list(found.values())


def _by_people(condition: Condition | None, model: Model) -> bool:
    return any(
        isinstance(atom, Is | Becomes | HeldFor)
        and atom.name in model.input_index
        and atom.name not in model.moved
        for atom in atoms(condition)
    )


def deaf(
    region: Region, state: int, waits: Iterable[tuple[str, str]], moment: Moment
) -> Iterator[Mark]:
    """Mark a state that is entered when what it waits for has been already."""
    for name, value in waits:
        seen = moment.told.look(moment.model.input_index[name])
        if seen is None or seen.value == value:
            yield Mark(("deaf", region.name, state, name, value))
