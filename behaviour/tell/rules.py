"""Sentences on what is asked of the prop, on what is excused, and on its walkthroughs."""

from typing import assert_never

from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Change,
    Count,
    Excuse,
    First,
    Model,
    Never,
    Pause,
    Rate,
    Restart,
    Rule,
    Scope,
    ScopeKind,
    See,
    WalkStep,
    WayBack,
    Whenever,
)
from behaviour.tell.clauses import clause, states_of, thing, time
from behaviour.tell.sheet import Section, marked, quoted
from behaviour.wording import times

ASKED = "These are asked of the prop. Which of them it keeps, `tablework check` tells."

SCOPES: dict[ScopeKind, str] = {
    ScopeKind.ONLY_WHILE: "Only while",
    ScopeKind.ONCE_BEGUN: "From the first time on that",
    ScopeKind.UP_TO: "Until for the first time",
}


def rules(model: Model) -> Section:
    lines = tuple(_rule(model, rule) for rule in model.rules)
    return Section("What is asked of it", lines, ASKED)


def excuses(model: Model) -> Section:
    lines = tuple(_excuse(model, excuse) for excuse in model.excused)
    return Section("What may be found, and is meant", lines)


def walkthroughs(model: Model) -> Section:
    """Tell each walkthrough as one sentence."""
    lines = tuple(
        f"{quoted(walk.name)}: {'; '.join(_step(model, step) for step in walk.steps)}."
        for walk in model.walkthroughs
    )
    return Section("How it goes, from switching on", lines)


def _rule(model: Model, rule: Rule) -> str:
    scope = "" if rule.scope is None else f"{_scope(model, rule.scope)}: "
    because = f" Because {quoted(rule.because)}" if rule.because else ""
    says = _requirement(model, rule)
    says = f"{scope}{says[0].lower()}{says[1:]}" if scope else says
    return f"{quoted(rule.name)}: {says}.{because}"


def _scope(model: Model, scope: Scope) -> str:
    return f"{SCOPES[scope.kind]} {clause(model, scope.condition)}"


def _requirement(model: Model, rule: Rule) -> str:
    asked = rule.requirement
    match asked:
        case Whenever(trigger=trigger, response=response, limit=limit):
            due = "sooner or later" if limit is None else f"within {time(limit)}"
            told = f"Whenever {clause(model, trigger)}, this must follow {due}"
            return f"{told}: {clause(model, response)}"
        case First(condition=first, before=before, since=since):
            anew = "" if since is None else f", and anew each time that {clause(model, since)},"
            told = f"Not before {clause(model, first)}{anew} may this be so"
            return f"{told}: {clause(model, before)}"
        case _:
            return f"{_bound(model, asked)}: {clause(model, asked.condition)}"


def _bound(model: Model, asked: Never | Always | AtMost | AtLeast | Count | Rate | WayBack) -> str:
    """Say what is asked of `this`, the one condition that stands behind the colon."""
    match asked:
        case Never(limit=limit):
            if limit is None:
                return "This must never be so"
            return f"This must never last longer than {time(limit)}, sensing counted in"
        case Always():
            return "This must be so at all times"
        case AtMost(limit=limit):
            return f"This may last at most {time(limit)} at a stretch"
        case AtLeast(limit=limit):
            return f"This must last at least {time(limit)} each time"
        case Count(most=most, since=since):
            anew = "" if since is None else f", counted anew each time that {clause(model, since)}"
            return f"This may begin at most {times(most)}{anew}"
        case Rate(most=most, limit=limit):
            return f"This may begin at most {times(most)} in less than {time(limit)}"
        case WayBack():
            return "There must always be a way to this"
        case _:
            assert_never(asked)


def _excuse(model: Model, excuse: Excuse) -> str:
    where = ""
    if excuse.region is not None:
        names = [excuse.region]
        if excuse.state is not None:
            names.append(states_of(model, excuse.region).states[excuse.state].name)
        where = f" in {marked('.'.join(names))}"
    return f"{marked(excuse.check)} is excused{where}: {quoted(excuse.because)}"


def _step(model: Model, step: WalkStep) -> str:
    match step:
        case Change(input=name, value=value):
            verb = {"pressed": "press", "released": "release"}.get(value)
            if verb is not None and model.input[name].kind == "button":
                return f"{verb} {thing(model, name)}"
            return f"{thing(model, name)} becomes {value}"
        case Pause(time=lasts):
            return f"wait {time(lasts)}"
        case See(condition=condition, within=within):
            due = "" if within is None else f" within {time(within)}"
            return f"see{due} that {clause(model, condition)}"
        case Restart():
            return "switch off and on again"
        case _:
            assert_never(step)
