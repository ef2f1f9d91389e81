"""Verdicts on rules by plain definition, on every run of the explicit graph.

Written from the pages on what rules speak of, on counting and on sensing; it knows no engine.

Strategy: each rule is a small automaton that reads the loops of a run; it and the graph are walked
together. A condition that sensing is counted into is taken apart, and for each part it is kept for
how many loops it has lasted, as if each input that it waits for had changed so much earlier.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from behaviour.explore.twin import Graph, Loop
from behaviour.model import (
    Always,
    And,
    AtMost,
    Atom,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Never,
    Not,
    Or,
    Requirement,
    Time,
    Unknown,
    WayBack,
    Whenever,
)
from behaviour.semantics import Look


@dataclass(frozen=True)
class Answer:
    """Whether a rule holds, and whether it is broken by its time being shorter than sensing."""

    holds: bool
    too_slow: bool = False


HOLDS = Answer(holds=True)
BROKEN = Answer(holds=False)


def conditions_of(requirement: Requirement) -> tuple[Condition, ...]:
    match requirement:
        case Whenever(trigger=trigger, response=response):
            return trigger, response
        case _:
            return (requirement.condition,)


def answer(model: Model, graph: Graph, requirement: Requirement) -> Answer:
    """Judge one rule in the healthy world."""
    views = Views(model, graph)
    match requirement:
        case Never(condition=condition, limit=None):
            return BROKEN if any(map(views.left(condition), views.all_loops())) else HOLDS
        case Always(condition=condition):
            return HOLDS if all(map(views.left(condition), views.all_loops())) else BROKEN
        case Never(condition=condition, limit=time) if time is not None:
            return _never_for(views, condition, loops_of(model, time))
        case AtMost(condition=condition, limit=time):
            return _at_most(views, condition, loops_of(model, time))
        case Whenever():
            return _whenever(views, requirement, loops_of(model, requirement.limit))
        case WayBack(condition=condition):
            return _way_back(views, condition)
        case _:
            raise TypeError(requirement)


def loops_of(model: Model, time: Time) -> int:
    if isinstance(time, Unknown):
        raise TypeError(time)
    return model.loops_up(time)


# --- What a rule sees of a loop -----------------------------------------------------------------


@dataclass(frozen=True)
class Views:
    """The healthy loops of a graph, and what conditions say of them."""

    model: Model
    graph: Graph

    def all_loops(self) -> Iterator[Loop]:
        yield from self.graph.starts
        for number in range(self.graph.healthy):
            yield from self.graph.loops[number]

    def as_left(self, loop: Loop) -> Look:
        """Everything as the loop leaves it."""
        before = loop.left if loop.source is None else self.graph.states[loop.source].prop
        return Look(
            self.model,
            loop.seen,
            loop.left.counters,
            tuple(region.leaf for region in loop.left.regions),
            loop.left.outputs,
            before.outputs,
            loop.stimulus.mechanism,
        )

    def as_found(self, loop: Loop) -> Look:
        """The loop's inputs, all else as the loop found it; loop 0 finds what it leaves."""
        if loop.source is None:
            return self.as_left(loop)
        found = self.graph.states[loop.source]
        return Look(
            self.model,
            loop.seen,
            found.prop.counters,
            tuple(region.leaf for region in found.prop.regions),
            found.prop.outputs,
            found.prop.outputs,
            tuple(stand.state for stand in found.stands),
        )

    def left(self, condition: Condition) -> Callable[[Loop], bool]:
        return lambda loop: self.as_left(loop).holds(condition)


def _breach(
    views: Views, begin: Hashable, label: Callable[[Loop], Hashable], read: "Reading"
) -> Answer:
    """Walk an automaton along every run; `read` gives its next state, or an Answer to stop."""
    labels: dict[int, tuple[tuple[int, Hashable], ...]] = {}

    def labelled(number: int) -> tuple[tuple[int, Hashable], ...]:
        if number not in labels:
            loops = views.graph.loops[number]
            labels[number] = tuple({(loop.target, label(loop)): None for loop in loops})
        return labels[number]

    first = {(loop.target, label(loop)): None for loop in views.graph.starts}
    broken, seen, todo = HOLDS, set[tuple[int, Hashable]](), []
    ahead: Sequence[tuple[int, Hashable]] = tuple(first)
    state = begin
    while True:
        for target, said in ahead:
            onward = read(state, said)
            if isinstance(onward, Answer):
                if onward.too_slow:
                    return onward
                broken = onward
            elif (target, onward) not in seen:
                seen.add((target, onward))
                todo.append((target, onward))
        if not todo:
            return broken
        number, state = todo.pop()
        ahead = labelled(number)


