"""Looks up what states set, count, wait for and go to, and makes regions of the model.

It knows nothing of the other parts of a file than their names.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import count
from typing import assert_never

from behaviour import model
from behaviour.findings import Label
from behaviour.language import syntax
from behaviour.language.decode_transitions import STAY
from behaviour.language.fields import known_value
from behaviour.language.phrases import with_article
from behaviour.language.resolve_conditions import Place, Where, find_state, resolve_condition
from behaviour.language.resolve_moves import resolve_move
from behaviour.language.resolve_names import (
    FlatState,
    Kind,
    Named,
    Names,
    States,
    states_of,
)
from behaviour.language.syntax import Word
from behaviour.language.values import UNKNOWN, whole_of
from behaviour.source import Span


@dataclass(slots=True)
class Owners:
    """The region that sets each output and counter, and where it first does."""

    first: dict[str, tuple[str, Span]] = field(default_factory=dict)

    def claim(self, names: Names, word: Word, region: str) -> None:
        """Let a region set something; report it if another one does already."""
        owner, span = self.first.setdefault(word.text, (region, word.span))
        if owner == region:
            return
        names.reading.mistakes.add_once(
            ("owner", word.text, region),
            word.span,
            f"`{word.text}` is set by `{owner}` already, and by `{region}` here",
            label=f"set by `{region}`",
            hint=f"one region owns each output and counter: let `{owner}` follow `{region}`, as in "
            f"`when: {region} in STATE`",
            related=(Label(span, f"first set by `{owner}`"),),
        )


@dataclass(frozen=True, slots=True)
class _Scope:
    """What is at hand for every part of one region."""

    names: Names
    counters: Mapping[str, model.Counter]
    owners: Owners
    states: States
    flat: tuple[FlatState, ...]
    numbers: Mapping[tuple[int | None, model.Part, int], int]

    @property
    def region(self) -> str:
        return self.states.region

    def place(self, source: int | None) -> str:
        """Name a state, or the region itself, for what is left unknown there."""
        if source is None:
            return self.region
        return self.names.reading.place(self.region, self.states.names[source])


def resolve_region(
    names: Names,
    counters: Mapping[str, model.Counter],
    owners: Owners,
    region: syntax.Region,
    flat: tuple[FlatState, ...],
) -> model.Region:
    """Make one region, as far as it can be; what is wrong in it is reported."""
    states = states_of(region, flat)
    scope = _Scope(names, counters, owners, states, flat, _numbers(region, flat))
    begins = _begins(scope, region.begins, None)
    found = _numbered(tuple(_state(scope, state) for state in flat), len(scope.numbers))
    _check_lockouts(scope, found)
    _check_moves(scope, found)
    return model.Region(
        name=region.name.text,
        begins=begins or 0,
        states=found,
        interlocks=_transitions(scope, region.interlocks, None),
        about=region.about,
        span=region.name.span,
    )


def _numbers(
    region: syntax.Region, flat: tuple[FlatState, ...]
) -> dict[tuple[int | None, model.Part, int], int]:
    """Give each transition of a region a number, in the order of the file."""
    groups: list[tuple[int | None, tuple[syntax.Transition, ...]]] = [(None, region.interlocks)]
    for item in flat:
        state = item.state
        end = () if state.end is None else (state.end,)
        groups += [(item.number, part) for part in (state.interlocks, state.leave, end)]
    written = [
        ((source, transition.part, index), transition.span)
        for source, group in groups
        for index, transition in enumerate(group)
    ]
    written.sort(key=lambda item: item[1])
    return {key: number for number, (key, _) in enumerate(written)}


def _begins(scope: _Scope, word: Word | None, of: int | None) -> int | None:
    """Find the state in which a region or state begins, one of those directly in it."""
    if word is None:
        return None
    direct = [item.number for item in scope.flat if item.parent is None]
    if of is not None:
        direct = list(scope.flat[of].children)
    number = next((child for child in direct if scope.states.names[child] == word.text), None)
    if number is None:
        number = find_state(scope.names, scope.states, word)
    if number is not None and scope.states.parents[number] != of:
        owner = scope.region if of is None else scope.states.names[of]
        scope.names.reading.mistakes.add(
            word.span,
            f"`{word.text}` does not stand directly in `{owner}`",
            label="cannot begin here",
            hint="`begins` names one of the states beside it; an inner one has its own `begins`",
        )
    return number


def _state(scope: _Scope, flat: FlatState) -> model.State:
    state = flat.state
    for word in state.ignores:
        named = scope.names.find(word, (Kind.INPUT,))
        if named is not None and named.kind is not Kind.INPUT:
            hint = "`ignores` names inputs that are meant not to be answered"
            _refuse(scope, word, named, "only an input can be ignored", hint)
    end = () if state.end is None else (state.end,)
    return model.State(
        number=flat.number,
        name=state.name.text,
        parent=flat.parent,
        children=flat.children,
        begins=_begins(scope, state.begins, flat.number),
        sets=_settings(scope, state.sets),
        leave=_transitions(scope, state.leave, flat.number),
        interlocks=_transitions(scope, state.interlocks, flat.number),
        cues=tuple(_cue(scope, cue) for cue in state.cues),
        end=next(iter(_transitions(scope, end, flat.number)), None),
        ignores=tuple(word.text for word in state.ignores),
        lockout=state.lockout,
        about=state.about,
        operator=state.operator,
        span=state.name.span,
    )


def _cue(scope: _Scope, cue: syntax.Cue) -> model.Cue:
    sets = _settings(scope, cue.sets)
    return model.Cue(at=cue.at or 0, sets=sets, about=cue.about, span=cue.span)


# --- What is set --------------------------------------------------------------------------------


def _settings(scope: _Scope, settings: tuple[syntax.Setting, ...]) -> tuple[model.Setting, ...]:
    found = []
    for setting in settings:
        named = scope.names.find(setting.output, (Kind.OUTPUT,))
        if named is None:
            continue
        if named.kind is not Kind.OUTPUT:
            hint = "people and the mechanism move an input; the prop looks at it"
            if named.kind is Kind.COUNTER:
                hint = f"write `do: set {setting.output.text} to {setting.value.text}`"
            _refuse(scope, setting.output, named, "`set` is for outputs", hint)
            continue
        scope.owners.claim(scope.names, setting.output, scope.region)
        if named.values is None:
            continue
        name, value = setting.output.text, setting.value
        if known_value(scope.names.reading, value, name, named.values):
            move = None
            if setting.amount is not None:
                move = resolve_move(scope.names, setting, named.output)
            found.append(model.Setting(name, value.text, setting.span, move))
    return tuple(found)


def _numbered(states: tuple[model.State, ...], first: int) -> tuple[model.State, ...]:
    """Give the moves of a region their numbers, after those of its transitions."""
    numbers, found = count(first), []
    for state in states:
        sets = (
            each
            if each.move is None
            else replace(each, move=replace(each.move, number=next(numbers)))
            for each in state.sets
        )
        found.append(replace(state, sets=tuple(sets)))
    return tuple(found)


def _check_moves(scope: _Scope, states: tuple[model.State, ...]) -> None:
    """Report what is set inside a state that moves it by distance: the move would not be whole."""
    for state in states:
        moves = [setting for setting in state.sets if setting.move is not None]
        if not moves:
            continue
        inside = [each for each in states if state.number in _path(states, each.number)]
        inner = [s for each in inside for cue in each.cues for s in cue.sets]
        inner += [s for each in inside if each is not state for s in each.sets]
        for setting in moves:
            other = next((each for each in inner if each.output == setting.output), None)
            if other is not None:
                scope.names.reading.mistakes.add(
                    other.span,
                    f"`{state.name}` moves `{setting.output}` by distance, and this sets it anew",
                    label="would break the move",
                    related=(Label(setting.span, "the move"),),
                    hint="let the move have a state of its own",
                )


def _refuse(scope: _Scope, word: Word, named: Named, why: str, hint: str) -> None:
    message = f"`{word.text}` is {with_article(named.kind.value)}, and {why}"
    scope.names.reading.mistakes.add(word.span, message, label="not here", hint=hint)


# --- Ways on ------------------------------------------------------------------------------------


def _transitions(
    scope: _Scope, transitions: tuple[syntax.Transition, ...], source: int | None
) -> tuple[model.Transition, ...]:
    place = Place(scope.names, Where.REGION, scope.place(source), scope.region)
    found = []
    for index, written in enumerate(transitions):
        when = None if written.when is None else resolve_condition(place, written.when)
        does = [_action(scope, action) for action in written.does]
        found.append(
            model.Transition(
                number=scope.numbers[source, written.part, index],
                part=written.part,
                source=source,
                when=when,
                after=written.after,
                does=tuple(action for action in does if action is not None),
                target=_target(scope, written.go, source),
                about=written.about,
                span=written.span,
            )
        )
    return tuple(found)


def _target(scope: _Scope, go: Word | None, source: int | None) -> int | model.Unknown | None:
    if go is None or go.text == STAY:
        return None
    if go.text == UNKNOWN:
        return scope.names.reading.unknown(f"{scope.place(source)}.go", go.span)
    return find_state(scope.names, scope.states, go)


def _action(scope: _Scope, action: syntax.Action) -> model.Action | None:
    reading = scope.names.reading
    named = scope.names.find(action.counter, (Kind.COUNTER,))
    match action:
        case syntax.AddTo():
            number = whole_of(reading, action.amount)
        case syntax.SetTo():
            number = whole_of(reading, action.value)
        case _:
            assert_never(action)
    if named is None:
        return None
    name = action.counter.text
    if named.kind is not Kind.COUNTER:
        hint = f"write `set: {{{name}: VALUE}}`" if named.kind is Kind.OUTPUT else ""
        _refuse(scope, action.counter, named, "`do` is for counters", hint)
        return None
    scope.owners.claim(scope.names, action.counter, scope.region)
    if number is None:
        return None
    if isinstance(action, syntax.AddTo):
        return model.AddTo(name, action.sign * number, action.span)
    counter = scope.counters.get(name)
    if counter is not None and not counter.low <= number <= counter.high:
        message = f"`{name}` counts from {counter.low} to {counter.high}, and cannot be {number}"
        related = (Label(counter.span, "its range"),)
        reading.mistakes.add(action.value.span, message, label="out of range", related=related)
    return model.SetTo(name, number, action.span)


# --- Lockouts -----------------------------------------------------------------------------------


def _check_lockouts(scope: _Scope, states: tuple[model.State, ...]) -> None:
    """Report what would leave a lockout, and a hazard that is driven in one."""
    for state in states:
        path = _path(states, state.number)
        around = [states[number] for number in path]
        lockout = next((outer for outer in around if outer.lockout), None)
        if lockout is None:
            continue
        inside = {n.number for n in states if lockout.number in _path(states, n.number)[:-1]}
        for way in (*state.interlocks, *state.leave, *(() if state.end is None else (state.end,))):
            if isinstance(way.target, int) and way.target not in inside and state is not lockout:
                scope.names.reading.mistakes.add(
                    way.span,
                    f"nothing leaves the lockout `{lockout.name}` but a power cycle",
                    label="would leave it",
                    related=(Label(lockout.span, "the lockout"),),
                    hint="go to a state inside it, or take this out",
                )
        _check_hazards(scope, lockout, around)


def _check_hazards(scope: _Scope, lockout: model.State, around: list[model.State]) -> None:
    sets: dict[str, model.Setting] = {}
    for state in around:
        sets.update({setting.output: setting for setting in state.sets})
    driven = [*sets.values(), *(setting for cue in around[-1].cues for setting in cue.sets)]
    for setting in driven:
        output = scope.names.by_name[setting.output].output
        if output is not None and output.hazard and setting.value != output.rest:
            scope.names.reading.mistakes.add(
                setting.span,
                f"`{output.name}` is a hazard, and the lockout `{lockout.name}` may drive none",
                label=f"not `{output.rest}` in a lockout",
                related=(Label(lockout.span, "the lockout"),),
                hint=f"leave it at rest, or set it to `{output.rest}`",
            )


def _path(states: tuple[model.State, ...], number: int) -> list[int]:
    found: list[int] = []
    at: int | None = number
    while at is not None:
        found.append(at)
        at = states[at].parent
    return found[::-1]
