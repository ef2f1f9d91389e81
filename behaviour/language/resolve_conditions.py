"""Looks up the names of a condition, and says which of them may stand where.

It knows nothing of what a condition decides.
"""

from dataclasses import dataclass
from enum import Enum
from typing import assert_never

from behaviour import model
from behaviour.language import syntax
from behaviour.language.fields import known_value
from behaviour.language.motions import is_moving
from behaviour.language.phrases import there_is, with_article
from behaviour.language.resolve_moves import stop_time
from behaviour.language.resolve_names import Kind, Named, Names, States
from behaviour.language.syntax import Word
from behaviour.language.values import time_of, whole_of
from behaviour.units import shortened


class Where(Enum):
    """Where a condition stands; the value says it for a message."""

    REGION = "a region's own conditions"
    WHILE = "`while` of a movement"
    RULE = "a rule"
    SEE = "`see`"


_VALUED: dict[Where, tuple[Kind, ...]] = {
    Where.REGION: (Kind.INPUT,),
    Where.WHILE: (Kind.INPUT, Kind.OUTPUT),
    Where.RULE: (Kind.INPUT, Kind.OUTPUT),
    Where.SEE: (Kind.INPUT, Kind.OUTPUT),
}
"""What may be asked for its value."""

_PLACED: dict[Where, tuple[Kind, ...]] = {
    Where.REGION: (Kind.REGION,),
    Where.WHILE: (Kind.REGION,),
    Where.RULE: (Kind.REGION, Kind.MECHANISM),
    Where.SEE: (Kind.REGION, Kind.MECHANISM),
}
"""What may be asked for its state."""

