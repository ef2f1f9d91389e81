"""What stands written in a state diagram: the lines of each state, arrow, interlock and frame.

It knows the model and no layout language; every label is plain lines of text.
"""

import re
from collections import Counter
from textwrap import wrap

from behaviour.draw.order import order_of
from behaviour.model import (
    Cue,
    Mechanism,
    MechanismState,
    Model,
    Movement,
    Part,
    Region,
    State,
    Transition,
    Unknown,
)
from behaviour.semantics import settings
from behaviour.wording import (
    action_words,
    after_words,
    condition_words,
    setting_words,
    time_words,
    window_words,
)

STATE_WIDTH = 34
ARROW_WIDTH = 26
TITLE_WIDTH = 90
MOST_ARROWS = 6


def about_lines(about: str) -> tuple[str, ...]:
    """Write what the prop is about, across the picture."""
    return tuple(wrap(about, TITLE_WIDTH))


def state_lines(
    model: Model, region: Region, state: State, hidden: frozenset[int]
) -> tuple[str, ...]:
    """Write a state that holds no other: what it sets, its cues, what is told and answered."""
    lines = _set_lines(region, state)
    lines += [line for cue in state.cues for line in _cue_lines(state, cue)]
    lines += way_lines(model, region, state, hidden)
    if state.operator:
        lines += wrap(f"“{state.operator}”", STATE_WIDTH)
    if state.lockout:
        lines.append("lockout: only switching off leaves it")
    if state.ignores:
        lines += wrap(f"ignores {', '.join(state.ignores)}", STATE_WIDTH)
    return (*lines, *_about(state.about))


def around_lines(
    model: Model, region: Region, state: State, hidden: frozenset[int]
) -> tuple[str, ...]:
    """Write what a state that holds others does for all of them."""
    lines = [*wrap(state.about, STATE_WIDTH), *map(setting_words, state.sets)]
    lines += way_lines(model, region, state, hidden)
    if state.operator:
        lines += wrap(f"“{state.operator}”", STATE_WIDTH)
    if any(way.number not in hidden for way in state.leave):
        lines.append(f"from everywhere in {state.name}:")
    return tuple(lines)


def region_lines(region: Region) -> tuple[str, ...]:
    return tuple(wrap(region.about, STATE_WIDTH))


def arrow_lines(model: Model, region: Region, way: Transition) -> tuple[str, ...]:
    """Write on the arrow of a transition, after its place where its state has more than one."""
    lines = _reason_lines(model, way)
    if way.part is Part.INTERLOCK:
        lines.insert(0, "interlock:")
    lines += [line for action in way.does for line in _wrapped(f"do {action_words(action)}")]
    lines[0] = f"{_ranked(region, way)}{lines[0]}"
    return (*lines, *_about(way.about))


def interlock_lines(
    model: Model, region: Region, way: Transition, around: str, hidden: frozenset[int]
) -> tuple[str, ...]:
    """Write in the mark of an interlock, which stands for an arrow from every state around."""
    lines = ["interlock, from everywhere", f"in {around}:"]
    if way.when is not None:
        lines += wrap(_unbroken(condition_words(model, way.when)), STATE_WIDTH)
    lines += [f"do {action_words(action)}" for action in way.does]
    if way.number in hidden:
        lines.append(_where(region, way))
    return (*lines, *_about(way.about))


def way_lines(model: Model, region: Region, state: State, hidden: frozenset[int]) -> list[str]:
    """Write the transitions of a state that no arrow shows, those with a number in `hidden`."""
    lines = []
    for way in drawn_from(state):
        if way.number in hidden:
            told = ", ".join([_reason(model, way), *map(action_words, way.does)])
            told = f"interlock: {told}" if way.part is Part.INTERLOCK else told
            whole = f"{_ranked(region, way)}{told}: {_where(region, way)}"
            lines += wrap(_unbroken(whole), STATE_WIDTH)
    return lines


def ways_of(state: State) -> tuple[Transition, ...]:
    """List the transitions of a state in the order of their priority, the end of cues last."""
    return (*state.leave, *((state.end,) if state.end is not None else ()))


def drawn_from(state: State) -> tuple[Transition, ...]:
    """List the transitions whose arrows begin at a state; a lone state's interlocks do too."""
    return (*(() if state.children else state.interlocks), *ways_of(state))


def written_out(region: Region) -> frozenset[int]:
    """List the numbers of the transitions that are written in their state instead of drawn.

    Those that stay, those to a state that more than MOST_ARROWS lead to, and those that lead into
    another column of a long picture.
    """
    order = order_of(region)
    ways = [way for state in region.states for way in ways_of(state)]
    crowd = Counter(way.target for way in ways)

    def is_written_out(way: Transition) -> bool:
        if way.target is None or way.source is None or isinstance(way.target, Unknown):
            return way.target is None
        return crowd[way.target] > MOST_ARROWS or order.changes_column(way.source, way.target)

    return frozenset(way.number for way in ways if is_written_out(way))


