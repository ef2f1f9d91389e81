"""Reads `inputs`: what the prop looks at, and what each reading is for.

It knows nothing of what uses them. How an input is wired is read in `decode_wiring`.
"""

from typing import cast, get_args

from behaviour.language.decode_figures import FoundFigures, figure_with_origin
from behaviour.language.decode_values import BUTTON_VALUES, VALUES, values_of
from behaviour.language.decode_wiring import WIRING, input_wiring
from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    known_value,
    named_at,
    word_at,
    words_at,
)
from behaviour.language.nodes import Mapping, Node
from behaviour.language.phrases import listed
from behaviour.language.reading import Reading
from behaviour.language.shapes import TEXT, TIME, VALUE, Choice, Either, Group, by_value
from behaviour.language.syntax import Declared, Word
from behaviour.language.values import time_of
from behaviour.model import Input, InputKind, Quantity, Role, Time
from behaviour.units import Dimension

FORM = "lid: {kind: switch, values: [closed, open]}"
_VALUES_FORM = "values: [closed, open]"

_KINDS: tuple[InputKind, ...] = get_args(InputKind)
_ROLES = tuple(role.value for role in Role)
_PROTECTIVE = (Role.GUARD, Role.STOP)
NOISE = ("bounce", "interference")
"""How long a contact bounces, and the longest stretch for which something disturbs its line."""
INPUT = Group(
    "input",
    {
        "kind": Choice(_KINDS),
        "values": VALUES,
        "steady": Either((TIME, by_value(TIME))),
        "role": Choice(_ROLES),
        "safe": VALUE,
        **WIRING,
        **{key: figure_with_origin(Dimension.TIME) for key in NOISE},
        "about": TEXT,
    },
    needed=("kind",),
)


def decode_inputs(reading: Reading, node: Node) -> tuple[Declared[Input], ...]:
    """Read every input; one that could not be read whole keeps its name."""
    parts = named_at(reading, node, "`inputs`", "input", FORM)
    return tuple(_input(reading, name, part) for name, part in parts)


def _input(reading: Reading, name: Word, node: Node) -> Declared[Input]:
    owner = Owner(f"`{name.text}`", name.span, "input")
    fields = fields_at(reading, node, owner, INPUT.keys, FORM)
    if fields is None:
        return Declared(name=name, values=None, whole=None)
    kind = _kind(fields)
    values = _values(fields, kind)
    steady = _steady(fields, name, values)
    role, safe = _role(fields, name, kind, values)
    wiring, unplugged = input_wiring(fields, name, kind, values or ())
    if kind is None or values is None or steady is None:
        return Declared(name=name, values=values, whole=None)
    whole = Input(
        name=name.text,
        kind=kind,
        values=values,
        steady=steady,
        role=role,
        safe=safe,
        unplugged=unplugged,
        wiring=wiring,
        noise=_noise(fields, name),
        about=fields.text("about"),
        span=name.span,
    )
    return Declared(name=name, values=values, whole=whole)


def _noise(fields: Fields, name: Word) -> tuple[tuple[str, Quantity], ...]:
    figures = FoundFigures(fields.reading, name.text)
    for key in NOISE:
        node = fields.node(key)
        if node is not None:
            figures.take(key, node, Dimension.TIME)
    return tuple(figures.found)


def _kind(fields: Fields) -> InputKind | None:
    if fields.needed("kind", "kind: switch") is None:
        return None
    return cast("InputKind | None", fields.choice("kind", _KINDS))


def _values(fields: Fields, kind: InputKind | None) -> tuple[str, ...] | None:
    if kind == "button":
        node = fields.node("values")
        words = None if node is None else words_at(fields.reading, node, "`values`", _VALUES_FORM)
        if words is not None and tuple(word.text for word in words) != BUTTON_VALUES:
            fields.refuse(
                "values",
                "a button's values are `released, pressed`",
                label="not a button's",
                hint="leave `values` out, or make it a `kind: switch`",
            )
        return BUTTON_VALUES
    return values_of(fields, _VALUES_FORM)


def _steady(fields: Fields, name: Word, values: tuple[str, ...] | None) -> tuple[Time, ...] | None:
    reading, node = fields.reading, fields.node("steady")
    if values is None:
        return None
    if node is None:
        return (0,) * len(values)
    if not isinstance(node, Mapping):
        word = word_at(reading, node, "`steady`", "a time, or one for each value")
        time = None if word is None else time_of(reading, word, f"{name.text}.steady")
        return None if time is None else (time,) * len(values)
    return _steady_each(fields, node, name, values)


def _steady_each(
    fields: Fields, node: Mapping, name: Word, values: tuple[str, ...]
) -> tuple[Time, ...] | None:
    reading = fields.reading
    times: dict[str, Time | None] = {}
    for entry in node.entries:
        value = Word(entry.key.text, entry.key.span)
        if known_value(reading, value, name.text, values):
            word = word_at(reading, entry.value, f"`{value.text}`", "a time")
            what = f"{name.text}.steady.{value.text}"
            times[value.text] = None if word is None else time_of(reading, word, what)
    missing = [value for value in values if value not in times]
    if missing and len(times) == len(node.entries) and not node.damaged:
        fields.refuse(
            "steady",
            f"`steady` gives no time for {listed(missing, 'and')}",
            label="one for each value, or one for all",
            hint=f"add `{missing[0]}: 0 ms` if it counts at once",
        )
    found = tuple(time for value in values if (time := times.get(value)) is not None)
    return found if len(found) == len(values) else None


def _role(
    fields: Fields, name: Word, kind: InputKind | None, values: tuple[str, ...] | None
) -> tuple[Role | None, str | None]:
    """Read `role`, and `safe` where it protects people."""
    text = fields.choice("role", _ROLES)
    role = None if text is None else Role(text)
    safe = fields.word("safe", "a value")
    if role not in _PROTECTIVE:
        if safe is not None and (role is not None or not fields.has("role")):
            fields.refuse(
                "safe",
                "`safe` belongs to an input of role `guard` or `stop`",
                label="no such role here",
                hint="write `role: guard` or `role: stop`, or take `safe` out",
            )
        return role, None
    if safe is not None:
        known = values is None or known_value(fields.reading, safe, name.text, values)
        return role, safe.text if known else None
    if kind == "button":
        return role, BUTTON_VALUES[0]
    if not fields.has("safe") and not fields.damaged:
        fields.refuse(
            "role",
            f"{fields.owner.says} has no `safe`, the value that protects people",
            label=f"a {role.value} needs it",
            hint=f"write `safe: {values[0]}`" if values else "write `safe:` and a value",
        )
    return role, None