_MAY_NAME = {
    Where.REGION: "a region's own conditions name inputs, counters, and states of regions",
    Where.WHILE: "`while` names inputs and outputs by `is`, counters, and states of regions",
    Where.RULE: "",
    Where.SEE: "",
}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a condition stands; `what` names the place for a time that is left unknown.

    `region` is the region whose own condition it is.
    """

    names: Names
    where: Where
    what: str
    region: str = ""


def resolve_condition(place: Place, condition: syntax.Condition) -> model.Condition | None:
    """Look up every name of a condition; None where one is wrong, which is then reported."""
    return _resolve(place, condition, under_not=False)


def _resolve(
    place: Place, condition: syntax.Condition, *, under_not: bool
) -> model.Condition | None:
    match condition:
        case syntax.Is():
            return _is(place, condition)
        case syntax.Becomes():
            return _becomes(place, condition)
        case syntax.HeldFor():
            return _held(place, condition, under_not=under_not)
        case syntax.Compare():
            return _compare(place, condition)
        case syntax.InState():
            return _in_state(place, condition)
        case syntax.Done(moves=True):
            return _moving(place, condition)
        case syntax.Done():
            return _done(place, condition)
        case syntax.Not(part=part, span=span):
            inner = _resolve(place, part, under_not=True)
            return None if inner is None else model.Not(inner, span)
        case syntax.And(parts=parts, span=span):
            whole = _all(place, parts, under_not=under_not)
            return None if whole is None else model.And(whole, span)
        case syntax.Or(parts=parts, span=span):
            whole = _all(place, parts, under_not=under_not)
            return None if whole is None else model.Or(whole, span)
        case _:
            assert_never(condition)


def _all(
    place: Place, parts: tuple[syntax.Condition, ...], *, under_not: bool
) -> tuple[model.Condition, ...] | None:
    found = [_resolve(place, part, under_not=under_not) for part in parts]
    whole = tuple(part for part in found if part is not None)
    return whole if len(whole) == len(parts) else None


def _is(place: Place, condition: syntax.Is) -> model.Condition | None:
    named = _valued(place, condition.name, condition.values)
    if named is None or not _have(place, named, condition.name, condition.values):
        return None
    texts = tuple(value.text for value in condition.values)
    for number, value in enumerate(condition.values):
        if value.text in texts[:number]:
            message = f"the value `{value.text}` stands twice"
            place.names.reading.mistakes.add(value.span, message, hint="keep one")
    return model.Is(condition.name.text, texts, condition.negated, condition.span)


def _becomes(place: Place, condition: syntax.Becomes) -> model.Condition | None:
    if place.where is Where.WHILE:
        place.names.reading.mistakes.add(
            condition.span,
            "a movement goes on for a time, and `becomes` holds for one loop",
            label="not in `while`",
            hint=f"write `{condition.name.text} is {condition.value.text}`",
        )
        return None
    named = _valued(place, condition.name, (condition.value,))
    if named is None or not _have(place, named, condition.name, (condition.value,)):
        return None
    return model.Becomes(condition.name.text, condition.value.text, condition.span)


def _held(place: Place, condition: syntax.HeldFor, *, under_not: bool) -> model.Condition | None:
    name, value = condition.name.text, condition.value.text
    named = _valued(place, condition.name, (condition.value,))
    time = time_of(place.names.reading, condition.time, f"{place.what}.for")
    if named is None or not _have(place, named, condition.name, (condition.value,)):
        return None
    problem, hint = "", ""
    if named.kind is not Kind.INPUT:
        problem = f"`for` counts from the change of an input, and `{name}` is an output"
        hint = "a rule `while: ...` with `at most: ...` judges how long an output lasts"
    elif place.where is Where.WHILE:
        problem = "`for` does not stand in `while` of a movement"
        hint = f"write `{name} is {value}`; `takes` says how long the movement needs"
    elif under_not:
        problem = "`for` does not stand under `not`"
        hint = "name the value that lasts, or take the `not` to the other parts"
    if problem:
        place.names.reading.mistakes.add(condition.span, problem, label="here", hint=hint)
    if problem or time is None:
        return None
    return model.HeldFor(name, value, time, condition.span)


def _compare(place: Place, condition: syntax.Compare) -> model.Condition | None:
    name = condition.name
    named = place.names.find(name, (Kind.COUNTER,))
    if named is None:
        return None
    if named.kind is not Kind.COUNTER:
        hint = "a counter is compared with a whole number"
        if named.kind in (Kind.INPUT, Kind.OUTPUT) and condition.sign in ("=", "!="):
            words = "is" if condition.sign == "=" else "is not"
            hint = f"write `{name.text} {words} {condition.number.text}`"
        _refuse(place, name, f"{_described(place, name)}, and not a counter", hint)
        return None
    number = whole_of(place.names.reading, condition.number)
    if number is None:
        return None
    return model.Compare(name.text, condition.sign, number, condition.span)


def _in_state(place: Place, condition: syntax.InState) -> model.Condition | None:
    word = condition.region
    allowed = _PLACED[place.where]
    named = place.names.find(word, allowed)
    if named is None:
        return None
    if named.states is None:
        hint = f"write `{word.text} is {condition.state.text}`"
        if named.kind not in (Kind.INPUT, Kind.OUTPUT):
            hint = "`in` asks a region for its state"
        _refuse(place, word, f"{_described(place, word)}, and has no states", hint)
        return None
    if named.kind not in allowed:
        message = f"{_described(place, word)}, and {place.where.value} cannot see it"
        _refuse(place, word, message, f"{_MAY_NAME[place.where]}; name the input that it moves")
        return None
    number = find_state(place.names, named.states, condition.state)
    if number is None:
        return None
    return model.InState(word.text, number, condition.negated, condition.span)


def _done(place: Place, condition: syntax.Done) -> model.Condition | None:
    name = condition.name
    named = place.names.find(name, (Kind.OUTPUT,))
    if named is None:
        return None
    region = place.names.moved.get(name.text)
    if named.kind is not Kind.OUTPUT:
        hint = "a motor is done when its move by distance has ended"
        _refuse(place, name, f"{_described(place, name)}, and makes no move", hint)
    elif region is None:
        hint = f"let a state `set: {{{name.text}: forward 90 deg}}`, and ask there"
        _refuse(place, name, f"nothing moves `{name.text}` by distance, so it is never done", hint)
    elif place.where is Where.WHILE:
        hint = f"write `{name.text} is not {named.output.rest}`" if named.output else ""
        _refuse(
            place, name, "a movement goes on while a motor turns, and not once it is done", hint
        )
    elif place.where is Where.REGION and place.region != region:
        message = f"`{name.text}` is moved by `{region}`, and no other region sees when it is done"
        _refuse(place, name, message, f"ask for its state, as in `{region} in STATE`")
    else:
        return model.Done(name.text, condition.negated, condition.span)
    return None


def _moving(place: Place, condition: syntax.Done) -> model.Condition | None:
    name = condition.name
    named = place.names.find(name, (Kind.OUTPUT,))
    if named is None:
        return None
    if named.kind is not Kind.OUTPUT or (named.output and named.output.kind != "motor"):
        _refuse(place, name, f"`{name.text}` is no motor, and so is never moving", "")
        return None
    if place.where is Where.REGION:
        message = f"`is moving` is what `{name.text}` really does, and no region can feel that"
        _refuse(place, name, message, _MAY_NAME[place.where])
        return None
    time = place.names.stops.get(name.text) or stop_time(place.names, name, condition.span)
    if time is None or named.output is None:
        return None
    place.names.stops[name.text] = time
    return is_moving(named.output, condition.span, negated=condition.negated)


def _valued(place: Place, word: Word, values: tuple[Word, ...]) -> Named | None:
    """Look up a name that is asked for its value."""
    allowed = _VALUED[place.where]
    named = place.names.find(word, allowed)
    if named is None or named.kind in allowed:
        return named
    value = values[0].text
    if named.kind is Kind.OUTPUT:
        state = place.names.driven.get((word.text, value))
        hint = _MAY_NAME[place.where] if state is None else f"write `{state}`"
        _refuse(place, word, f"{_described(place, word)}, and {_cannot(place.where)}", hint)
    elif named.kind is Kind.COUNTER:
        hint = f"write `{word.text} = {value if value.isdigit() else 3}`"
        _refuse(place, word, f"{_described(place, word)}, and has no values", hint)
    elif named.states is not None:
        hint = f"write `{word.text} in {value}`"
        _refuse(place, word, f"{_described(place, word)}, and has states, not values", hint)
    else:
        _refuse(place, word, f"{_described(place, word)}, and has no values", "")
    return None


def _have(place: Place, named: Named, name: Word, values: tuple[Word, ...]) -> bool:
    if named.values is None:
        return False
    known = [known_value(place.names.reading, v, name.text, named.values) for v in values]
    return all(known)


def _described(place: Place, word: Word) -> str:
    kind = place.names.by_name[word.text].kind
    return f"`{word.text}` is {with_article(kind.value)}"


def _refuse(place: Place, word: Word, message: str, hint: str) -> None:
    place.names.reading.mistakes.add(word.span, message, label="not here", hint=hint)


def _cannot(where: Where) -> str:
    return f"{where.value} do not look at outputs"


def find_state(names: Names, states: States, word: Word) -> int | None:
    """Find a state of a region by its name or path, and report one that is not there."""
    number = states.find(word.text)
    if number is not None or not states.whole:
        return number
    last = word.text.rpartition(".")[2]
    near = names.reading.near(last, states.names)
    elsewhere = [
        region
        for region, named in names.by_name.items()
        if named.states is not None and last in named.states.numbers and region != states.region
    ]
    if last in states.numbers:
        around = _path(states, states.numbers[last])
        hint = f"the state `{last}` is `{around}`"
    elif near:
        hint = there_is("state", near)
    elif elsewhere:
        hint = f"`{last}` is a state of `{elsewhere[0]}`"
    else:
        shown = states.names[:8]
        hint = f"its states are {', '.join(f'`{name}`' for name in shown)}"
    names.reading.mistakes.add_once(
        ("state", states.region, word.text),
        word.span,
        f"`{shortened(word.text)}` is not a state of `{states.region}`",
        label="no such state",
        hint=hint,
    )
    return None


def _path(states: States, number: int) -> str:
    found: list[str] = []
    at: int | None = number
    while at is not None:
        found.append(states.names[at])
        at = states.parents[at]
    return ".".join(reversed(found))