Reading = Callable[[Hashable, Hashable], "Hashable | Answer"]


# --- Without sensing ----------------------------------------------------------------------------


def _at_most(views: Views, condition: Condition, limit: int) -> Answer:
    """`while: C`, `at most: d`: C true in n loops one after the other has lasted n loops."""

    def read(lasted: int, holds: bool) -> int | Answer:
        if not holds:
            return 0
        return BROKEN if lasted + 1 > limit else lasted + 1

    return _breach(views, 0, views.left(condition), read)


def _way_back(views: Views, condition: Condition) -> Answer:
    """Broken by a loop in which C does not hold, and from which no run comes to one where it does.

    In the form of the graph: the states from which a loop with C can be reached, found backwards.
    """
    holds = views.left(condition)
    graph = views.graph
    before: dict[int, list[int]] = {number: [] for number in range(graph.healthy)}
    good: list[int] = []
    for number in range(graph.healthy):
        for loop in graph.loops[number]:
            before[loop.target].append(number)
        if any(holds(loop) for loop in graph.loops[number]):
            good.append(number)
    can = set(good)
    while good:
        for number in before[good.pop()]:
            if number not in can:
                can.add(number)
                good.append(number)
    for loop in views.all_loops():
        if loop.target not in can and not holds(loop):
            return BROKEN
    return HOLDS


# --- Sensing ------------------------------------------------------------------------------------


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


def _never_for(views: Views, condition: Condition, limit: int) -> Answer:
    """Broken where C lasts longer than the limit, or had done so before the inputs could count."""
    tree = tree_of(condition)
    leaves = tuple(leaves_of(tree))
    lasting = Lasting(tree, limit + 1)

    def label(loop: Loop) -> tuple[int, ...]:
        look = views.as_left(loop)
        return tuple(leaf_says(views.model, look, leaf) for leaf in leaves)

    def read(last: tuple[int, ...], says: tuple[int, ...]) -> tuple[int, ...] | Answer:
        if lasting.before(last, says) > limit:
            return Answer(holds=False, too_slow=True)
        now = lasting.read(last, says)
        return BROKEN if now[0] > limit else now

    return _breach(views, lasting.begin, label, read)


@dataclass(frozen=True)
class Asked:
    """What a loop says to a `whenever`. `shift` is None where its left side does not hold."""

    says: tuple[int, ...]
    shift: int | None
    answered: bool
    changed: frozenset[int]
    """The leaves on the left that are `becomes` of an output, true as this loop leaves it."""


@dataclass(frozen=True)
class Waiting:
    """`pending`: loops since the earliest A not answered. `answer`: loops since B last held."""

    lasting: tuple[int, ...]
    pending: int | None
    answer: int


def _whenever(views: Views, rule: Whenever, limit: int) -> Answer:
    """Broken where A holds, as if its inputs had changed so much earlier, and no B comes in time.

    An A that sensing moves is answered by a B from that moment on; one after `x becomes v` by a B
    from the loop on in which it counts, and its time is shorter by all of the sensing.
    """
    model = views.model
    tree = tree_of(rule.trigger)
    leaves = tuple(leaves_of(tree))
    lasting = Lasting(tree, limit + 1)

    def label(loop: Loop) -> Asked:
        look = views.as_found(loop)
        shift = event_shift(model, tree, look) if true_in(tree, look) else None
        says = tuple(leaf_says(model, look, leaf) for leaf in leaves)
        return Asked(says, shift, views.as_left(loop).holds(rule.response), frozenset())

    def read(last: Waiting, asked: Asked) -> Waiting | Answer:
        before = min(lasting.before(last.lasting, asked.says), last.answer)
        if before > limit:
            return Answer(holds=False, too_slow=True)
        now = lasting.read(last.lasting, asked.says)
        pending = None if last.pending is None else last.pending + 1
        if asked.shift is not None:
            begins = 0 if last.lasting[0] > 0 else min(now[0] - 1, last.answer)
            pending = max(begins, asked.shift, pending or 0)
        if pending is not None and pending > limit:
            return Answer(holds=False, too_slow=True)
        if asked.answered:
            return Waiting(now, None, 0)
        if pending == limit:
            return BROKEN
        return Waiting(now, pending, min(last.answer + 1, limit + 1))

    return _breach(views, Waiting(lasting.begin, None, 0), label, read)


def rule_conditions(model: Model) -> Iterator[Condition]:
    for rule in model.rules:
        yield from conditions_of(rule.requirement)


def answers(model: Model, graph: Graph) -> Mapping[str, Answer]:
    return {rule.name: answer(model, graph, rule.requirement) for rule in model.rules}
