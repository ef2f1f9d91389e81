"""Reads `mechanism`: what the hardware does by itself.

It knows nothing of which names there are elsewhere.
"""

from behaviour.language import syntax
from behaviour.language.conditions import read_condition
from behaviour.language.decode_transitions import STAY
from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    items_at,
    mapping_at,
    named_at,
    narrowed,
    word_at,
)
from behaviour.language.nodes import Mapping, Node, are_whole
from behaviour.language.reading import Reading
from behaviour.language.shapes import (
    CONDITION,
    STATE_NAME,
    TEXT,
    VALUE,
    WINDOW,
    Either,
    Group,
    ListOf,
    by_value,
    figure,
    things,
)
from behaviour.language.syntax import Word
from behaviour.language.values import DISTANCES, distance_of, window_of
from behaviour.model import Time

FORM = "position: {begins: any, states: {away: {reads: {mark: clear}}}}"
_STATES_FORM = "states: {away: {reads: {mark: clear}}}"
_MOVEMENT_FORM = "{while: drum is forward, takes: 250 ms to 400 ms, go: there}"
_TURN_FORM = "takes: {turn: 60 deg, of: drum}"
_NOT_HERE = {
    "when": "write `while`: the movement goes on as long as that holds",
    "after": "write `takes: 250 ms to 400 ms`, how long the movement needs",
    "do": "the hardware counts nothing; a region of the prop does",
}

_TURN = Group("window of a drive", {"turn": figure(*DISTANCES), "of": VALUE}, needed=("turn", "of"))
MOVEMENT = Group(
    "movement",
    {"while": CONDITION, "takes": Either((WINDOW, _TURN)), "go": STATE_NAME, "about": TEXT},
    needed=("takes", "go"),
)
STATE = Group(
    "mechanism state", {"reads": by_value(VALUE), "leave": ListOf(MOVEMENT), "about": TEXT}
)
MECHANISM = Group(
    "mechanism region",
    {"begins": STATE_NAME, "states": things(STATE), "about": TEXT},
    needed=("begins", "states"),
)


def decode_mechanism(reading: Reading, node: Node) -> tuple[syntax.Mechanism, ...]:
    """Read every mechanism region."""
    parts = named_at(reading, node, "`mechanism`", "region", FORM)
    return tuple(_mechanism(reading, name, part) for name, part in parts)


def _mechanism(reading: Reading, name: Word, node: Node) -> syntax.Mechanism:
    owner = Owner(f"`{name.text}`", name.span, "mechanism region")
    fields = fields_at(reading, node, owner, MECHANISM.keys, FORM)
    if fields is None:
        return syntax.Mechanism(name=name, begins=None, states=(), whole=False, about="")
    begins = None
    if fields.needed("begins", "begins: any") is not None:
        begins = fields.word("begins", "the name of a state, or `any`")
    states_node = fields.needed("states", _STATES_FORM)
    states: tuple[syntax.MechanismState, ...] = ()
    if states_node is not None:
        parts = named_at(reading, states_node, "`states`", "state", _STATES_FORM)
        states = tuple(_state(reading, name, state, part) for state, part in parts)
    return syntax.Mechanism(
        name=name,
        begins=begins,
        states=states,
        whole=states_node is not None and are_whole(states_node),
        about=fields.text("about"),
    )


def _state(reading: Reading, region: Word, name: Word, node: Node) -> syntax.MechanismState:
    owner = Owner(f"`{name.text}`", name.span, "mechanism state")
    fields = fields_at(reading, node, owner, (*STATE.keys, "states"), f"{name.text}: {{}}")
    if fields is None:
        return syntax.MechanismState(name=name, reads=(), movements=(), about="")
    if fields.has("states"):
        hint = "write the positions side by side"
        fields.refuse("states", "a mechanism has no states inside states", hint=hint)
    leave = fields.node("leave")
    items = (
        () if leave is None else items_at(reading, leave, "`leave`", f"leave: [{_MOVEMENT_FORM}]")
    )
    place = reading.place(region.text, name.text)
    found = [_movement(reading, item, place) for item in items]
    return syntax.MechanismState(
        name=name,
        reads=_reads(fields),
        movements=tuple(movement for movement in found if movement is not None),
        about=fields.text("about"),
    )


def _reads(fields: Fields) -> tuple[tuple[Word, Word], ...]:
    node = fields.node("reads")
    mapping = None
    if node is not None:
        mapping = mapping_at(fields.reading, node, "`reads`", "reads: {mark: made}")
    if mapping is None:
        return ()
    found = []
    for entry in mapping.entries:
        value = word_at(fields.reading, entry.value, f"`{entry.key.text}`", "a value")
        if value is not None:
            found.append((Word(entry.key.text, entry.key.span), value))
    return tuple(found)


def _movement(reading: Reading, node: Node, place: str) -> syntax.Movement | None:
    owner = Owner("this movement", narrowed(node.span), "movement")
    known = (*MOVEMENT.keys, *_NOT_HERE)
    fields = fields_at(reading, node, owner, known, _MOVEMENT_FORM)
    if fields is None:
        return None
    for key, hint in _NOT_HERE.items():
        if fields.has(key):
            fields.refuse(key, f"a movement has no `{key}`", hint=hint)
    go = fields.word("go", "the name of a state")
    if not fields.has("go"):
        fields.needed("go", "go: there")
    elif go is not None and go.text == STAY:
        reading.mistakes.add(go.span, "a movement goes somewhere", hint="name the state it ends in")
        go = None
    during = fields.node("while")
    one_line = node.span.line == node.span.end_line or not fields.has("go")
    return syntax.Movement(
        during=None if during is None else read_condition(reading, during, "`while`"),
        takes=_takes(fields, place),
        go=go,
        about=fields.text("about"),
        span=narrowed(node.span if one_line else fields.entries["go"].span),
    )


def _takes(fields: Fields, place: str) -> tuple[Time, Time] | syntax.Turn | None:
    if fields.has("after") or fields.needed("takes", "takes: 250 ms to 400 ms") is None:
        return None
    node = fields.node("takes")
    if isinstance(node, Mapping):
        return _turn(fields, node, place)
    word = fields.word("takes", "a time, or a range such as `250 ms to 400 ms`")
    window = None if word is None else window_of(fields.reading, word, f"{place}.takes")
    if word is not None and window is not None and window[1] == 0:
        message = "a movement takes some time"
        fields.reading.mistakes.add(word.span, message, hint="write the longest that it may take")
        return None
    return window


def _turn(fields: Fields, node: Node, place: str) -> syntax.Turn | None:
    """Read `{turn: 60 deg, of: drum}`, from which a drive's numbers give the window."""
    owner = Owner("`takes`", fields.key_span("takes"), "window of a drive")
    turn = fields_at(fields.reading, node, owner, _TURN.keys, _TURN_FORM)
    if turn is None:
        return None
    far = turn.word("turn", "an angle") if turn.needed("turn", "turn: 60 deg") else None
    of = turn.word("of", "the name of a motor") if turn.needed("of", "of: drum") else None
    if far is None or of is None:
        return None
    return syntax.Turn(amount=distance_of(fields.reading, far, f"{place}.takes"), of=of)
