"""Reads `regions`: their states, and what stands in each.

It knows nothing of which names there are elsewhere. Transitions are read in `decode_transitions`.
"""

import re
from itertools import pairwise

from behaviour.language import syntax
from behaviour.language.decode_transitions import (
    TRANSITIONS,
    decode_transition,
    decode_transitions,
)
from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    items_at,
    mapping_at,
    named_at,
    narrowed,
    word_at,
    words_at,
)
from behaviour.language.nodes import Node, are_whole
from behaviour.language.reading import Reading
from behaviour.language.shapes import (
    STATE_NAME,
    TEXT,
    TIME,
    VALUE,
    YES_NO,
    Again,
    Group,
    ListOf,
    Text,
    by_value,
    things,
)
from behaviour.language.syntax import Word
from behaviour.language.values import UNKNOWN, distance_of, part_of, time_of
from behaviour.model import Part

FORM = "carousel: {begins: idle, states: {idle: {}}}"
STATES_FORM = "states: {idle: {set: {lamp: green}}}"

_SETS = by_value(Text("a value, or a move such as `forward 1 station`"))
_INTERLOCKS = ListOf(TRANSITIONS[Part.INTERLOCK])
CUE = Group("cue", {"at": TIME, "set": _SETS, "about": TEXT}, needed=("at",))
STATE = Group(
    "state",
    {
        "set": _SETS,
        "leave": ListOf(TRANSITIONS[Part.LEAVE]),
        "cues": ListOf(CUE),
        "at the end": TRANSITIONS[Part.END],
        "states": things(Again("state")),
        "begins": STATE_NAME,
        "interlocks": _INTERLOCKS,
        "operator": TEXT,
        "ignores": ListOf(VALUE),
        "lockout": YES_NO,
        "about": TEXT,
    },
)
REGION = Group(
    "region",
    {"begins": STATE_NAME, "interlocks": _INTERLOCKS, "states": things(STATE), "about": TEXT},
    needed=("begins", "states"),
)
_MOVE = re.compile(r"([^\W\d]\w*)\s+(\S.*)")


def decode_regions(reading: Reading, node: Node) -> tuple[syntax.Region, ...]:
    """Read every region."""
    parts = named_at(reading, node, "`regions`", "region", FORM)
    return tuple(_region(reading, name, part) for name, part in parts)


def _region(reading: Reading, name: Word, node: Node) -> syntax.Region:
    owner = Owner(f"`{name.text}`", name.span, "region")
    fields = fields_at(reading, node, owner, REGION.keys, FORM)
    if fields is None:
        return syntax.Region(
            name=name, begins=None, interlocks=(), states=(), whole=False, about=""
        )
    interlocks = fields.node("interlocks")
    states_node = fields.needed("states", STATES_FORM)
    states = _states(fields, name, states_node)
    return syntax.Region(
        name=name,
        begins=begins_of(fields, states),
        interlocks=()
        if interlocks is None
        else decode_transitions(reading, interlocks, Part.INTERLOCK, name.text),
        states=states,
        whole=states_node is not None and are_whole(states_node),
        about=fields.text("about"),
    )


def _states(fields: Fields, region: Word, node: Node | None) -> tuple[syntax.State, ...]:
    if node is None:
        return ()
    parts = named_at(fields.reading, node, "`states`", "state", STATES_FORM)
    return tuple(_state(fields.reading, region, name, part) for name, part in parts)


def begins_of(fields: Fields, states: tuple[syntax.State, ...]) -> Word | None:
    """Read `begins`, which must be there; the first state is what is proposed."""
    first = states[0].name.text if states else "idle"
    if fields.needed("begins", f"begins: {first}") is None:
        return None
    return fields.word("begins", "the name of a state")


def _state(reading: Reading, region: Word, name: Word, node: Node) -> syntax.State:
    owner = Owner(f"`{name.text}`", name.span, "state")
    fields = fields_at(reading, node, owner, STATE.keys, f"{name.text}: {{}}")
    place = reading.place(region.text, name.text)
    if fields is None:
        fields = Fields(reading, owner, {}, damaged=True)
    ignores = fields.node("ignores")
    inner = _states(fields, region, fields.node("states"))
    cues = _cues(fields, place)
    _check_parts(fields, cues)
    end = fields.node("at the end")
    return syntax.State(
        name=name,
        sets=_sets(fields, place),
        leave=_transitions(fields, Part.LEAVE, place),
        interlocks=_transitions(fields, Part.INTERLOCK, place),
        cues=cues,
        end=None if end is None else decode_transition(reading, end, Part.END, place),
        states=inner,
        begins=begins_of(fields, inner) if fields.has("states") else None,
        ignores=()
        if ignores is None
        else words_at(reading, ignores, "`ignores`", "ignores: [trigger]") or (),
        lockout=bool(fields.is_yes("lockout")),
        about=fields.text("about"),
        operator=fields.text("operator"),
    )


