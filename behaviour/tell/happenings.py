"""What can happen to a region, and what each of its states does then: the cells of its table.

It reads the file alone: whether something can ever happen in a state is for the checks to say.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from behaviour.explore.guards import atoms
from behaviour.model import (
    And,
    Atom,
    Becomes,
    Condition,
    HeldFor,
    Input,
    Is,
    Model,
    Not,
    Or,
    Part,
    Region,
    State,
    Transition,
    Unknown,
)
from behaviour.semantics import candidates, is_open

ALWAYS, NEVER = And(()), Or(())
"""What is left of a condition that is decided: it holds, or does not."""

MOST_ATOMS = 10
"""Parts of a condition up to which every case is tried; with more, it may always hold."""


@dataclass(frozen=True, slots=True)
class Happening:
    """An input changes to a value."""

    input: str
    value: str


@dataclass(frozen=True, slots=True)
class Answer:
    """A transition that something can bring about, and what else must hold: ALWAYS for nothing."""

    way: Transition
    also: Condition

    @property
    def is_certain(self) -> bool:
        return self.also == ALWAYS and self.way.after is None


def leaves(region: Region) -> tuple[State, ...]:
    """List the states that hold no other: a region is always in one of them."""
    return tuple(state for state in region.states if not state.children)


def happenings(model: Model, region: Region) -> tuple[Happening, ...]:
    """List what some state of a region answers, in the order of the file."""
    return tuple(
        happening
        for item in model.inputs
        for happening in changes(item)
        if any(answers(model, region, leaf.number, happening) for leaf in leaves(region))
    )


def changes(item: Input) -> tuple[Happening, ...]:
    return tuple(Happening(item.name, value) for value in item.values)


def answers(model: Model, region: Region, leaf: int, happening: Happening) -> tuple[Answer, ...]:
    """List what something brings about in a state, in the order in which it is looked at.

    What stands after a transition that is then surely taken is left out.
    """
    found = []
    for way in ways(region, leaf):
        if way.part is Part.END or not _brings_about(model, way.when, happening):
            continue
        answer = Answer(way, _left(way.when, happening.input, happening.value, changed=True))
        found.append(answer)
        if answer.is_certain:
            break
    return tuple(found)


def by_themselves(model: Model, region: Region, leaf: int) -> tuple[Transition, ...]:
    """List what no change alone brings about: times, counts, other regions, what is so on entering.

    Together with all answers these are all the transitions that a state can take.
    """
    answered = {
        answer.way.number
        for item in model.inputs
        for each in changes(item)
        for answer in answers(model, region, leaf, each)
    }
    return tuple(way for way in ways(region, leaf) if way.number not in answered)


def is_there_already(model: Model, region: Region, leaf: int, happening: Happening) -> bool:
    """Tell whether an interlock that this brings about leads where the region is already."""
    return any(
        way.part is Part.INTERLOCK
        and not isinstance(way.target, Unknown)
        and way.target in region.path(leaf)
        and _brings_about(model, way.when, happening)
        for way in candidates(region, leaf, 0)
        if isinstance(way, Transition)
    )


def is_left_otherwise(model: Model, region: Region, leaf: int, happening: Happening) -> bool:
    """Tell whether a state is left at once while the input has any other value than this one."""
    return all(
        any(
            way.after is None
            and way.target is not None
            and _left(way.when, happening.input, value, changed=False) == ALWAYS
            for way in ways(region, leaf)
            if way.part is not Part.END
        )
        for value in model.input[happening.input].values
        if value != happening.value
    )


def is_ignored(region: Region, leaf: int, name: str) -> bool:
    return any(name in region.states[number].ignores for number in region.path(leaf))


def is_locked(region: Region, leaf: int) -> bool:
    return any(region.states[number].lockout for number in region.path(leaf))


def mentioned(region: Region, leaf: int) -> frozenset[str]:
    """Name everything that the transitions of a state look at."""
    return frozenset(
        atom.name
        for way in ways(region, leaf)
        for atom in atoms(way.when)
        if isinstance(atom, Is | Becomes | HeldFor)
    )


def moved_by_hardware(model: Model) -> frozenset[str]:
    """Name the inputs that no person moves."""
    return frozenset(
        name for each in model.mechanism for state in each.states for name, _ in state.reads
    )


def ways(region: Region, leaf: int) -> Iterator[Transition]:
    """List the transitions that may be taken from a state, in the order of priority."""
    state = region.states[leaf]
    for way in candidates(region, leaf, max(len(state.cues) - 1, 0)):
        if isinstance(way, Transition) and (
            isinstance(way.target, Unknown) or is_open(region, leaf, way)
        ):
            yield way


# --- What a condition asks of a change ----------------------------------------------------------


def _brings_about(model: Model, when: Condition | None, happening: Happening) -> bool:
    """Tell whether this change can be what makes a condition hold, all else staying as it is."""
    after = _left(when, happening.input, happening.value, changed=True)
    return any(
        _can_differ(after, _left(when, happening.input, value, changed=False))
        for value in model.input[happening.input].values
        if value != happening.value
    )


def _can_differ(after: Condition, before: Condition) -> bool:
    """Tell whether the one can hold where the other does not."""
    parts = list(dict.fromkeys([*atoms(after), *atoms(before)]))
    if len(parts) > MOST_ATOMS:
        return after != before
    cases = (
        dict(zip(parts, values, strict=True))
        for values in product((False, True), repeat=len(parts))
    )
    return any(_judged(after, case) and not _judged(before, case) for case in cases)


def _judged(condition: Condition, case: Mapping[Atom, bool]) -> bool:
    match condition:
        case And(parts=parts):
            return all(_judged(part, case) for part in parts)
        case Or(parts=parts):
            return any(_judged(part, case) for part in parts)
        case Not(part=part):
            return not _judged(part, case)
        case _:
            return case[condition]


def _left(when: Condition | None, name: str, value: str, *, changed: bool) -> Condition:
    """Give what is left of a condition where an input has a value, just now if `changed`.

    Nothing else changes in that loop; how long the input has had the value is left to be asked.
    """
    match when:
        case None:
            return ALWAYS
        case Is(name=asked, values=values, negated=negated) if asked == name:
            return ALWAYS if (value in values) != negated else NEVER
        case Becomes(name=asked, value=wanted):
            return ALWAYS if changed and (asked, wanted) == (name, value) else NEVER
        case HeldFor(name=asked, value=wanted) if asked == name and wanted != value:
            return NEVER
        case And(parts=parts):
            left = [_left(part, name, value, changed=changed) for part in parts]
            return _joined(And, left)
        case Or(parts=parts):
            left = [_left(part, name, value, changed=changed) for part in parts]
            return _joined(Or, left)
        case Not(part=part):
            inner = _left(part, name, value, changed=changed)
            decided: dict[Condition, Condition] = {ALWAYS: NEVER, NEVER: ALWAYS}
            return decided.get(inner, Not(inner))
        case _:
            return when


def _joined(kind: type[And] | type[Or], parts: list[Condition]) -> Condition:
    """Join what is left of parts: one that decides the whole does, one that says nothing goes."""
    decides, says_nothing = (NEVER, ALWAYS) if kind is And else (ALWAYS, NEVER)
    if decides in parts:
        return decides
    left = tuple(part for part in parts if part != says_nothing)
    return left[0] if len(left) == 1 else kind(left)
