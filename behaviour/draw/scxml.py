"""The states as SCXML (W3C State Chart XML 1.0, 2015), with what that cannot say as comments.

Strategy: the prop's loop is the one event, `loop`, and carries what was read in its data. A leaf
lists all that may be done from it in the order in which it is looked at, those of the states around
it included, so that the priority is the same though SCXML looks at inner states first. Clocks are
differences of `now`; what a leaf drives is assigned on entering it.
"""

from collections.abc import Iterator
from xml.sax.saxutils import quoteattr

from behaviour.fingerprint import fingerprint
from behaviour.model import (
    Action,
    AddTo,
    And,
    Becomes,
    Compare,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
    Part,
    Region,
    State,
    Time,
    Transition,
)
from behaviour.semantics import NextCue, candidates, is_open, loops_of, settings
from behaviour.wording import time_words

NAMESPACE = "http://www.w3.org/2005/07/scxml"

NOTES = (
    "Each loop of the controller is one event `loop`; its data carries `now` in milliseconds",
    (
        "By the name of each input it carries `reads`, `became` in the loop of a change alone, and "
        "`since`, the milliseconds since it changed; `done` says which motors have ended a move"
    ),
    "Whoever sends it filters the inputs: `steady` is not said here, nor what guards presume",
    "An interlock that holds at power-up is entered in the first `loop` here, and in loop 0 there",
    "Interlocks have no counterpart: they stand first in every leaf, and act the same for it",
    "Mechanism, rules, roles, wiring, moves of motors and walkthroughs are not said here",
    "Outputs with `keeps` keep what they were assigned last; a counter is held at its bounds",
)
"""What SCXML cannot say, for the head of the file."""


def scxml_text(model: Model) -> str:
    """Write the states of a prop. Raises NotKnownError where the file leaves open a time or way."""
    lines = ['<?xml version="1.0" encoding="UTF-8"?>']
    lines += [f"<!-- {_comment(f'{model.prop}, fingerprint {fingerprint(model)}')} -->"]
    lines += [f"<!-- {_comment(note)} -->" for note in NOTES]
    lines.append(
        f'<scxml xmlns="{NAMESPACE}" version="1.0" datamodel="ecmascript"'
        f" name={quoteattr(model.firmware_name)}>"
    )
    lines += ["  <datamodel>", *_data(model), "  </datamodel>", '  <parallel id="whole-prop">']
    lines += ['    <state id="loop-clock">', '      <transition event="loop">']
    lines += ['        <assign location="now" expr="_event.data.now"/>']
    lines += ["      </transition>", "    </state>"]
    for region in model.regions:
        lines += _region(model, region)
    return "\n".join([*lines, "  </parallel>", "</scxml>"]) + "\n"


def _data(model: Model) -> Iterator[str]:
    yield '    <data id="now" expr="0"/>'
    yield '    <data id="entered" expr="{}"/>'
    yield '    <data id="drawn" expr="{}"/>'
    outputs = ", ".join(f"{output.name}: '{output.rest}'" for output in model.outputs)
    yield f'    <data id="outputs" expr="{{{outputs}}}"/>'
    counters = ", ".join(f"{counter.name}: {counter.begins}" for counter in model.counters)
    yield f'    <data id="counters" expr="{{{counters}}}"/>'


# --- States -------------------------------------------------------------------------------------


def _region(model: Model, region: Region) -> Iterator[str]:
    begins = _id(region, region.begins)
    yield f'    <state id="{region.name}-region" initial="{begins}">'
    for state in region.states:
        if state.parent is None:
            yield from _state(model, region, state, "      ")
    yield "    </state>"


def _state(model: Model, region: Region, state: State, pad: str) -> Iterator[str]:
    name = _id(region, state.number)
    inner = state.begins is not None or state.cues
    first = _id(region, state.begins) if state.begins is not None else f"{name}.begins"
    begins = f' initial="{first}"' if inner else ""
    yield f'{pad}<state id="{name}"{begins}>'
    yield f"{pad}  <onentry>"
    yield f'{pad}    <assign location="entered[\'{name}\']" expr="now"/>'
    for chance in region.chances(state.number):
        if not chance.is_move:
            low, high = loops_of(model, chance.low), loops_of(model, chance.high)
            drawn = f"({low} + Math.floor(Math.random() * {high - low + 1})) * {_ms(model, 1)}"
            place = f"drawn['{region.name}.{chance.number}']"
            yield f'{pad}    <assign location="{place}" expr="{drawn}"/>'
    if state.begins is None and not state.cues:
        yield from _driven(model, region, state.number, 0, pad)
    yield f"{pad}  </onentry>"
    for child in state.children:
        yield from _state(model, region, region.states[child], f"{pad}  ")
    if state.begins is None and not state.cues:
        yield from _ways(model, region, state, 0, pad)
    for cue in range(len(state.cues) + 1) if state.cues else ():
        yield f'{pad}  <state id="{_cue_id(region, state, cue)}">'
        yield f"{pad}    <onentry>"
        yield from _driven(model, region, state.number, cue, f"{pad}  ")
        yield f"{pad}    </onentry>"
        yield from _ways(model, region, state, cue, f"{pad}  ")
        yield f"{pad}  </state>"
    yield f"{pad}</state>"