def _transitions(fields: Fields, part: Part, place: str) -> tuple[syntax.Transition, ...]:
    node = fields.node(part.value)
    return () if node is None else decode_transitions(fields.reading, node, part, place)


def _sets(fields: Fields, place: str, *, in_cue: bool = False) -> tuple[syntax.Setting, ...]:
    node = fields.node("set")
    mapping = None
    if node is not None:
        mapping = mapping_at(fields.reading, node, "`set`", "set: {lamp: green}")
    if mapping is None:
        return ()
    found = []
    for entry in mapping.entries:
        value = word_at(fields.reading, entry.value, f"`{entry.key.text}`", "a value")
        if value is None:
            continue
        output, amount = Word(entry.key.text, entry.key.span), None
        far = _how_far(fields.reading, value)
        if far is not None and in_cue:
            fields.reading.mistakes.add(
                value.span,
                "a move by distance begins on entering a state, and does not stand in a cue",
                label="not in a cue",
                hint="put it into the `set` of a state of its own, and wait there until it is done",
            )
            continue
        if far is not None:
            value, distance = far
            amount = distance_of(fields.reading, distance, f"{place}.{output.text}")
            if amount is None:
                continue
        found.append(
            syntax.Setting(output=output, value=value, amount=amount, span=narrowed(entry.span))
        )
    return tuple(found)


def _how_far(reading: Reading, value: Word) -> tuple[Word, Word] | None:
    """Take a value such as `forward 1 station` apart; None where it says no distance."""
    parts = _MOVE.fullmatch(value.text)
    if parts is None:
        return None
    distance = parts[2]
    if not (distance[0] in "-.0123456789" or distance in {*reading.settings.names, UNKNOWN}):
        return None
    return part_of(value, parts.span(1)), part_of(value, parts.span(2))


# --- Cues ---------------------------------------------------------------------------------------


def _cues(fields: Fields, place: str) -> tuple[syntax.Cue, ...]:
    node = fields.node("cues")
    if node is None:
        return ()
    form = "cues: [{at: 100 ms, set: {valve: open}}]"
    found: list[syntax.Cue] = []
    for item in items_at(fields.reading, node, "`cues`", form):
        owner = Owner("this cue", narrowed(item.span), "cue")
        cue = fields_at(fields.reading, item, owner, CUE.keys, form)
        if cue is not None:
            found.append(_cue(cue, place))
    for before, after in pairwise(found):
        if isinstance(before.at, int) and isinstance(after.at, int) and before.at >= after.at:
            fields.reading.mistakes.add(
                after.span,
                "this cue does not come after the one before it",
                label="too early",
                hint="cues stand in the order of their times, counted from entering the state",
            )
    return tuple(found)


def _cue(cue: Fields, place: str) -> syntax.Cue:
    word = None
    if cue.needed("at", "at: 100 ms") is not None:
        word = cue.word("at", "a time")
    at = None if word is None else time_of(cue.reading, word, f"{place}.at")
    span = narrowed(cue.entries["at"].span) if cue.has("at") else cue.owner.at
    return syntax.Cue(
        at=at, sets=_sets(cue, place, in_cue=True), about=cue.text("about"), span=span
    )


# --- Parts that do not go together --------------------------------------------------------------


def _check_parts(fields: Fields, cues: tuple[syntax.Cue, ...]) -> None:
    says = fields.owner.says
    if fields.has("cues") and fields.has("states"):
        hint = "put the cues into an inner state"
        fields.refuse("cues", f"{says} has inner states, and so no cues of its own", hint=hint)
    if fields.has("begins") and not fields.has("states"):
        fields.refuse("begins", f"{says} has no inner `states` to begin in", hint="take it out")
    if fields.has("at the end") and not fields.has("cues"):
        hint = "write the transition under `leave`, with `after`"
        fields.refuse("at the end", f"{says} has no cues, and so no end of them", hint=hint)
    if fields.has("at the end") and cues and cues[-1].sets:
        fields.reading.mistakes.add(
            cues[-1].sets[0].span,
            "the last cue is the moment of `at the end`, and sets nothing",
            label="would never be seen",
            hint="put it into a cue before, or let `at the end` have a last cue of its own",
        )
    if fields.choice("lockout", YES_NO.options) == "yes":
        for key in ("leave", "interlocks", "at the end"):
            if fields.has(key):
                fields.refuse(
                    key,
                    f"{says} is a lockout, and nothing leaves it but a power cycle",
                    label="never looked at",
                    hint=f"take `{key}` out, or `lockout: yes`",
                )
