"""Where a broken rule is to be mended: the place in the file, what to say there, what to change.

It looks at the end of one run, and searches nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from behaviour.explore.guards import atoms
from behaviour.findings import Label
from behaviour.model import (
    Always,
    And,
    AtLeast,
    AtMost,
    Atom,
    Becomes,
    Condition,
    Count,
    First,
    HeldFor,
    Input,
    InState,
    Is,
    Model,
    Never,
    Output,
    Rate,
    Region,
    Requirement,
    Rule,
    Setting,
    Transition,
    WayBack,
    Whenever,
)
from behaviour.semantics import candidates
from behaviour.source import Span
from behaviour.story import LoopView
from behaviour.wording import condition_words, time_words, times


@dataclass(frozen=True, slots=True)
class Pointed:
    """The place in the file that a finding marks, and what is said of it."""

    at: Label
    hint: str
    related: tuple[Label, ...] = ()
    place: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Driven:
    """What drives an output at the end of a run, and the state that it does so in."""

    output: Output
    setting: Setting
    region: Region
    leaf: int
    cue: int


def point(model: Model, rule: Rule, last: LoopView) -> Pointed:
    """Mark what drives an output that a rule is about, or else the rule itself."""
    match rule.requirement:
        case Never(condition=condition) | AtMost(condition=condition):
            for output in _away(model, condition, last):
                driven = _driven(model, output, last)
                if driven is not None:
                    return _at_setting(model, rule, condition, driven)
                if output.keeps:
                    return _at_kept(rule, output)
            hint = "a way out of the state that it holds in, or a condition on the way into it"
            return Pointed(Label(rule.span, "this can come about"), hint)
        case Always(condition=condition):
            words = condition_words(model, condition)
            hint = (
                f"what the state sets at the end of this story, so that `{words}` holds there too"
            )
            return Pointed(Label(rule.span, "this can fail"), hint)
        case Whenever(trigger=trigger):
            label = "the answer can come too late, or not at all"
            words = condition_words(model, trigger)
            hint = (
                f"an answer in every state in which `{words}` can come, above what waits for a time"
            )
            return Pointed(Label(rule.span, label), hint)
        case AtLeast(condition=condition, limit=limit):
            words = condition_words(model, condition)
            hint = f"what ends `{words}` waits until {time_words(limit)} are over"
            return Pointed(Label(rule.span, "this can be over too soon"), hint)
        case First(condition=condition, before=before):
            first, second = condition_words(model, condition), condition_words(model, before)
            hint = f"`{first}` as a condition on every way to `{second}`"
            return Pointed(Label(rule.span, "this can come too late, or not at all"), hint)
        case Count(condition=condition) | Rate(condition=condition):
            words = condition_words(model, condition)
            hint = f"a condition or a time that keeps `{words}` from coming once more"
            return Pointed(Label(rule.span, "this can come too often"), hint)
        case WayBack(condition=condition):
            words = condition_words(model, condition)
            hint = f"a transition, or what one does, that makes `{words}` possible again"
            return Pointed(Label(rule.span, "this can get out of reach"), hint)


def requirement_words(model: Model, requirement: Requirement) -> str:
    """Say in one sentence what goes wrong when a requirement is broken."""
    match requirement:
        case Never(condition=condition, limit=None):
            return f"`{condition_words(model, condition)}` can come about"
        case Always(condition=condition):
            return f"`{condition_words(model, condition)}` can fail"
        case Whenever(trigger=trigger, response=response, limit=limit):
            asked, answer = condition_words(model, trigger), condition_words(model, response)
            if limit is None:
                return f"`{asked}` can come, and `{answer}` never after it"
            return f"`{asked}` can come, and `{answer}` not within {time_words(limit)} of it"
        case AtLeast(condition=condition, limit=limit):
            return f"`{condition_words(model, condition)}` can end sooner than {time_words(limit)}"
        case First(condition=condition, before=before, since=since):
            first, second = condition_words(model, condition), condition_words(model, before)
            anew = "" if since is None else f" since `{condition_words(model, since)}` last began"
            return f"`{second}` can come while `{first}` has not been{anew}"
        case Count(condition=condition, most=most, since=since):
            anew = "" if since is None else f" since `{condition_words(model, since)}` last began"
            return f"`{condition_words(model, condition)}` can begin more than {times(most)}{anew}"
        case Rate(condition=condition, most=most, limit=limit):
            words = condition_words(model, condition)
            return f"`{words}` can begin more than {times(most)} in less than {time_words(limit)}"
        case WayBack(condition=condition):
            return f"`{condition_words(model, condition)}` can get out of reach for good"
        case Never(condition=condition, limit=limit) | AtMost(condition=condition, limit=limit):
            allowed = "" if limit is None else time_words(limit)
            return f"`{condition_words(model, condition)}` can hold for longer than {allowed}"


# --- What a role asks of a hazard ---------------------------------------------------------------


def point_at_hazard(
    model: Model, output: Output, item: Input, value: str, last: LoopView
) -> Pointed:
    """Mark what drives a hazard while a guard or stop is not safe."""
    is_away, is_unsafe = Is(output.name, (output.rest,), negated=True), Is(item.name, (value,))
    rule = Rule(
        name=item.name, requirement=Never(condition=And((is_away, is_unsafe))), span=item.span
    )
    pointed = point(model, rule, last)
    if pointed.at.span == item.span:
        return Pointed(
            Label(item.span, f"`{output.name}` is to rest while this is not safe"), pointed.hint
        )
    return replace(pointed, related=(Label(item.span, "the input that asks for it"),))


def point_at_start(
    model: Model, output: Output, starts: Sequence[Input], last: LoopView
) -> Pointed:
    """Mark the way that started a hazard in the last loop, or else what drives it."""
    presses = " or ".join(f"`{item.name} becomes {item.values[1]}`" for item in starts)
    hint = (
        f"ask for {presses} on the way that starts it, with every stop, guard and reset at rest in "
        "that loop, and wait for nothing after the press that these could interrupt"
    )
    if output.name not in model.owner:
        return Pointed(Label(output.span, f"`{output.name}` starts, and nothing drives it"), hint)
    region = model.region[model.owner[output.name]]
    now = last.state.regions[model.region_index[region.name]]
    place = (region.name, region.states[now.leaf].name)
    way = None if now.fired is None else now.fired.transition
    driven = _driven(model, output, last)
    if way is not None:
        return Pointed(Label(way.span, f"this can start `{output.name}` unasked"), hint, (), place)
    span = output.span if driven is None else driven.setting.span
    return Pointed(Label(span, f"`{output.name}` starts here"), hint, (), place)


def point_at_self_start(model: Model, output: Output, cause: Span, last: LoopView) -> Pointed:
    """Mark what starts a hazard with nobody having asked for it, and what it comes after."""
    pointed = point_at_start(model, output, (), last)
    label = Label(pointed.at.span, f"this starts `{output.name}` by itself")
    hint = "a `becomes` of a start on the way that starts it, or a state before it that waits"
    related = () if cause == pointed.at.span else (Label(cause, "what it comes after"),)
    return Pointed(label, hint, related, pointed.place)


def point_at_reset(model: Model, region: Region, reset: Input, last: LoopView) -> Pointed:
    """Mark the way that a region takes in the last loop because a reset reads pressed."""
    now = last.state.regions[model.region_index[region.name]]
    way = None if now.fired is None else now.fired.transition
    hint = f"ask for `{reset.name} becomes {reset.values[0]}`"
    span = reset.span if way is None else way.span
    place = (region.name, region.states[now.leaf].name)
    return Pointed(Label(span, "this is taken on the press"), hint, (), place)


# --- What drives an output ----------------------------------------------------------------------


def _away(model: Model, condition: Condition, last: LoopView) -> list[Output]:
    """List the outputs of a condition that are away from rest, hazards first."""
    named = [atom.name for atom in atoms(condition) if isinstance(atom, Is | Becomes)]
    outputs = [model.output[name] for name in dict.fromkeys(named) if name in model.output]
    given = last.state.outputs
    away = [each for each in outputs if given[model.output_index[each.name]] != each.rest]
    return sorted(away, key=lambda each: not each.hazard)


def _driven(model: Model, output: Output, last: LoopView) -> Driven | None:
    """Find what sets an output in the state that a loop leaves its region in."""
    if output.name not in model.owner:
        return None
    region = model.region[model.owner[output.name]]
    now = last.state.regions[model.region_index[region.name]]
    setting = _setting(region, now.leaf, now.cue, output.name)
    return None if setting is None else Driven(output, setting, region, now.leaf, now.cue)


def _setting(region: Region, leaf: int, cue: int, output: str) -> Setting | None:
    """Find what sets an output in a state: what is inner wins, and the last cue that has come."""
    given = [setting for state in region.path(leaf) for setting in region.states[state].sets]
    given += [setting for done in region.states[leaf].cues[:cue] for setting in done.sets]
    return next((each for each in reversed(given) if each.output == output), None)


def _at_setting(model: Model, rule: Rule, condition: Condition, driven: Driven) -> Pointed:
    output, region = driven.output, driven.region
    unseen = _unseen(model, condition, driven)
    label = f"`{output.name}` is {'driven' if output.hazard else 'set'} here"
    if unseen:
        names = " or ".join(f"`{atom.name}`" for atom in unseen)
        label += f", and nothing in this state looks at {names}"
    return Pointed(
        Label(driven.setting.span, label),
        _hint(model, rule.requirement, condition, driven, unseen),
        (Label(rule.span, "the rule"),),
        (region.name, region.states[driven.leaf].name),
    )


def _at_kept(rule: Rule, output: Output) -> Pointed:
    return Pointed(
        Label(output.span, "this keeps its last value where no state sets it"),
        f"leave out `keeps: yes`, and `{output.name}` is `{output.rest}` wherever no state sets it",
        (Label(rule.span, "the rule"),),
    )


InputAtom = Is | Becomes | HeldFor


def _unseen(model: Model, condition: Condition, driven: Driven) -> list[InputAtom]:
    """List what a condition asks of inputs that no way out of the state looks at."""
    looked_at = {
        atom.name
        for way in candidates(driven.region, driven.leaf, driven.cue)
        if isinstance(way, Transition)
        for atom in atoms(way.when)
        if isinstance(atom, Is | Becomes | HeldFor)
    }
    found: dict[str, InputAtom] = {}
    for atom in _of_inputs(model, condition):
        if atom.name not in looked_at:
            found.setdefault(atom.name, atom)
    return list(found.values())


def _of_inputs(model: Model, condition: Condition) -> Iterator[InputAtom]:
    for atom in atoms(condition):
        if isinstance(atom, Is | Becomes | HeldFor) and atom.name in model.input:
            yield atom


def _hint(
    model: Model,
    requirement: Requirement,
    condition: Condition,
    driven: Driven,
    unseen: list[InputAtom],
) -> str:
    output, region, state = driven.output, driven.region, driven.region.states[driven.leaf].name
    stops = f"stops `{output.name}`" if output.hazard else f"puts `{output.name}` to rest"
    if unseen and not _others(model, condition, output):
        words = " and ".join(condition_words(model, atom) for atom in unseen)
        return (
            f"an interlock `{{when: {words}, go: ...}}` in `{region.name}` {stops} within one loop"
        )
    match requirement:
        case AtMost(limit=limit) | Never(limit=limit) if limit is not None:
            if _has_time(driven):
                return (
                    f"a shorter time in `{state}`, or one on a state around it, which entering "
                    f"`{state}` again does not start anew"
                )
            return f"a time after which `{state}` is left, at most {time_words(limit)}"
        case _:
            return (
                f"a condition on the way into `{state}`; where two regions are in this, let one "
                "of them own both"
            )


def _others(model: Model, condition: Condition, output: Output) -> list[Atom]:
    """List what a condition asks of other regions' outputs, states and counters."""
    return [
        atom
        for atom in atoms(condition)
        if isinstance(atom, InState) or atom.name not in {*model.input, output.name}
    ]


def _has_time(driven: Driven) -> bool:
    ways = candidates(driven.region, driven.leaf, driven.cue)
    return any(isinstance(way, Transition) and way.after is not None for way in ways)
