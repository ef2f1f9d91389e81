"""Reads the ways on: `leave`, `interlocks`, and what is done `at the end` of cues.

It knows nothing of which states there are.
"""

from behaviour.language import syntax
from behaviour.language.conditions import read_action, read_condition
from behaviour.language.fields import Fields, Owner, fields_at, items_at, narrowed
from behaviour.language.nodes import Listing, Node
from behaviour.language.reading import Reading
from behaviour.language.shapes import (
    CONDITION,
    STATE_NAME,
    TEXT,
    WINDOW,
    Either,
    Group,
    ListOf,
    Shape,
    Text,
)
from behaviour.language.values import window_of
from behaviour.model import After, Part
from behaviour.source import Span

STAY = "stay"

ACTION = Text("`add 1 to NAME`, `take 1 from NAME`, or `set NAME to 3`")
_KEYS: dict[str, Shape] = {
    "when": CONDITION,
    "after": WINDOW,
    "do": Either((ACTION, ListOf(ACTION))),
    "go": STATE_NAME,
    "about": TEXT,
}
_NOT_IN: dict[Part, tuple[str, ...]] = {
    Part.LEAVE: (),
    Part.INTERLOCK: ("after",),
    Part.END: ("when", "after"),
}
"""Keys that a transition of some part does not have."""

TRANSITIONS = {
    part: Group(
        f"transition under {part.value}",
        {key: shape for key, shape in _KEYS.items() if key not in refused},
        needed=("when", "go") if part is Part.INTERLOCK else ("go",),
    )
    for part, refused in _NOT_IN.items()
}
_FORMS = {
    Part.LEAVE: "leave: [{when: lid is open, go: lid_open}]",
    Part.INTERLOCK: "interlocks: [{when: lid is open, go: lid_open}]",
    Part.END: "at the end: {do: take 1 from loaded, go: idle}",
}


def decode_transitions(
    reading: Reading, node: Node, part: Part, place: str
) -> tuple[syntax.Transition, ...]:
    """Read a list of transitions; `place` names where they stand for what is left unknown."""
    items = items_at(reading, node, f"`{part.value}`", _FORMS[part])
    found = [decode_transition(reading, item, part, place) for item in items]
    return tuple(transition for transition in found if transition is not None)


def decode_transition(
    reading: Reading, node: Node, part: Part, place: str
) -> syntax.Transition | None:
    """Read one transition."""
    says = "what is done `at the end`" if part is Part.END else f"this {_thing(part)}"
    owner = Owner(says, narrowed(node.span), _thing(part))
    fields = fields_at(reading, node, owner, _KEYS, "{when: lid is open, go: lid_open}")
    if fields is None:
        return None
    _check_part(fields, part)
    when = fields.node("when")
    go = None
    if fields.needed("go", "go: idle") is not None:
        go = fields.word("go", "the name of a state")
    if go is not None and go.text == STAY and part is Part.INTERLOCK:
        hint = "name the state that is safe, or write it under `leave`"
        reading.mistakes.add(go.span, "an interlock does not stay", hint=hint)
        go = None
    return syntax.Transition(
        part=part,
        when=None if when is None else read_condition(reading, when, "`when`"),
        after=_after(fields, place),
        does=_does(fields),
        go=go,
        about=fields.text("about"),
        span=_span(fields, node),
    )


def _thing(part: Part) -> str:
    return "interlock" if part is Part.INTERLOCK else "transition"


def _check_part(fields: Fields, part: Part) -> None:
    """Refuse what a transition of this part does not have."""
    if part is Part.INTERLOCK and fields.has("after"):
        hint = "an interlock acts at once; a timed way out stands under `leave`"
        fields.refuse("after", "an interlock has no `after`", hint=hint)
    if part is Part.INTERLOCK and not fields.has("after"):
        fields.needed("when", "when: lid is open")
    for key in _NOT_IN[part]:
        if part is Part.END and fields.has(key):
            fields.refuse(
                key,
                f"`at the end` has no `{key}`: the last cue is its moment",
                hint="take it out, or write the transition under `leave`",
            )


def _after(fields: Fields, place: str) -> After | None:
    word = fields.word("after", "a time, or a range such as `200 ms to 900 ms`")
    window = None if word is None else window_of(fields.reading, word, f"{place}.after")
    if window is None:
        return None
    low, high = window
    return After(low, high, span=narrowed(fields.entries["after"].span))


def _does(fields: Fields) -> tuple[syntax.Action, ...]:
    node = fields.node("do")
    if node is None:
        return ()
    items = node.items if isinstance(node, Listing) else (node,)
    found = [read_action(fields.reading, item) for item in items]
    return tuple(action for action in found if action is not None)


def _span(fields: Fields, node: Node) -> Span:
    """Give the whole transition where it stands in one line, else its `go`."""
    if node.span.line == node.span.end_line or not fields.has("go"):
        return narrowed(node.span)
    return narrowed(fields.entries["go"].span)