def mechanism_lines(mechanism: Mechanism) -> tuple[str, ...]:
    begins = " (begins anywhere)" if mechanism.begins is None else ""
    return (f"mechanism {mechanism.name}{begins}", *_about(mechanism.about))


def mechanism_state_lines(state: MechanismState) -> tuple[str, ...]:
    return (*_about(state.about), *(f"{name} reads {value}" for name, value in state.reads))


def movement_lines(model: Model, movement: Movement) -> tuple[str, ...]:
    lines = [f"takes {window_words(movement.low, movement.high)}"]
    if movement.during is not None:
        lines = [*_wrapped(f"while {condition_words(model, movement.during)}"), *lines]
    return (*lines, *_about(movement.about))


def legend_lines(model: Model, crossing: frozenset[tuple[str, int]]) -> tuple[str, ...]:
    """Explain the marks that this picture uses."""
    lines = ["thick bar and arrow: where it begins"]
    if any(
        hazards_driven(model, region, state)
        for region in model.regions
        for state in region.states
        if not state.children
    ):
        lines.append("heavy double border: something dangerous is driven here")
    if any(way.part is Part.INTERLOCK for region in model.regions for way in region.transitions()):
        lines.append("cut corners: an interlock, looked at first, from every state of its frame")
    if crossing or any(_leads_elsewhere(region) for region in model.regions):
        lines.append("go NAME in a state: an arrow that would lead too far, or cross others")
    if any(len(ways_of(state)) > 1 for region in model.regions for state in region.states):
        lines.append("1. 2.: the first that holds is taken")
    if model.written_mechanism:
        lines.append("dashed: what the mechanism does by itself")
    return tuple(lines)


def _leads_elsewhere(region: Region) -> bool:
    hidden = written_out(region)
    return any(way.number in hidden and way.target is not None for way in region.transitions())


def hazards_driven(model: Model, region: Region, state: State) -> tuple[str, ...]:
    """Name the hazards, with their values, that are away from rest at some moment of a state."""
    found = dict.fromkeys(
        (output, value)
        for fired in range(len(state.cues) + 1)
        for output, value in settings(region, state.number, fired).items()
        if model.output[output].hazard and value != model.output[output].rest
    )
    return tuple(f"{output} {value}" for output, value in found)


def _set_lines(region: Region, state: State) -> list[str]:
    """Write what a state sets, and in brackets what the states around it set for it."""
    own = {setting.output for setting in state.sets}
    around = {
        output: value
        for output, value in settings(region, state.number, 0).items()
        if output not in own
    }
    lines = [setting_words(setting) for setting in state.sets]
    return lines + [f"({output} {value})" for output, value in around.items()]


def _cue_lines(state: State, cue: Cue) -> list[str]:
    sets = ", ".join(setting_words(setting) for setting in cue.sets)
    is_last = cue is state.cues[-1]
    told = sets or ("the end" if is_last and state.end is not None else "nothing changes")
    lines = wrap(f"at {time_words(cue.at)}  {told}", STATE_WIDTH, drop_whitespace=True)
    return [*lines, *_about(cue.about)]


def _reason_lines(model: Model, way: Transition) -> list[str]:
    if way.part is Part.END:
        return ["at the end"]
    lines = [] if way.when is None else _wrapped(condition_words(model, way.when))
    if way.after is not None:
        lines.append(after_words(way.after))
    return lines or ["at the next loop"]


def _reason(model: Model, way: Transition) -> str:
    """Write what a transition waits for in one line, its time behind a comma."""
    lines = _reason_lines(model, way)
    if way.when is None or way.after is None:
        return " ".join(lines)
    return f"{' '.join(lines[:-1])}, {lines[-1]}"


def _ranked(region: Region, way: Transition) -> str:
    """Write a transition's place among those of its state; nothing where it is the only one."""
    if way.source is None:
        return ""
    numbers = [other.number for other in ways_of(region.states[way.source])]
    if way.part is Part.INTERLOCK:
        return ""
    return f"{numbers.index(way.number) + 1}. " if len(numbers) > 1 else ""


def _where(region: Region, way: Transition) -> str:
    match way.target:
        case None:
            return "stay"
        case Unknown():
            return "go unknown"
        case number:
            return f"go {region.states[number].name}"


def _wrapped(text: str) -> list[str]:
    return wrap(_unbroken(text), ARROW_WIDTH, break_long_words=False)


def _unbroken(text: str) -> str:
    """Keep a comparison, and a number with its unit, on one line."""
    text = re.sub(r"(\w+) (!?[<>=]+) (\d+)", "\\1\u00a0\\2\u00a0\\3", text)
    return re.sub(r"(\d) (ms|s|min)\b", "\\1\u00a0\\2", text)


def _about(about: str) -> list[str]:
    return wrap(f"— {about}", STATE_WIDTH) if about else []
