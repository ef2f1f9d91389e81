"""A condition of the model as a condition in code. It knows the names, and nothing of switches."""

from dataclasses import dataclass
from typing import assert_never

from behaviour.model import (
    And,
    Becomes,
    Compare,
    Comparison,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
    Region,
)
from codegen.expressions import (
    ALWAYS,
    NEVER,
    Expression,
    Ranges,
    Subject,
    Term,
    all_of,
    any_of,
    negated,
    outside,
)
from codegen.vocabulary import Vocabulary

SIGNS: dict[Comparison, str] = {
    "=": "==",
    "!=": "!=",
    "<": "<",
    "<=": "<=",
    ">": ">",
    ">=": ">=",
}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a condition stands: the region that looks, and the state, None for the region."""

    region: str
    state: int | None


def condition_in_c(
    model: Model, names: Vocabulary, place: Place, condition: Condition | None
) -> Expression:
    """Build the condition as `place` looks at it.

    What a region sees of another it sees through `seen`, as the loop began.
    """
    match condition:
        case None:
            return ALWAYS
        case And(parts=parts):
            return all_of([condition_in_c(model, names, place, part) for part in parts])
        case Or(parts=parts):
            return any_of([condition_in_c(model, names, place, part) for part in parts])
        case Not(part=part):
            return negated(condition_in_c(model, names, place, part))
        case Is(name=name, values=values, negated=is_negated):
            if is_negated:
                return all_of([_has_value(model, names, name, v, equal=False) for v in values])
            return any_of([_has_value(model, names, name, v, equal=True) for v in values])
        case Becomes(name=name, value=value):
            words = names.inputs[name]
            changed = Term(names.spelling.became(words.member, words.changed), bare=True)
            return all_of([changed, _has_value(model, names, name, value, equal=True)])
        case HeldFor(name=name, value=value, time=time):
            words, spelling = names.inputs[name], names.spelling
            macro = names.held[place.region, place.state, name, value, time]
            since = spelling.since(words.member, words.since)
            lasted = Term(spelling.lasted(since, spelling.loops(macro)), bare=True)
            return all_of([_has_value(model, names, name, value, equal=True), lasted])
        case Compare():
            return _compared(model, names, place, condition)
        case InState() | Done():
            stands = _stands(model, names, place, condition)
            return negated(stands) if condition.negated else stands
        case _:
            assert_never(condition)


def _stands(model: Model, names: Vocabulary, place: Place, asked: InState | Done) -> Expression:
    """Build a test whether a region is in a state, or has moved a motor as far as it should."""
    if isinstance(asked, InState):
        return in_state(names, place, model.region[asked.region], asked.state)
    move = names.outputs[asked.name].move
    return NEVER if move is None else Term(names.spelling.own(move.done), bare=True)


def in_state(names: Vocabulary, place: Place, region: Region, state: int) -> Expression:
    """Build a test whether `region` is in `state` or inside it, as `place` sees it."""
    words = names.regions[region.name]
    own = region.name == place.region
    text = names.spelling.state(words.member, own=own)
    order = state_order(names, region)
    subject = Subject(text, 0, len(order) - 1)
    inner = tuple(order.index(name) for name in enumerators_in(names, region, state))
    holds: Ranges = tuple((number, number) for number in inner)
    if len(inner) == 1:
        return Term(f"{text} == {order[inner[0]]}", subject=subject, holds=holds)
    test = names.spelling.inside(words.states[state].is_in, text)
    return Term(test, bare=True, subject=subject, holds=holds)


def not_in_state(names: Vocabulary, place: Place, region: Region, state: int) -> Expression:
    """Build the opposite of `in_state`."""
    return negated(in_state(names, place, region, state))


def enumerators_in(names: Vocabulary, region: Region, state: int) -> tuple[str, ...]:
    """List the enumerators of a state and of all states inside it, in the order of the enum."""
    words = names.regions[region.name]
    return tuple(
        name
        for inner in region.states
        if region.contains(state, inner.number)
        for name in words.states[inner.number].phases
    )


def state_order(names: Vocabulary, region: Region) -> tuple[str, ...]:
    """List all enumerators of a region in the order of its enum."""
    words = names.regions[region.name]
    return tuple(name for state in region.states for name in words.states[state.number].phases)


def _has_value(
    model: Model, names: Vocabulary, name: str, value: str, *, equal: bool
) -> Expression:
    words, values = names.inputs[name], model.input[name].values
    number = values.index(value)
    subject = Subject(names.spelling.steady(words.member), 0, len(values) - 1)
    test = Term(
        f"{subject.text} == {words.values[value]}", subject=subject, holds=((number, number),)
    )
    return test if equal else negated(test)


def _compared(model: Model, names: Vocabulary, place: Place, asked: Compare) -> Expression:
    counter = model.counter[asked.name]
    owner = counter_owner(model, asked.name)
    own = owner in (None, place.region)
    text = names.spelling.count(names.counters[asked.name], own=own)
    subject = Subject(text, counter.low, counter.high)
    return Term(
        f"{text} {SIGNS[asked.sign]} {asked.number}",
        subject=subject,
        holds=_numbers(asked.sign, asked.number, counter.low, counter.high),
    )


def counter_owner(model: Model, name: str) -> str | None:
    """Name the region whose transitions change a counter, None if none does."""
    for region in model.regions:
        for way in region.transitions():
            if any(action.counter == name for action in way.does):
                return region.name
    return None


def _numbers(sign: Comparison, number: int, low: int, high: int) -> Ranges:
    match sign:
        case "=":
            stretch = (number, number)
        case "!=":
            return outside(((number, number),), low, high)
        case "<":
            stretch = (low, number - 1)
        case "<=":
            stretch = (low, number)
        case ">":
            stretch = (number + 1, high)
        case ">=":
            stretch = (number, high)
        case _:
            assert_never(sign)
    begin, end = max(stretch[0], low), min(stretch[1], high)
    return ((begin, end),) if begin <= end else ()
