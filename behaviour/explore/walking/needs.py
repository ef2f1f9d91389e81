"""What a condition needs of the inputs that people and mechanisms move: values, edges, times held.

Counters, states and outputs count as they are; it does not know when or how inputs are moved.
"""

from collections.abc import Iterable
from random import Random
from typing import NamedTuple

from behaviour.explore.dues import loops_of
from behaviour.model import And, Becomes, Compare, Condition, Done, HeldFor, InState, Is, Not, Or
from behaviour.semantics import Look


class Need(NamedTuple):
    """An input shall have one of `values`; with `edge` just come to, or for `held` loops."""

    values: tuple[str, ...]
    edge: bool = False
    held: int = 0


Needs = dict[int, Need]
"""Needs by the number of the input."""


def with_needs(
    look: Look, random: Random, needs: Needs, condition: Condition | None
) -> Needs | None:
    """Add to `needs` what makes a condition true; None if inputs alone cannot.

    Of an `or` a part that can be is chosen at random. An output's `is` is taken to be so, and that
    a move is done.
    """
    match condition:
        case None:
            return needs
        case And(parts=parts):
            return _all(look, random, needs, parts)
        case Or(parts=parts):
            return _any(look, random, needs, parts)
        case Not(part=part):
            return _opposite(look, random, needs, part)
        case Done():
            return needs
        case Compare() | InState():
            return needs if look.holds(condition) else None
        case Is(name=name, values=values, negated=negated):
            return _is(look, needs, name, values, wanted=not negated)
        case Becomes(name=name, value=value):
            return _joined(look, needs, name, Need((value,), edge=True))
        case HeldFor(name=name, value=value, time=time):
            held = loops_of(look.model, time) or 0
            return _joined(look, needs, name, Need((value,), held=held))


def _opposite(look: Look, random: Random, needs: Needs, condition: Condition) -> Needs | None:
    """Add what makes a condition false; an edge that is not asked for does not come."""
    match condition:
        case And(parts=parts):
            return _any(look, random, needs, tuple(Not(part) for part in parts))
        case Or(parts=parts):
            return _all(look, random, needs, tuple(Not(part) for part in parts))
        case Not(part=part):
            return with_needs(look, random, needs, part)
        case Done():
            return needs
        case Compare() | InState():
            return None if look.holds(condition) else needs
        case Is(name=name, values=values, negated=negated):
            return _is(look, needs, name, values, wanted=negated)
        case Becomes(name=name, value=value):
            need = needs.get(look.model.input_index[name])
            return None if need is not None and need.edge and value in need.values else needs
        case HeldFor(name=name, value=value):
            need = needs.get(look.model.input_index[name])
            return None if need is not None and need.held and value in need.values else needs


def _all(look: Look, random: Random, needs: Needs, parts: Iterable[Condition]) -> Needs | None:
    found: Needs | None = needs
    for part in parts:
        if found is None:
            return None
        found = with_needs(look, random, found, part)
    return found


def _any(look: Look, random: Random, needs: Needs, parts: tuple[Condition, ...]) -> Needs | None:
    for part in random.sample(parts, len(parts)):
        found = with_needs(look, random, needs, part)
        if found is not None:
            return found
    return None


def _is(
    look: Look, needs: Needs, name: str, values: tuple[str, ...], *, wanted: bool
) -> Needs | None:
    if name not in look.model.input_index:
        return needs
    own = look.model.input[name].values
    return _joined(look, needs, name, Need(tuple(v for v in own if (v in values) == wanted)))


def _joined(look: Look, needs: Needs, name: str, need: Need) -> Needs | None:
    number = look.model.input_index[name]
    had = needs.get(number)
    if had is not None:
        values = tuple(value for value in had.values if value in need.values)
        need = Need(values, had.edge or need.edge, max(had.held, need.held))
    return needs | {number: need} if need.values else None
