"""Reads sentences on rules, excuses and walkthroughs back into their parts."""

import re

from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Change,
    Count,
    Excuse,
    First,
    Never,
    Pause,
    Rate,
    Requirement,
    Restart,
    Rule,
    Scope,
    ScopeKind,
    See,
    WalkStep,
    Walkthrough,
    WayBack,
    Whenever,
)
from tests.tell.clauses import QUOTE, THING, TIME, Clauses, time_in, unquoted

SCOPES = {
    "Only while ": ScopeKind.ONLY_WHILE,
    "From the first time on that ": ScopeKind.ONCE_BEGUN,
    "Until for the first time ": ScopeKind.UP_TO,
}


def read_rule(clauses: Clauses, line: str) -> Rule:
    """Read one rule with its name, its scope and why it is asked."""
    found = re.fullmatch(rf"{QUOTE}: (.*?)\.(?: Because {QUOTE})?", line)
    assert found, line
    name, says, because = found.groups()
    scope = None
    for words, kind in SCOPES.items():
        if says.startswith(words):
            condition, _, says = says.removeprefix(words).partition(": ")
            scope = Scope(kind=kind, condition=clauses.read(condition))
    requirement = _requirement(clauses, says[0].upper() + says[1:])
    return Rule(
        name=unquoted(name),
        requirement=requirement,
        scope=scope,
        because=unquoted(because or ""),
    )


def _requirement(clauses: Clauses, says: str) -> Requirement:
    head, _, last = says.rpartition(": ")
    this = clauses.read(last)
    if found := re.fullmatch(r"Whenever (.*), this must follow (sooner or later|within .*)", head):
        limit = None if found[2] == "sooner or later" else time_in(found[2].removeprefix("within "))
        return Whenever(trigger=clauses.read(found[1]), response=this, limit=limit)
    if found := re.fullmatch(
        r"Not before (.*?)(?:, and anew each time that (.*),)? may this be so", head
    ):
        since = None if found[2] is None else clauses.read(found[2])
        return First(condition=clauses.read(found[1]), before=this, since=since)
    if head == "This must never be so":
        return Never(condition=this)
    if found := re.fullmatch(
        rf"This must never last longer than ({TIME}), sensing counted in", head
    ):
        return Never(condition=this, limit=time_in(found[1]))
    if head == "This must be so at all times":
        return Always(condition=this)
    if found := re.fullmatch(rf"This may last at most ({TIME}) at a stretch", head):
        return AtMost(condition=this, limit=time_in(found[1]))
    if found := re.fullmatch(rf"This must last at least ({TIME}) each time", head):
        return AtLeast(condition=this, limit=time_in(found[1]))
    if found := re.fullmatch(
        r"This may begin at most (once|\d+ times)(?:, counted anew each time that (.*))?", head
    ):
        since = None if found[2] is None else clauses.read(found[2])
        return Count(condition=this, most=_times(found[1]), since=since)
    if found := re.fullmatch(
        rf"This may begin at most (once|\d+ times) in less than ({TIME})", head
    ):
        return Rate(condition=this, most=_times(found[1]), limit=time_in(found[2]))
    assert head == "There must always be a way to this", says
    return WayBack(condition=this)


def _times(text: str) -> int:
    return 1 if text == "once" else int(text.split(maxsplit=1)[0])


def read_excuse(clauses: Clauses, line: str) -> Excuse:
    found = re.fullmatch(rf"`([\w-]+)` is excused(?: in `([\w.]+)`)?: {QUOTE}", line)
    assert found, line
    check, where, because = found.groups()
    region, _, state = (where or "").partition(".")
    return Excuse(
        check=check,
        because=unquoted(because),
        region=region or None,
        state=clauses.states[region, state] if state else None,
    )


def read_walkthrough(clauses: Clauses, line: str) -> Walkthrough:
    found = re.fullmatch(rf"{QUOTE}: (.*)\.", line)
    assert found, line
    steps = tuple(_step(clauses, each) for each in found[2].split("; "))
    return Walkthrough(name=unquoted(found[1]), steps=steps)


def _step(clauses: Clauses, text: str) -> WalkStep:
    if text == "switch off and on again":
        return Restart()
    if found := re.fullmatch(rf"(press|release) {THING}", text):
        return Change(input=found[2], value=f"{found[1].removesuffix('e')}ed")
    if found := re.fullmatch(rf"{THING} becomes (\w+)", text):
        return Change(input=found[1], value=found[2])
    if found := re.fullmatch(rf"wait ({TIME})", text):
        return Pause(time=_known(found[1]))
    found = re.fullmatch(rf"see(?: within ({TIME}))? that (.*)", text)
    assert found, text
    within = None if found[1] is None else _known(found[1])
    return See(condition=clauses.read(found[2]), within=within)


def _known(text: str) -> int:
    time = time_in(text)
    assert isinstance(time, int)
    return time
