"""What people may aim at: ways to hold the inputs, and to turn them, that some way on asks for.

Whatever is left out here is not tried, and nothing else hangs on it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from behaviour.explore.guards import alternatives, atoms
from behaviour.explore.opened import Reading
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Not,
    Part,
    Transition,
)

Vector = tuple[str, ...]
"""What every input is held at, in the order of the model."""

Turns = tuple[tuple[int, str], ...]
"""Inputs that are turned at once, by number, and to what."""


def vectors(model: Model) -> list[Vector]:
    """List the ways to hold the inputs that are worth trying: those that some way on asks for.

    Whatever a way does not ask for is at its safe or first value.
    """
    quiet = {item.name: item.safe or item.values[0] for item in model.inputs}
    found = [dict(quiet)]
    for region in model.regions:
        for way in region.transitions():
            for each in alternatives(way.when) if way.when is not None else ():
                wanted = dict(quiet)
                wanted.update(_wanted(model, each))
                found.append(wanted)
    rows = (tuple(each[item.name] for item in model.inputs) for each in found)
    return list(dict.fromkeys(rows))


def _wanted(model: Model, condition: Condition) -> Iterator[tuple[str, str]]:
    """Give a value for each input that a condition without `or` names."""
    parts: Sequence[Condition] = condition.parts if isinstance(condition, And) else (condition,)
    for part in parts:
        match part:
            case Is(name=name, values=values, negated=negated) if name in model.input_index:
                every = model.input[name].values
                fits = [value for value in every if (value in values) != negated]
                yield from ((name, value) for value in fits[:1])
            case Becomes(name=name, value=value) | HeldFor(name=name, value=value):
                yield name, value
            case Not(part=inner):
                for atom in atoms(inner)[:1]:
                    if isinstance(atom, Is) and atom.name in model.input_index:
                        yield from _wanted(model, replace(atom, negated=not atom.negated))
            case _:
                pass


def aims(
    model: Model, ways: Iterable[Transition], readings: Sequence[Reading | None]
) -> Iterator[Turns]:
    """List what inputs are turned to from where they are, for one of these ways on, once each.

    All that it asks for is turned at once; what must become something that it is already is let go
    of first. Interlocks come last.
    """
    met: set[Turns] = {()}
    for way in sorted(ways, key=lambda each: each.part is Part.INTERLOCK):
        for each in alternatives(way.when) if way.when is not None else ():
            turns = tuple(sorted(_turned(model, each, readings)))
            if turns not in met:
                met.add(turns)
                yield turns


def _turned(
    model: Model, condition: Condition, readings: Sequence[Reading | None]
) -> Iterator[tuple[int, str]]:
    edges = {atom.name for atom in atoms(condition) if isinstance(atom, Becomes)}
    for name, value in dict(_wanted(model, condition)).items():
        number = model.input_index[name]
        now = readings[number]
        if now is not None and now.steady != value:
            yield number, value
        elif now is not None and name in edges:
            yield number, next(other for other in model.input[name].values if other != value)
