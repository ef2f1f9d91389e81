"""Verdicts on rules by plain definition, on every run of the explicit graph.

Written from the pages on what rules speak of, on counting and on sensing; it knows no engine.

Strategy: each rule is a small automaton that reads the loops of a run; it and the graph are walked
together.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Generic, TypeVar

from behaviour.explore.twin import Graph, Loop
from behaviour.findings import Beat
from behaviour.model import (
    Always,
    AtMost,
    Becomes,
    Condition,
    Model,
    Never,
    Requirement,
    WayBack,
    Whenever,
)
from behaviour.semantics import Look
from tests.twin.lasting import (
    Lasting,
    event_shift,
    leaf_says,
    leaves_of,
    loops_of,
    tree_of,
    true_in,
)


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

    def as_found(self, loop: Loop, outputs_before: tuple[str, ...] = ()) -> Look:
        """The loop's inputs, all else as the loop found it; loop 0 finds what it leaves.

        `outputs_before` are the outputs that the loop before found.
        """
        if loop.source is None or loop.stimulus.beat is Beat.STARTS:
            return self.as_left(loop)
        found = self.graph.states[loop.source]
        return Look(
            self.model,
            loop.seen,
            found.prop.counters,
            tuple(region.leaf for region in found.prop.regions),
            found.prop.outputs,
            outputs_before or found.prop.outputs,
            tuple(stand.state for stand in found.stands),
        )

    def left(self, condition: Condition) -> Callable[[Loop], bool]:
        return lambda loop: self.as_left(loop).holds(condition)


State = TypeVar("State", bound=Hashable)
Label = TypeVar("Label", bound=Hashable)


@dataclass(frozen=True)
class Automaton(Generic[State, Label]):
    """Reads the loops of a run one after the other; `read` gives its next state, or an Answer.

    What a loop says to it may depend on the outputs that the loop before found, if it `remembers`.
    If it is read `anew` it begins again where the controller starts again.
    """

    begin: State
    label: Callable[[Loop, tuple[str, ...]], Label]
    read: Callable[[State, Label], State | Answer]
    remembers: bool = False
    anew: bool = False


def _walked(views: Views, automaton: Automaton[State, Label]) -> Answer:
    """Let an automaton read every run of the healthy world; too slow comes before broken."""
    graph = views.graph

    @cache
    def ahead(number: int | None, before: tuple[str, ...]) -> tuple[tuple[int, Label, bool], ...]:
        loops = graph.starts if number is None else graph.loops[number]
        said = (
            (loop.target, automaton.label(loop, before), loop.stimulus.beat is Beat.STARTS)
            for loop in loops
        )
        return tuple(dict.fromkeys(said))

    broken = HOLDS
    met: set[tuple[int, tuple[str, ...], State]] = set()
    todo: list[tuple[int | None, tuple[str, ...], State]] = [(None, (), automaton.begin)]
    while todo:
        number, before, state = todo.pop()
        found: tuple[str, ...] = ()
        if automaton.remembers and number is not None:
            found = graph.states[number].prop.outputs
        for target, said, starts in ahead(number, before):
            begins = starts and automaton.anew
            onward = automaton.read(automaton.begin if begins else state, said)
            if isinstance(onward, Answer):
                if onward.too_slow:
                    return onward
                broken = onward
            elif (target, found, onward) not in met:
                met.add((target, found, onward))
                todo.append((target, found, onward))
    return broken


# --- Without sensing ----------------------------------------------------------------------------


def _at_most(views: Views, condition: Condition, limit: int) -> Answer:
    """`while: C`, `at most: d`: C true in n loops one after the other has lasted n loops."""

    def read(lasted: int, holds: bool) -> int | Answer:
        if not holds:
            return 0
        return BROKEN if lasted + 1 > limit else lasted + 1

    holds = views.left(condition)
    return _walked(views, Automaton(0, lambda loop, _: holds(loop), read))


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


def _never_for(views: Views, condition: Condition, limit: int) -> Answer:
    """Broken where C lasts longer than the limit, or had done so before the inputs could count."""
    tree = tree_of(condition)
    leaves = tuple(leaves_of(tree))
    lasting = Lasting(tree, limit + 1)

    def label(loop: Loop, _: tuple[str, ...]) -> tuple[int, ...]:
        look = views.as_left(loop)
        return tuple(leaf_says(views.model, look, leaf) for leaf in leaves)

    def read(last: tuple[int, ...], says: tuple[int, ...]) -> tuple[int, ...] | Answer:
        if lasting.before(last, says) > limit:
            return Answer(holds=False, too_slow=True)
        now = lasting.read(last, says)
        return BROKEN if now[0] > limit else now

    return _walked(views, Automaton(lasting.begin, label, read))


@dataclass(frozen=True)
class Asked:
    """What a loop says to a `whenever`. `shift` is None where its left side does not hold."""

    says: tuple[int, ...]
    shift: int | None
    answered: bool


@dataclass(frozen=True)
class Waiting:
    """`pending`: loops since the earliest A that is not answered yet."""

    lasting: tuple[int, ...]
    pending: int | None


def _whenever(views: Views, rule: Whenever, limit: int) -> Answer:
    """Broken where A holds, and no B comes within the limit from that loop on.

    Where sensing moves the beginning of A, its time runs from there, and a B counts from the loop
    on in which A is known. After `x becomes v` the time is shorter by all of the sensing.
    """
    model = views.model
    tree = tree_of(rule.trigger)
    leaves = tuple(leaves_of(tree))
    lasting = Lasting(tree, limit + 2)

    def label(loop: Loop, outputs_before: tuple[str, ...]) -> Asked:
        look = views.as_found(loop, outputs_before)
        shift = event_shift(model, tree, look) if true_in(tree, look) else None
        says = tuple(leaf_says(model, look, leaf) for leaf in leaves)
        return Asked(says, shift, views.as_left(loop).holds(rule.response))

    def read(last: Waiting, asked: Asked) -> Waiting | Answer:
        now = lasting.read(last.lasting, asked.says)
        pending = None if last.pending is None else last.pending + 1
        if asked.shift is not None:
            moved = 0 if last.lasting[0] > 0 else now[0] - 1
            pending = max(moved, asked.shift, pending or 0)
        if pending is not None and pending > limit:
            return Answer(holds=False, too_slow=True)
        if asked.answered:
            return Waiting(now, None)
        if pending == limit:
            return BROKEN
        return Waiting(now, pending)

    remembers = any(
        isinstance(leaf.atom, Becomes) and leaf.atom.name in model.output for leaf in leaves
    )
    automaton = Automaton(Waiting(lasting.begin, None), label, read, remembers, anew=True)
    return _walked(views, automaton)


def rule_conditions(model: Model) -> Iterator[Condition]:
    for rule in model.rules:
        yield from conditions_of(rule.requirement)


def answers(model: Model, graph: Graph) -> Mapping[str, Answer]:
    return {rule.name: answer(model, graph, rule.requirement) for rule in model.rules}
