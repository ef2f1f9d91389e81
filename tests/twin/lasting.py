"""For how long a condition has lasted, sensing counted in, as the page on rules has it.

Strategy: a condition is taken apart, and for each part it is kept for how many loops it has
lasted, as if each input that made it true had changed so much earlier.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from behaviour.model import (
    And,
    Atom,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Not,
    Or,
    Time,
    Unknown,
)
from behaviour.semantics import Look


@dataclass(frozen=True)
class Leaf:
    atom: Atom
    negated: bool


@dataclass(frozen=True)
class Joined:
    parts: tuple["Leaf | Joined", ...]
    all_of: bool


Tree = Leaf | Joined


def tree_of(condition: Condition, negated: bool = False) -> Tree:
    """Move every `not` down to the single conditions."""
    match condition:
        case Not(part=part):
            return tree_of(part, not negated)
        case And(parts=parts):
            return Joined(tuple(tree_of(part, negated) for part in parts), all_of=not negated)
        case Or(parts=parts):
            return Joined(tuple(tree_of(part, negated) for part in parts), all_of=negated)
        case _:
            return Leaf(condition, negated)


def leaves_of(tree: Tree) -> Iterator[Leaf]:
    match tree:
        case Leaf():
            yield tree
        case Joined(parts=parts):
            for part in parts:
                yield from leaves_of(part)


def sensing(model: Model, name: str, value: str) -> int:
    """How many loops pass from an input's real change to `value` until it counts, plus one."""
    item = model.input[name]
    return loops_of(model, item.steady[item.values.index(value)]) + 1


FALSE = -1


def leaf_says(model: Model, look: Look, leaf: Leaf) -> int:
    """FALSE, or by how many loops what made this part true is as if moved earlier."""
    if look.holds(leaf.atom) == leaf.negated:
        return FALSE
    match leaf.atom:
        case Is(name=name) | HeldFor(name=name) if name in model.input_index:
            return sensing(model, name, look.inputs[model.input_index[name]].steady)
        case _:
            return 0


def event_shift(model: Model, tree: Tree, look: Look) -> int:
    """All of the sensing of each `x becomes v` that makes the condition true in this loop."""
    match tree:
        case Leaf(atom=Becomes(name=name, value=value), negated=False):
            return sensing(model, name, value) if name in model.input_index else 0
        case Leaf():
            return 0
        case Joined(parts=parts):
            return max(event_shift(model, part, look) for part in parts if true_in(part, look))


def true_in(tree: Tree, look: Look) -> bool:
    match tree:
        case Leaf(atom=atom, negated=negated):
            return look.holds(atom) != negated
        case Joined(parts=parts, all_of=True):
            return all(true_in(part, look) for part in parts)
        case Joined(parts=parts):
            return any(true_in(part, look) for part in parts)


class Lasting:
    """For how long a condition and each of its parts have lasted, sensing counted in.

    A state is one number for each part, this one first and then its parts in order: above 0, the
    loops that it has lasted as if its inputs had changed so much earlier; 0 and below, less the
    loops since it last held (loop 0 comes one loop after it last held, so nothing begins before).
    Numbers stop at `most`.
    """

    def __init__(self, tree: Tree, most: int) -> None:
        self.tree = tree
        self.most = most
        self.begin: tuple[int, ...] = (0,) * self._size(tree)

    def read(self, last: tuple[int, ...], says: Sequence[int]) -> tuple[int, ...]:
        """Give the next state, by what each single condition says in this loop."""
        return self._read(self.tree, iter(last), iter(says))

    def before(self, last: tuple[int, ...], says: Sequence[int]) -> int:
        """How long it had lasted before this loop, in the light of what changes in this loop.

        0 where it really held then: what has been measured already is not measured again.
        """
        return 0 if last[0] > 0 else self._before(self.tree, iter(last), iter(says))

    def _size(self, tree: Tree) -> int:
        match tree:
            case Leaf():
                return 1
            case Joined(parts=parts):
                return 1 + sum(self._size(part) for part in parts)

    def _read(self, tree: Tree, last: Iterator[int], says: Iterator[int]) -> tuple[int, ...]:
        was = next(last)
        match tree:
            case Leaf():
                said = next(says)
                return (self._next(was, 0 if said == FALSE else said + 1),)
            case Joined(parts=parts, all_of=all_of):
                found = [self._read(part, last, says) for part in parts]
                lasted = [max(part[0], 0) for part in found]
                now = min(lasted) if all_of else max(lasted)
                return (self._next(was, now), *(number for part in found for number in part))

    def _next(self, was: int, lasted: int) -> int:
        if not lasted:
            return max((-1 if was > 0 else was - 1), -self.most)
        if was > 0:
            return min(was + 1, self.most)
        return min(lasted, 1 - was, self.most)

    def _before(self, tree: Tree, last: Iterator[int], says: Iterator[int]) -> int:
        was = next(last)
        match tree:
            case Leaf():
                said = next(says)
                return was if was > 0 else max(min(said, -was), 0)
            case Joined(parts=parts, all_of=all_of):
                found = [self._before(part, last, says) for part in parts]
                now = min(found) if all_of else max(found)
                return was if was > 0 else min(now, -was)


def loops_of(model: Model, time: Time) -> int:
    if isinstance(time, Unknown):
        raise TypeError(time)
    return model.loops_up(time)
