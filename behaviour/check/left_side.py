"""The left side of a rule taken apart by its `and`: what is sensed through inputs, and what not."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from behaviour.explore.sight import Sight
from behaviour.model import And, Becomes, Condition, HeldFor, Is, Model, Not, Or
from behaviour.semantics import filter_loops


@dataclass(frozen=True, slots=True)
class Literal:
    """A condition on a single input, with the sensing of each value that fits it."""

    condition: Condition
    input: int
    sensing: tuple[tuple[str, int], ...]

    def loops(self, now: Sight) -> int:
        """Give the sensing of what the input is, 0 where that does not fit."""
        seen = now.look(self.input)
        return 0 if seen is None else dict(self.sensing).get(seen.value, 0)


@dataclass(frozen=True, slots=True)
class Sensed:
    """One part of a left side that is about inputs alone: any of its literals makes it hold."""

    condition: Condition
    literals: tuple[Literal, ...]

    def loops(self, now: Sight) -> int:
        """Give the sensing that counts where the part has just come to hold."""
        return max(literal.loops(now) for literal in self.literals)


@dataclass(frozen=True, slots=True)
class Left:
    """A left side taken apart: what is not sensed, what is, and the changes it waits for."""

    rest: Condition | None
    sensed: tuple[Sensed, ...]
    edges: tuple[Literal, ...]

    def slowest_edge(self) -> int:
        """Give the most loops of sensing that any of the changes counts in."""
        return max(loops for edge in self.edges for _, loops in edge.sensing)

    def slowest(self) -> int:
        """Give the most loops of sensing that any part counts in."""
        literals = [*self.edges, *(each for part in self.sensed for each in part.literals)]
        return max((loops for each in literals for _, loops in each.sensing), default=0)


def left_side(model: Model, condition: Condition) -> Left | None:
    """Take a left side apart by its `and`.

    None if inputs stand in it in another way, or one input in two parts of it.
    """
    rest: list[Condition] = []
    sensed: list[Sensed] = []
    edges: list[Literal] = []
    for part in _conjuncts(_plain(condition)):
        if not _inputs(model, part):
            rest.append(part)
        elif isinstance(part, Becomes):
            edges.append(_sensed(model, part, (part.value,)))
        elif (literals := _literals(model, part)) is not None:
            sensed.append(Sensed(part, literals))
        else:
            return None
    named = [edge.input for edge in edges]
    named += [n for part in sensed for n in {literal.input for literal in part.literals}]
    if len(named) != len(set(named)):
        return None
    whole = None if not rest else rest[0] if len(rest) == 1 else And(tuple(rest))
    return Left(whole, tuple(sensed), tuple(edges))


def _plain(condition: Condition, *, negated: bool = False) -> Condition:
    """Write a condition with every `not` moved down to what asks one thing."""
    match condition:
        case Not(part=part):
            return _plain(part, negated=not negated)
        case And(parts=parts) | Or(parts=parts):
            every = tuple(_plain(part, negated=negated) for part in parts)
            return And(every) if isinstance(condition, And) is not negated else Or(every)
        case _:
            return Not(condition) if negated else condition


def _literals(model: Model, part: Condition) -> tuple[Literal, ...] | None:
    """Give the literal of a part, or those of an `or` of inputs alone."""
    if isinstance(part, Or):
        several = [None if isinstance(p, HeldFor) else _literal(model, p) for p in part.parts]
        found = tuple(each for each in several if each is not None)
        return found if len(found) == len(several) else None
    single = _literal(model, part)
    return None if single is None else (single,)


def _conjuncts(condition: Condition) -> Iterator[Condition]:
    if isinstance(condition, And):
        for part in condition.parts:
            yield from _conjuncts(part)
    else:
        yield condition


def _inputs(model: Model, condition: Condition) -> set[str]:
    match condition:
        case And(parts=parts) | Or(parts=parts):
            return {name for part in parts for name in _inputs(model, part)}
        case Not(part=part):
            return _inputs(model, part)
        case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
            return {name} & model.input_index.keys()
        case _:
            return set()


def _literal(model: Model, part: Condition) -> Literal | None:
    match part:
        case Is(name=name, values=values, negated=negated) if name in model.input_index:
            every = model.input[name].values
            chosen = tuple(v for v in every if (v in values) != negated)
            return _sensed(model, part, chosen)
        case HeldFor(value=value):
            return _sensed(model, part, (value,))
        case Not(part=Is(name=name, values=values, negated=negated, span=span)):
            return _literal(model, Is(name, values, not negated, span))
        case _:
            return None


def _sensed(model: Model, part: Is | Becomes | HeldFor, values: Sequence[str]) -> Literal:
    item = model.input[part.name]
    sensing = tuple((value, filter_loops(model, item, value) + 1) for value in values)
    return Literal(part, model.input_index[part.name], sensing)