def _driven(model: Model, region: Region, leaf: int, cue: int, pad: str) -> Iterator[str]:
    """Assign every output of the region as it is driven here; what keeps its value only if set."""
    sets = settings(region, leaf, cue)
    for output in model.outputs:
        is_ours = model.owner.get(output.name) == region.name
        if is_ours and (output.name in sets or not output.keeps):
            value = sets.get(output.name, output.rest)
            yield f'{pad}    <assign location="outputs.{output.name}" expr="\'{value}\'"/>'


def _ways(model: Model, region: Region, leaf: State, cue: int, pad: str) -> Iterator[str]:
    """List what may be done from a leaf, in the order in which it is looked at."""
    for way in candidates(region, leaf.number, cue):
        if isinstance(way, NextCue):
            when = _clock(model, region, leaf.number, way.at)
            target = _cue_id(region, leaf, cue + 1)
            yield f'{pad}  <transition event="loop" cond={quoteattr(when)} target="{target}"/>'
        elif is_open(region, leaf.number, way):
            yield from _way(model, region, leaf, cue, way, pad)


def _way(
    model: Model, region: Region, leaf: State, cue: int, way: Transition, pad: str
) -> Iterator[str]:
    conditions = [] if way.when is None else [_bracketed(model, way.when)]
    if way.after is not None and way.source is not None:
        if way.after.low == way.after.high:
            conditions.append(_clock(model, region, way.source, way.after.low))
        else:
            drawn = f"drawn['{region.name}.{way.number}']"
            conditions.append(f"{_since(region, way.source)} >= {drawn}")
    if way.part is Part.END:
        conditions.append(_clock(model, region, leaf.number, leaf.cues[-1].at))
    cond = f" cond={quoteattr(' && '.join(conditions))}" if conditions else ""
    target = ""
    if isinstance(way.target, int):
        target = f' target="{_id(region, way.target)}"'
    elif way.part is Part.END:
        target = f' target="{_cue_id(region, leaf, cue + 1)}"'
    if way.part is Part.INTERLOCK:
        yield f"{pad}  <!-- interlock -->"
    head = f'{pad}  <transition event="loop"{cond}{target}'
    if not way.does:
        yield f"{head}/>"
        return
    yield f"{head}>"
    for action in way.does:
        yield f"{pad}    {_action(model, action)}"
    yield f"{pad}  </transition>"


def _action(model: Model, action: Action) -> str:
    counter = model.counter[action.counter]
    place = f"counters.{counter.name}"
    wanted = f"{place} + {action.amount}" if isinstance(action, AddTo) else f"{action.value}"
    held = f"Math.min(Math.max({wanted}, {counter.low}), {counter.high})"
    return f'<assign location="{place}" expr="{held}"/>'


# --- Conditions ---------------------------------------------------------------------------------


def _condition(model: Model, condition: Condition) -> str:
    match condition:
        case Is(name=name, values=values, negated=negated):
            joint, sign = (" && ", "!==") if negated else (" || ", "===")
            return joint.join(f"_event.data.reads.{name} {sign} '{value}'" for value in values)
        case Becomes(name=name, value=value):
            return f"_event.data.became.{name} === '{value}'"
        case HeldFor(name=name, value=value, time=time):
            lasts = _ms(model, loops_of(model, time))
            held = f"_event.data.since.{name} >= {lasts}"
            return f"_event.data.reads.{name} === '{value}' && {held}"
        case Compare(name=name, sign=sign, number=number):
            sign = {"=": "===", "!=": "!=="}.get(sign, sign)
            return f"counters.{name} {sign} {number}"
        case InState(region=region, state=state, negated=negated):
            return f"{'!' if negated else ''}In('{_id(model.region[region], state)}')"
        case Done(name=name, negated=negated):
            return f"{'!' if negated else ''}_event.data.done.{name}"
        case Not(part=part):
            return f"!{_bracketed(model, part)}"
        case And(parts=parts):
            return " && ".join(_bracketed(model, part) for part in parts)
        case Or(parts=parts):
            return " || ".join(_bracketed(model, part) for part in parts)


def _bracketed(model: Model, condition: Condition) -> str:
    return f"({_condition(model, condition)})"


def _since(region: Region, state: int) -> str:
    return f"_event.data.now - entered['{_id(region, state)}']"


def _clock(model: Model, region: Region, state: int, time: Time) -> str:
    return f"{_since(region, state)} >= {_ms(model, loops_of(model, time))}"


# --- Small --------------------------------------------------------------------------------------


def _ms(model: Model, loops: int) -> int:
    return loops * model.loop // 1000


def _id(region: Region, state: int) -> str:
    """Name a state; names of the file hold no dot and no hyphen, so no id is another's."""
    return f"{region.name}.{region.states[state].name}"


def _cue_id(region: Region, state: State, cue: int) -> str:
    name = _id(region, state.number)
    if cue == 0:
        return f"{name}.begins"
    return f"{name}.at_{time_words(state.cues[cue - 1].at).replace(' ', '_').replace('.', '_')}"


def _comment(text: str) -> str:
    """Keep a text from ending its comment."""
    return text.replace("--", "- -")
