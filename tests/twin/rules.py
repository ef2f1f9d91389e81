"""Verdicts on rules by plain definition, on every run of the explicit graph.

Written from the pages on what rules speak of, on counting and on sensing; it knows no engine.

Strategy: each rule is a small automaton that reads the loops of a run; it and the graph are walked
together.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Generic, NamedTuple, TypeVar

from behaviour.explore.twin import Graph
from behaviour.findings import Beat
from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Becomes,
    Condition,
    Count,
    First,
    Model,
    Never,
    Not,
    Rate,
    Requirement,
    Scope,
    ScopeKind,
    WayBack,
    Whenever,
)
from behaviour.semantics import Look
from tests.twin.faces import Faces
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
        case First(condition=condition, before=before, since=since):
            return tuple(each for each in (condition, before, since) if each is not None)
        case Count(condition=condition, since=since):
            return tuple(each for each in (condition, since) if each is not None)
        case _:
            return (requirement.condition,)


def answer(  # noqa: PLR0911
    faces: Faces, requirement: Requirement, scope: Scope | None = None
) -> Answer:
    """Judge one rule in the healthy world."""
    model, views = faces.model, Views(faces, scope)
    match requirement:
        case Never(condition=condition, limit=None):
            return _at_most(views, condition, 0)
        case Always(condition=condition):
            return _at_most(views, Not(condition), 0)
        case Never(condition=condition, limit=time) if time is not None:
            return _never_for(views, condition, loops_of(model, time))
        case AtMost(condition=condition, limit=time):
            return _at_most(views, condition, loops_of(model, time))
        case AtLeast(condition=condition, limit=time):
            return _at_least(views, condition, loops_of(model, time))
        case Whenever(limit=None):
            return _some_day(views, requirement)
        case Whenever(limit=time) if time is not None:
            return _whenever(views, requirement, loops_of(model, time))
        case First():
            return _first(views, requirement)
        case Count():
            return _count(views, requirement)
        case Rate(condition=condition, most=most, limit=time):
            return _rate(views, condition, most, loops_of(model, time))
        case WayBack(condition=condition):
            return _way_back(views, condition)
        case _:
            raise TypeError(requirement)


# --- What a rule sees of a loop -----------------------------------------------------------------


@dataclass(frozen=True)
class Views:
    """The healthy loops of a graph, and what conditions say of them."""

    faces: Faces
    scope: Scope | None = None

    @property
    def model(self) -> Model:
        return self.faces.model

    @property
    def graph(self) -> Graph:
        return self.faces.graph

    def says(self, condition: Condition) -> Callable[[int], bool]:
        """Judge a condition on what is looked at, by its number."""
        return cache(lambda number: self.faces.looks[number].holds(condition))

    def in_scope(self) -> Callable[[int], bool]:
        """Judge whether the condition of the scope holds in a loop, by what that leaves."""
        return (lambda _: False) if self.scope is None else self.says(self.scope.condition)


def now_in(scope: Scope | None, past: bool, holds: bool) -> tuple[bool, bool]:
    """Whether a rule is in force in this loop, and what is known of the scope's past after it.

    What is known is whether the condition of the scope has ever held.
    """
    ever = past or holds
    if scope is None:
        return True, ever
    match scope.kind:
        case ScopeKind.ONLY_WHILE:
            return holds, ever
        case ScopeKind.ONCE_BEGUN:
            return ever, ever
        case ScopeKind.UP_TO:
            return not ever, ever


State = TypeVar("State", bound=Hashable)
Label = TypeVar("Label", bound=Hashable)


@dataclass(frozen=True)
class Automaton(Generic[State, Label]):
    """Reads the loops of a run one after the other; `read` gives its next state, or an Answer.

    `label` gives what a loop says to it, by all as the loop leaves it and, if it `asks`, as it was
    found. That may depend on the outputs that the loop before found, if it `remembers`.
    If it is read `anew` it begins again where the controller starts again.
    """

    begin: State
    label: Callable[[Look, Look], Label]
    read: Callable[[State, Label], State | Answer]
    asks: bool = False
    remembers: bool = False
    anew: bool = False


def _walked(views: Views, automaton: Automaton[State, Label]) -> Answer:
    """Let an automaton read every run of the healthy world; too slow comes before broken.

    Out of the scope of the rule it reads nothing, and it begins again wherever that begins.
    """
    graph, faces = views.graph, views.faces
    in_scope, read = views.in_scope(), cache(automaton.read)

    @cache
    def label(left: int, found: int) -> Label:
        return automaton.label(faces.looks[left], faces.looks[found])

    @cache
    def ahead(
        number: int | None, before: tuple[str, ...]
    ) -> tuple[tuple[int, Label, bool, bool], ...]:
        loops = graph.starts if number is None else graph.loops[number]
        lefts = faces.left(number)
        founds = faces.found(number, before) if automaton.asks else lefts
        said = (
            (loop.target, label(left, found), in_scope(left), loop.stimulus.beat is Beat.STARTS)
            for loop, left, found in zip(loops, lefts, founds, strict=True)
        )
        return tuple(dict.fromkeys(said))

    broken = HOLDS
    met: set[tuple[int, tuple[str, ...], State, bool]] = set()
    todo: list[tuple[int | None, tuple[str, ...], State, bool]] = [
        (None, (), automaton.begin, False)
    ]
    while todo:
        number, before, state, past = todo.pop()
        found: tuple[str, ...] = ()
        if automaton.remembers and number is not None:
            found = graph.states[number].prop.outputs
        for target, said, holds, starts in ahead(number, before):
            begins = starts and automaton.anew
            inside, ever = now_in(views.scope, past and not begins, holds)
            last = automaton.begin if begins else state
            onward = read(last, said) if inside else automaton.begin
            if isinstance(onward, Answer):
                if onward.too_slow:
                    return onward
                broken = onward
            elif (target, found, onward, ever) not in met:
                met.add((target, found, onward, ever))
                todo.append((target, found, onward, ever))
    return broken


# --- Without sensing ----------------------------------------------------------------------------


def _at_most(views: Views, condition: Condition, limit: int) -> Answer:
    """`while: C`, `at most: d`: C true in n loops one after the other has lasted n loops."""

    def read(lasted: int, holds: bool) -> int | Answer:
        if not holds:
            return 0
        return BROKEN if lasted + 1 > limit else lasted + 1

    return _walked(views, Automaton(0, lambda left, _: left.holds(condition), read))


def _at_least(views: Views, condition: Condition, least: int) -> Answer:
    """`while: C`, `at least: d`: C true in fewer loops one after the other ended too soon."""

    def read(lasted: int, holds: bool) -> int | Answer:
        if holds:
            return min(lasted + 1, least)
        return BROKEN if 0 < lasted < least else 0

    return _walked(views, Automaton(0, lambda left, _: left.holds(condition), read, anew=True))


class Before(NamedTuple):
    """What a loop says to `first` or `count`: A, B and C (False where there is none)."""

    a: bool
    b: bool
    c: bool


class Known(NamedTuple):
    """Whether A, and C, held in the last loop; `had`: how often A was, None where unjudged."""

    a: bool
    c: bool
    had: int | None


def _says(a: Condition, b: Condition | None, c: Condition | None) -> Callable[[Look, Look], Before]:
    return lambda left, _: Before(
        left.holds(a), b is not None and left.holds(b), c is not None and left.holds(c)
    )


def _first(views: Views, rule: First) -> Answer:
    """Broken where B holds, and A in no loop since C last began, nor in this one."""

    def read(last: Known, now: Before) -> Known | Answer:
        had = 0 if now.c and not last.c else last.had
        if had == 0 and now.a:
            had = 1
        if had == 0 and now.b:
            return BROKEN
        return Known(now.a, now.c, had)

    begin = Known(False, False, 0 if rule.since is None else None)
    says = _says(rule.condition, rule.before, rule.since)
    return _walked(views, Automaton(begin, says, read, anew=True))


def _count(views: Views, rule: Count) -> Answer:
    """Broken where A has begun too often since the loop in which C last began, or at all."""

    def read(last: Known, now: Before) -> Known | Answer:
        had = 0 if now.c and not last.c else last.had or 0
        had += now.a and not last.a
        return BROKEN if had > rule.most else Known(now.a, now.c, had)

    says = _says(rule.condition, None, rule.since)
    return _walked(views, Automaton(Known(False, False, 0), says, read, anew=True))


def _rate(views: Views, condition: Condition, most: int, apart: int) -> Answer:
    """Broken where A begins, and with it more than n times in a window shorter than d.

    Kept is whether A held, and how many loops ago each beginning was, while it is less than d.
    """

    def read(
        last: tuple[bool, tuple[int, ...]], holds: bool
    ) -> "tuple[bool, tuple[int, ...]] | Answer":
        ago = tuple(each + 1 for each in last[1] if each + 1 < apart)
        if holds and not last[0] and apart > 0:
            ago = (*ago, 0)
        return BROKEN if len(ago) > most else (holds, ago)

    automaton = Automaton((False, ()), lambda left, _: left.holds(condition), read, anew=True)
    return _walked(views, automaton)


def _some_day(views: Views, rule: Whenever) -> Answer:
    """`whenever: A`, `then: B`: broken by a run that goes on for ever after an A without a B.

    Each loop leads to a state with what it leaves open. Those from which nothing goes on
    unanswered are struck out, until all that are left go on to one another.
    """
    graph, model = views.graph, views.model
    remembers = any(
        isinstance(leaf.atom, Becomes) and leaf.atom.name in model.output
        for leaf in leaves_of(tree_of(rule.trigger))
    )
    onward: dict[object, set[object]] = {}
    in_scope, faces = views.in_scope(), views.faces
    asks, answers = views.says(rule.trigger), views.says(rule.response)
    todo: list[tuple[int | None, tuple[str, ...], bool, bool]] = [(None, (), False, False)]
    while todo:
        at = todo.pop()
        if at in onward:
            continue
        onward[at] = set()
        number, before, waits, past = at
        found = graph.states[number].prop.outputs if remembers and number is not None else ()
        for loop, left, looked_at in zip(
            graph.starts if number is None else graph.loops[number],
            faces.left(number),
            faces.found(number, before),
            strict=True,
        ):
            goes_on = loop.stimulus.beat is not Beat.STARTS
            inside, ever = now_in(views.scope, past and goes_on, in_scope(left))
            asked = (waits and goes_on) or asks(looked_at)
            to = (loop.target, found, inside and asked and not answers(left), ever)
            if to not in onward[at]:
                onward[at].add(to)
                todo.append(to)
    kept = {at for at in onward if at[2]}
    while True:
        ended = {at for at in kept if not onward[at] & kept}
        if not ended:
            return BROKEN if kept else HOLDS
        kept -= ended


def _way_back(views: Views, condition: Condition) -> Answer:
    """Broken by a loop in which C does not hold, and from which no run comes to one where it does.

    In the form of the graph: the states from which a loop with C can be reached, found backwards.
    """
    holds, faces, graph = views.says(condition), views.faces, views.graph
    before: dict[int, list[int]] = {number: [] for number in range(graph.healthy)}
    good: list[int] = []
    for number in range(graph.healthy):
        for loop in graph.loops[number]:
            before[loop.target].append(number)
        if any(map(holds, faces.left(number))):
            good.append(number)
    can = set(good)
    while good:
        for number in before[good.pop()]:
            if number not in can:
                can.add(number)
                good.append(number)
    every = [(graph.starts, None), *((graph.loops[n], n) for n in range(graph.healthy))]
    if any(
        loop.target not in can and not holds(left)
        for loops, number in every
        for loop, left in zip(loops, faces.left(number), strict=True)
    ):
        return BROKEN
    return HOLDS


# --- Sensing ------------------------------------------------------------------------------------


def _never_for(views: Views, condition: Condition, limit: int) -> Answer:
    """Broken where C lasts longer than the limit, or had done so before the inputs could count."""
    tree = tree_of(condition)
    leaves = tuple(leaves_of(tree))
    lasting = Lasting(tree, limit + 1)

    def label(left: Look, _: Look) -> tuple[int, ...]:
        return tuple(leaf_says(views.model, left, leaf) for leaf in leaves)

    def read(last: tuple[int, ...], says: tuple[int, ...]) -> tuple[int, ...] | Answer:
        if lasting.before(last, says) > limit:
            return Answer(holds=False, too_slow=True)
        now = lasting.read(last, says)
        return BROKEN if now[0] > limit else now

    return _walked(views, Automaton(lasting.begin, label, read))


class Asked(NamedTuple):
    """What a loop says to a `whenever`. `shift` is None where its left side does not hold."""

    says: tuple[int, ...]
    shift: int | None
    answered: bool


class Waiting(NamedTuple):
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

    def label(left: Look, found: Look) -> Asked:
        shift = event_shift(model, tree, found) if true_in(tree, found) else None
        says = tuple(leaf_says(model, found, leaf) for leaf in leaves)
        return Asked(says, shift, left.holds(rule.response))

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
    begin = Waiting(lasting.begin, None)
    automaton = Automaton(begin, label, read, asks=True, remembers=remembers, anew=True)
    return _walked(views, automaton)


def rule_conditions(model: Model) -> Iterator[Condition]:
    for rule in model.rules:
        yield from conditions_of(rule.requirement)
        if rule.scope is not None:
            yield rule.scope.condition


def answers(model: Model, graph: Graph) -> Mapping[str, Answer]:
    faces = Faces(model, graph)
    return {rule.name: answer(faces, rule.requirement, rule.scope) for rule in model.rules}
