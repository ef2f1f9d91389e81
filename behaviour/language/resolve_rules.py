"""Looks up the names in rules, excuses and walkthroughs, and makes those of the model.

It knows nothing of how a rule is judged or a walkthrough run.
"""

from typing import assert_never

from behaviour import model
from behaviour.language import syntax
from behaviour.language.fields import known_value
from behaviour.language.phrases import with_article
from behaviour.language.resolve_conditions import Place, Where, find_state, resolve_condition
from behaviour.language.resolve_names import Kind, Named, Names
from behaviour.language.syntax import Word
from behaviour.language.values import time_of


def resolve_rule(names: Names, rule: syntax.Rule) -> model.Rule | None:
    """Make one rule; None where this release does not judge it or something in it is wrong."""
    place = Place(names, Where.RULE, rule.name.text)
    found: dict[str, model.Condition] = {}
    for key, condition in rule.conditions:
        whole = None if condition is None else resolve_condition(place, condition)
        if whole is not None:
            found[key] = whole
    requirement = _requirement(rule, found)
    if requirement is None:
        return None
    scopes = [kind for kind in model.ScopeKind if kind.value in dict(rule.conditions)]
    scope = None
    if scopes:
        within = found.get(scopes[0].value)
        if within is None:
            return None
        scope = model.Scope(kind=scopes[0], condition=within)
    return model.Rule(
        name=rule.name.text,
        requirement=requirement,
        scope=scope,
        because=rule.because,
        span=rule.span,
    )


def _requirement(rule: syntax.Rule, found: dict[str, model.Condition]) -> model.Requirement | None:
    lead = None if rule.kind is None else found.get(rule.kind)
    if lead is None:
        return None
    match rule.kind:
        case "never":
            return model.Never(condition=lead, limit=rule.limit)
        case "at all times":
            return model.Always(condition=lead)
        case "way back":
            return model.WayBack(condition=lead)
        case "while" if rule.limit is not None:
            return _lasting(rule, lead, rule.limit)
        case "whenever" if (response := found.get("then")) is not None:
            return model.Whenever(trigger=lead, response=response, limit=rule.limit)
        case "first" if (before := found.get("before")) is not None and _has_since(rule, found):
            return model.First(condition=lead, before=before, since=found.get("since"))
        case "count" if rule.most is not None and _has_since(rule, found):
            if rule.limit is not None:
                return model.Rate(condition=lead, most=rule.most, limit=rule.limit)
            return model.Count(condition=lead, most=rule.most, since=found.get("since"))
        case _:
            return None


def _lasting(rule: syntax.Rule, lead: model.Condition, limit: model.Time) -> model.Requirement:
    if rule.at_least:
        return model.AtLeast(condition=lead, limit=limit)
    return model.AtMost(condition=lead, limit=limit)


def _has_since(rule: syntax.Rule, found: dict[str, model.Condition]) -> bool:
    """Tell whether `since` is whole, or not there at all."""
    return "since" in found or "since" not in dict(rule.conditions)


def resolve_excuse(names: Names, excuse: syntax.Excuse) -> model.Excuse | None:
    """Make one excuse, scoped to a region or a state where it names one."""
    if excuse.place is None:
        return model.Excuse(check=excuse.check, because=excuse.because, span=excuse.span)
    region, dot, path = excuse.place.text.partition(".")
    named = names.find(Word(region, excuse.place.span), (Kind.REGION, Kind.MECHANISM))
    if named is None:
        return None
    if named.states is None:
        message = f"`{region}` is {with_article(named.kind.value)}, and has no states"
        hint = "write a region, or a state as `carousel.turn`"
        names.reading.mistakes.add(excuse.place.span, message, label="not here", hint=hint)
        return None
    state = find_state(names, named.states, Word(path, excuse.place.span)) if dot else None
    return model.Excuse(
        check=excuse.check,
        because=excuse.because,
        region=region,
        state=state,
        span=excuse.span,
    )


# --- Walkthroughs -------------------------------------------------------------------------------


def resolve_walkthrough(names: Names, walkthrough: syntax.Walkthrough) -> model.Walkthrough:
    """Make one walkthrough, as far as it can be; what is wrong in it is reported."""
    steps = [resolve_step(names, walkthrough.name.text, step) for step in walkthrough.steps]
    return model.Walkthrough(
        name=walkthrough.name.text,
        steps=tuple(step for step in steps if step is not None),
        span=walkthrough.name.span,
    )


def resolve_step(names: Names, walkthrough: str, step: syntax.Step) -> model.WalkStep | None:
    """Make one step of a walkthrough; what is wrong in it is reported."""
    match step:
        case syntax.Press():
            return _press(names, step)
        case syntax.Change():
            return _change(names, step)
        case syntax.Pause(time=word, span=span):
            time = _time(names, word)
            return None if time is None else model.Pause(time=time, span=span)
        case syntax.See(condition=condition, within=within, span=span):
            place = Place(names, Where.SEE, walkthrough)
            whole = resolve_condition(place, condition)
            limit = None if within is None else _time(names, within)
            if whole is None or (within is not None and limit is None):
                return None
            return model.See(condition=whole, within=limit, span=span)
        case syntax.Restart(span=span):
            return model.Restart(span=span)
        case _:
            assert_never(step)


def _press(names: Names, step: syntax.Press) -> model.Change | None:
    named = _input(names, step.button)
    if named is None or named.input is None:
        return None
    name = step.button.text
    if named.input.kind != "button":
        verb = "press" if step.value == "pressed" else "release"
        names.reading.mistakes.add(
            step.button.span,
            f"`{name}` is a {named.input.kind}, and only a button is pressed or released",
            label=f"`{verb}` is for buttons",
            hint=f"write `{name} becomes {named.input.values[-1]}`",
        )
        return None
    return model.Change(input=name, value=step.value, span=step.span)


def _change(names: Names, step: syntax.Change) -> model.Change | None:
    named = _input(names, step.input)
    if named is None or named.values is None:
        return None
    if not known_value(names.reading, step.value, step.input.text, named.values):
        return None
    return model.Change(input=step.input.text, value=step.value.text, span=step.span)


def _input(names: Names, word: Word) -> Named | None:
    named = names.find(word, (Kind.INPUT,))
    if named is None or named.kind is Kind.INPUT:
        return named
    message = f"`{word.text}` is {with_article(named.kind.value)}, and a step moves inputs"
    hint = f"write `see {word.text} ...` to look at it"
    names.reading.mistakes.add(word.span, message, label="not an input", hint=hint)
    return None


def _time(names: Names, word: Word) -> model.Micros | None:
    """Read a time of a step, which is told and run, and so cannot be left open."""
    time = time_of(names.reading, word, "walkthrough")
    if not isinstance(time, model.Unknown):
        return time
    hint = "write the time that you expect"
    message = "a time of a walkthrough cannot be left open"
    names.reading.mistakes.add(word.span, message, label="a time is needed here", hint=hint)
    return None
