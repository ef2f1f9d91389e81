"""Which parts of the language a model uses, by short names. It judges nothing."""

from collections.abc import Iterator

from behaviour.model import (
    AddTo,
    Always,
    And,
    AtLeast,
    AtMost,
    Becomes,
    Compare,
    Condition,
    Count,
    First,
    HeldFor,
    InState,
    Is,
    Model,
    Never,
    Not,
    Or,
    Rate,
    Role,
    Rule,
    State,
    Transition,
    WayBack,
    Whenever,
)

EVERY_PART = {
    "about", "after at random", "analogue levels", "and", "at all times", "at most", "becomes",
    "begins: any", "boot", "brackets", "contact and pushed", "controller", "counter compared",
    "cues with an end", "do: add", "do: set", "draws", "drive", "excused in a place", "fade",
    "gives", "go: stay", "hazard: no", "held for", "ignores", "inner interlocks", "keeps", "least",
    "lockout", "low", "nested states", "neither", "never", "never for", "not",
    "not in", "on_when: low", "operator", "or", "parent's after", "pause", "pins of an output",
    "pins of a selector", "power", "pull", "pulse and gap", "reaction", "region in state",
    "rest that is not first", "role: guard", "role: hold_to_run", "role: mode", "role: reset",
    "role: start", "role: stop", "settings", "show", "silent", "two guards", "two regions",
    "turns: other way", "unplugged", "walkthroughs", "watchdog", "way back", "when and after",
    "whenever within", "window", "at least", "count", "count per", "count since", "first",
    "first since", "once begun", "only while", "up to", "whenever",
}  # fmt: skip


def parts_used(model: Model) -> Iterator[str]:
    """Name the parts that a model uses, each as often as it uses it."""
    yield from _parts_of_the_whole(model)
    yield from _parts_of_inputs(model)
    yield from _parts_of_outputs(model)
    for region in model.regions:
        for state in region.states:
            yield from _parts_of_a_state(state)
        for way in region.transitions():
            yield from _parts_of_a_way(way)
    for rule in model.rules:
        yield from _parts_of_a_rule(rule)


def _parts_of_a_rule(rule: Rule) -> Iterator[str]:
    if rule.scope is not None:
        yield rule.scope.kind.value
    match rule.requirement:
        case Never(condition=condition, limit=limit):
            yield "never" if limit is None else "never for"
            yield from _parts_of_a_condition(condition)
        case Always(condition=condition):
            yield "at all times"
            yield from _parts_of_a_condition(condition)
        case AtMost():
            yield "at most"
        case AtLeast():
            yield "at least"
        case First(since=since):
            yield "first" if since is None else "first since"
        case Count(since=since):
            yield "count" if since is None else "count since"
        case Rate():
            yield "count per"
        case Whenever(trigger=trigger, response=response, limit=limit):
            yield "whenever" if limit is None else "whenever within"
            yield from _parts_of_a_condition(trigger)
            yield from _parts_of_a_condition(response)
        case WayBack():
            yield "way back"


def _parts_of_the_whole(model: Model) -> Iterator[str]:
    written = {
        "boot": model.boot, "controller": model.controller, "drive": model.drives,
        "power": model.power, "reaction": model.reaction, "settings": model.settings,
        "show": model.show, "walkthroughs": model.walkthroughs, "watchdog": model.watchdog,
    }  # fmt: skip
    yield from (name for name, value in written.items() if value)
    if len(model.regions) > 1:
        yield "two regions"
    if any(excuse.region is not None for excuse in model.excused):
        yield "excused in a place"
    for mechanism in model.mechanism:
        if mechanism.begins is None:
            yield "begins: any"
        if any(movement.low != movement.high for movement in mechanism.movements()):
            yield "window"


def _parts_of_inputs(model: Model) -> Iterator[str]:
    if sum(item.role is Role.GUARD for item in model.inputs) > 1:
        yield "two guards"
    for item in model.inputs:
        wiring = item.wiring
        if item.role is not None:
            yield f"role: {item.role.value}"
        if wiring.pins:
            yield "pins of a selector"
        if wiring.contact is not None and wiring.pushed is not None:
            yield "contact and pushed"
        written = {
            "analogue levels": wiring.levels, "low": wiring.low, "pull": wiring.pull,
            "silent": wiring.silent, "unplugged": item.unplugged, "about": item.about,
        }  # fmt: skip
        yield from (name for name, value in written.items() if value)


def _parts_of_outputs(model: Model) -> Iterator[str]:
    for item in model.outputs:
        wiring = item.wiring
        if item.rest != item.values[0]:
            yield "rest that is not first"
        if item.kind == "servo" and not item.hazard:
            yield "hazard: no"
        if wiring.on_when == "low":
            yield "on_when: low"
        if wiring.turns == "other way":
            yield "turns: other way"
        if wiring.draws is not None:
            yield "draws"
        if wiring.pulse and wiring.gap:
            yield "pulse and gap"
        written = {
            "fade": wiring.fade, "gives": wiring.gives, "keeps": item.keeps, "least": item.least,
            "pause": item.pause, "pins of an output": wiring.pins,
        }  # fmt: skip
        yield from (name for name, value in written.items() if value)


def _parts_of_a_state(state: State) -> Iterator[str]:
    if state.cues and state.end is not None:
        yield "cues with an end"
    if state.children and any(way.after for way in state.leave):
        yield "parent's after"
    written = {
        "ignores": state.ignores, "inner interlocks": state.interlocks, "lockout": state.lockout,
        "nested states": state.children, "operator": state.operator,
    }  # fmt: skip
    yield from (name for name, value in written.items() if value)


def _parts_of_a_way(way: Transition) -> Iterator[str]:
    if way.target is None:
        yield "go: stay"
    if way.after is not None and way.after.low != way.after.high:
        yield "after at random"
    if way.when is not None and way.after is not None:
        yield "when and after"
    for action in way.does:
        yield "do: add" if isinstance(action, AddTo) else "do: set"
    if way.when is not None:
        yield from _parts_of_a_condition(way.when)


def _parts_of_a_condition(condition: Condition) -> Iterator[str]:
    match condition:
        case And(parts=parts) | Or(parts=parts):
            yield "and" if isinstance(condition, And) else "or"
            for part in parts:
                if isinstance(part, And | Or):
                    yield "brackets"
                yield from _parts_of_a_condition(part)
        case Not(part=part):
            yield "not"
            yield from _parts_of_a_condition(part)
        case Becomes():
            yield "becomes"
        case HeldFor():
            yield "held for"
        case Compare():
            yield "counter compared"
        case InState(negated=negated):
            yield "not in" if negated else "region in state"
        case Is(values=values, negated=negated):
            if negated and len(values) > 1:
                yield "neither"
