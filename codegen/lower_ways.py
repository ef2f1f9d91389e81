"""Transitions and cues of a region as the branches of a chain, in the order of their priority."""

from behaviour.model import Action, AddTo, Part, SetTo, State, Transition
from behaviour.wording import (
    action_words,
    after_words,
    condition_words,
    full_name,
    setting_words,
    time_words,
)
from codegen import module as c
from codegen.conditions import Place, condition_in_c, in_state, not_in_state
from codegen.expressions import ALWAYS, NEVER, Expression, Term, all_of
from codegen.lower_enter import Here, enter_call, target_of, timer_of


def chain(branches: list[c.Branch]) -> c.Chain:
    """Join branches; what can never be taken is left out, and said in a comment."""
    kept: list[c.Branch] = []
    left_out: list[str] = []
    for branch in branches:
        if branch.when == NEVER:
            left_out.append(f"{branch.comment[0]}: left out, this can never be")
        elif kept and kept[-1].when == ALWAYS:
            left_out.append(f"{branch.comment[0]}: left out, what stands before it always is")
        else:
            kept.append(branch)
    return c.Chain(branches=tuple(kept), left_out=tuple(left_out))


def way_branch(here: Here, way: Transition) -> c.Branch:
    """Build the branch of a transition; that its own state is active is left to the switch."""
    when = condition_in_c(here.model, here.names, Place(here.region.name, way.source), way.when)
    body = [line for action in way.does for line in _act(here, action)]
    if way.target is not None:
        body.append(enter_call(here, target_of(way)))
    return c.Branch(
        all_of([when, _due(here, way), _guard(here, way)]), _words(here, way), tuple(body)
    )


def cue_branch(here: Here, state: State, fired: int) -> c.Branch | None:
    """Build the branch of the next cue of a leaf that has fired `fired`; None after the last."""
    if fired >= len(state.cues):
        return None
    cue, words = state.cues[fired], here.words.states[state.number]
    due = _lasted(here, here.words.timer, here.spelling.loops(words.cues[fired]))
    on = (
        ()
        if fired + 1 >= len(words.phases)
        else (here.spelling.fire_cue(here.words.member, words.phases[fired + 1]),)
    )
    if fired == len(state.cues) - 1 and state.end is not None:
        end = way_branch(here, state.end)
        return c.Branch(all_of([due, end.when]), end.comment, end.body + on)
    sets = "".join(f", set {setting_words(setting)}" for setting in cue.sets)
    return c.Branch(due, said(f"at {time_words(cue.at)}{sets}", cue.about, cue.span.line), on)


def said(words: str, about: str, line: int) -> tuple[str, ...]:
    """Begin a comment with the file's line, and end it with what the file says about it."""
    first = f"{line}: {words}" if line else words
    return (first, about) if about else (first,)


def _guard(here: Here, way: Transition) -> Expression:
    """Build what the region's own state must be for a transition to be looked at.

    An interlock whose target is active is passed over, and nothing leaves a lockout.
    """
    region = here.region
    found: list[Expression] = []
    if way.part is Part.INTERLOCK and way.source is not None:
        found.append(in_state(here.names, here.place, region, way.source))
    if way.target is None:
        return all_of(found)
    target = target_of(way)
    if way.part is Part.INTERLOCK and _can_meet(here, way.source, target):
        found.append(not_in_state(here.names, here.place, region, target))
    around = region.path(target)
    for state in region.states:
        is_left = state.number == target or state.number not in around
        if not (state.lockout and is_left and _can_meet(here, way.source, state.number)):
            continue
        if way.source is not None and region.contains(state.number, way.source):
            return NEVER
        found.append(not_in_state(here.names, here.place, region, state.number))
    return all_of(found)


def _can_meet(here: Here, source: int | None, other: int) -> bool:
    """Tell whether two states can be active at once; any can with the region itself."""
    if source is None:
        return True
    return here.region.contains(source, other) or here.region.contains(other, source)


def _due(here: Here, way: Transition) -> Expression:
    if way.after is None or way.source is None:
        return ALWAYS
    timer = timer_of(here, here.region.states[way.source])
    loops = here.spelling.loops(here.words.after[way.number][0])
    if way.number in here.words.drawn:
        loops = here.spelling.own(here.words.drawn[way.number])
    return _lasted(here, timer, loops)


def _lasted(here: Here, timer: str, needed: str) -> Term:
    return Term(here.spelling.lasted(here.spelling.own(timer), needed), bare=True)


def _act(here: Here, action: Action) -> tuple[str, ...]:
    """Give the statement of an action; a counter is held at its bounds."""
    counter = here.model.counter[action.counter]
    member, spelling = here.names.counters[action.counter], here.spelling
    low, high = counter.low, counter.high
    match action:
        case SetTo(value=value):
            return (spelling.give(member, str(min(max(value, low), high))),)
        case AddTo(amount=amount) if amount > 0:
            return (spelling.raised(member, min(amount, high - low), high),)
        case AddTo(amount=amount) if amount < 0:
            return (spelling.lowered(member, min(-amount, high - low), low),)
        case _:
            return ()


def _words(here: Here, way: Transition) -> tuple[str, ...]:
    words = []
    if way.part is Part.END and way.source is not None:
        at = here.region.states[way.source].cues[-1].at
        words.append(f"at the end, {time_words(at)}")
    if way.when is not None:
        words.append(f"when {condition_words(here.model, way.when)}")
    if way.after is not None:
        words.append(after_words(way.after))
    words += [f"do {action_words(action)}" for action in way.does]
    stays = way.target is None
    words.append("stay" if stays else f"go {full_name(here.region, target_of(way))}")
    return said(", ".join(words), way.about, way.span.line)
