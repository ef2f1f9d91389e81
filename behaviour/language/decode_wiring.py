"""Reads how an input is wired, and what follows from that for a cut wire.

It knows nothing of controllers: whether a board has such a pin is not asked here.

Strategy: two-valued wiring comes down to one fact, the value at which the contact closes the
circuit. The builder's words (`contact`, `pushed`) and the coder's (`pull`, `low`) each give it, and
a cut wire reads what an open contact does.
"""

from dataclasses import dataclass
from typing import Literal, cast, get_args

from behaviour.findings import Label
from behaviour.language.circuit import drawn
from behaviour.language.decode_pins import pin_at, pins_at
from behaviour.language.decode_values import BUTTON_VALUES
from behaviour.language.fields import Fields, known_value, mapping_at, word_at
from behaviour.language.phrases import listed
from behaviour.language.shapes import PIN, TIME, VALUE, Choice, Shape, Text, by_value
from behaviour.language.syntax import Word
from behaviour.language.values import Given, report, whole_of
from behaviour.model import InputKind, InputWiring, Level
from behaviour.units import Unreadable

Pull = Literal["up", "down", "none"]
Contact = Literal["normally closed", "normally open"]
Side = Literal["below", "above"]

_PULLS: tuple[Pull, ...] = get_args(Pull)
_CONTACTS: tuple[Contact, ...] = get_args(Contact)
_SIDES: tuple[Side, ...] = get_args(Side)
WIRING: dict[str, Shape] = {
    "pin": PIN,
    "pins": by_value(PIN),
    "pull": Choice(_PULLS),
    "low": VALUE,
    "contact": Choice(_CONTACTS),
    "pushed": VALUE,
    "unplugged": VALUE,
    "levels": by_value(Text("`below` or `above` a count", rf"(?:{'|'.join(_SIDES)})\s.+")),
    "silent": TIME,
}
"""What says how an input is wired."""

_ONE_PIN_TELLS = 2
"""Values that one pin can tell apart."""
_LEVELS_FORM = "levels: {dark: below 300, bright: above 340}"


def input_wiring(
    fields: Fields, name: Word, kind: InputKind | None, values: tuple[str, ...]
) -> tuple[InputWiring, str | None]:
    """Read an input's wiring and its `unplugged` value, written or following from the rest.

    `values` is empty where they are not known; then nothing follows.
    """
    wire = _Wire(
        fields=fields,
        name=name,
        values=values,
        pull=cast("Pull | None", fields.choice("pull", _PULLS)),
        contact=cast("Contact | None", fields.choice("contact", _CONTACTS)),
        low=_value(fields, name, "low", values),
        pushed=_value(fields, name, "pushed", values),
        unplugged=_value(fields, name, "unplugged", values),
        is_button=kind == "button",
    )
    levels = _levels(wire)
    pin, pins = pin_at(fields, name), pins_at(fields, name, values, values)
    _check_pin_fits(wire, kind)
    made = _made(wire) if _is_two_valued(wire) else None
    _check_unplugged(wire, made)
    wiring = InputWiring(
        pin=pin,
        pins=pins,
        pull=wire.pull,
        low=wire.low or _low(wire, made),
        contact=wire.contact,
        pushed=wire.pushed,
        levels=levels,
        silent=fields.time("silent", f"{name.text}.silent"),
    )
    unplugged = wire.unplugged or (made and wire.other(made)) or _cut_analogue(wire, levels)
    _check_silent(wire, unplugged)
    return wiring, unplugged


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wire:
    """What was written of an input's wiring; values that it does not have are left out."""

    fields: Fields
    name: Word
    values: tuple[str, ...]
    pull: Pull | None
    contact: Contact | None
    low: str | None
    pushed: str | None
    unplugged: str | None
    is_button: bool

    def other(self, value: str) -> str:
        """Give the other of two values."""
        return self.values[1] if value == self.values[0] else self.values[0]

    def circuit(self, made: str) -> str:
        pin = self.fields.word("pin", "one pin")
        label = f"pin {pin.text}" if pin is not None else "the pin"
        return drawn(self.pull or "up", label, made, self.other(made))


def _value(fields: Fields, name: Word, key: str, values: tuple[str, ...]) -> str | None:
    word = fields.word(key, "a value")
    if word is None or not values or not known_value(fields.reading, word, name.text, values):
        return None
    return word.text


def _is_two_valued(wire: _Wire) -> bool:
    """Tell whether one contact tells the values apart, and refuse words that need that."""
    fields = wire.fields
    written = [key for key in ("low", "contact", "pushed") if fields.has(key)]
    if fields.has("pins") or fields.has("levels"):
        why = "pins" if fields.has("pins") else "levels"
        for key in written:
            fields.refuse(key, f"`{key}` does not go with `{why}`", hint=f"take `{key}` out")
        return False
    if len(wire.values) > _ONE_PIN_TELLS:
        for key in written:
            fields.refuse(
                key,
                f"`{key}` tells two values apart, and {fields.owner.says} has {len(wire.values)}",
                hint=f"take `{key}` out, and give each value a pin with `pins`",
            )
    return len(wire.values) == _ONE_PIN_TELLS


def _made(wire: _Wire) -> str | None:
    """Find the value at which the contact closes the circuit, where the file says enough."""
    by_words = _made_by_words(wire)
    by_low = None
    if wire.low is not None and wire.pull in ("up", "down"):
        by_low = wire.low if wire.pull == "up" else wire.other(wire.low)
    if by_words is not None and by_low is not None and by_words != by_low:
        wire.fields.reading.mistakes.add(
            wire.fields.key_span("low"),
            f"`low: {wire.low}` contradicts `contact: {wire.contact}`: the contact is made at "
            f"`{by_words}`",
            label="contradicts the contact",
            related=(Label(wire.fields.key_span("contact"), "the contact"),),
            hint=f"take `low` out, since it follows from the rest:\n{wire.circuit(by_words)}",
        )
        return None
    made = by_words or by_low
    if made is None and wire.is_button and wire.pull in ("up", "down") and wire.low is None:
        is_whole = not wire.fields.has("contact") and not wire.fields.has("low")
        return BUTTON_VALUES[1] if is_whole else None
    return made


def _made_by_words(wire: _Wire) -> str | None:
    fields = wire.fields
    if not fields.has("contact"):
        if fields.has("pushed"):
            hint = "write `contact: normally open` or `contact: normally closed` beside it"
            fields.refuse("pushed", "`pushed` says nothing without `contact`", hint=hint)
        return None
    pushed = wire.pushed
    if pushed is None and wire.is_button and not fields.has("pushed"):
        pushed = BUTTON_VALUES[1]
    if pushed is None:
        if not fields.has("pushed"):
            fields.refuse(
                "contact",
                "`contact` says nothing without `pushed`, the value at which the switch is pushed",
                hint=f"write `pushed: {wire.values[0]}` or `pushed: {wire.values[1]}` beside it",
            )
        return None
    if wire.pull not in ("up", "down"):
        if wire.pull == "none" or not fields.has("pull"):
            fields.refuse(
                "contact",
                "a contact needs a pull resistor, or an open one reads anything",
                hint="write `pull: up` or `pull: down` beside it",
            )
        return None
    if wire.contact is None:
        return None
    return pushed if wire.contact == "normally open" else wire.other(pushed)


def _low(wire: _Wire, made: str | None) -> str | None:
    """Give the value that reads low, as it follows from where the contact is made."""
    if made is None:
        return None
    return made if wire.pull == "up" else wire.other(made)


def _check_unplugged(wire: _Wire, made: str | None) -> None:
    if made is None or wire.unplugged in (None, wire.other(made)):
        return
    wire.fields.refuse(
        "unplugged",
        f"`unplugged: {wire.unplugged}` contradicts the wiring: with a cut wire "
        f"{wire.fields.owner.says} reads `{wire.other(made)}`",
        label="contradicts the wiring",
        hint=f"take `unplugged` out, or change the wiring:\n{wire.circuit(made)}",
    )


def _check_silent(wire: _Wire, unplugged: str | None) -> None:
    fields = wire.fields
    is_open = unplugged is None and wire.values and not fields.has("unplugged")
    if fields.has("silent") and is_open and not fields.damaged:
        fields.refuse(
            "silent",
            f"{fields.owner.says} has no `unplugged`, the value that it reads after silence",
            label="needs `unplugged`",
            hint=f"write `unplugged: {wire.values[0]}` beside it",
        )


def _check_pin_fits(wire: _Wire, kind: InputKind | None) -> None:
    fields = wire.fields
    if fields.has("pin") and fields.has("pins"):
        fields.refuse("pins", "`pin` and `pins` do not stand together", hint="keep one of them")
    elif fields.has("pins") and kind not in ("selector", None):
        fields.refuse(
            "pins",
            f"`pins` belong to a selector, and {fields.owner.says} is a {kind}",
            hint="write `pin: 4`, or make it a `kind: selector`",
        )
    elif fields.has("pin") and len(wire.values) > _ONE_PIN_TELLS and not fields.has("levels"):
        fields.refuse(
            "pin",
            f"one pin tells two values apart, and {fields.owner.says} has {len(wire.values)}",
            hint=f"make it a `kind: selector` with `pins: {{{wire.values[1]}: 5, ...}}`",
        )


# --- Analogue -----------------------------------------------------------------------------------


def _levels(wire: _Wire) -> tuple[Level, ...]:
    """Read `levels`: two values, one below a count and one above another."""
    fields, node = wire.fields, wire.fields.node("levels")
    mapping = None
    if node is not None:
        mapping = mapping_at(fields.reading, node, "`levels`", _LEVELS_FORM)
    if mapping is None or not wire.values:
        return ()
    if len(wire.values) > _ONE_PIN_TELLS:
        message = f"`levels` tell two values apart, and {fields.owner.says} has {len(wire.values)}"
        fields.refuse("levels", message, hint="use one input for each border")
        return ()
    found = []
    for entry in mapping.entries:
        value = Word(entry.key.text, entry.key.span)
        word = word_at(fields.reading, entry.value, f"`{value.text}`", "`below` or `above` a count")
        is_known = known_value(fields.reading, value, wire.name.text, wire.values)
        level = None if word is None else _level(wire, value.text, word)
        if is_known and level is not None:
            found.append(level)
    if len(found) == len(mapping.entries) and not mapping.damaged:
        _check_levels(wire, tuple(found))
    return tuple(found)


def _level(wire: _Wire, value: str, word: Word) -> Level | None:
    side, _, rest = word.text.partition(" ")
    if side not in _SIDES or not rest:
        wrong = Unreadable(f"`{word.text}` is not a level", "write `below 300` or `above 340`")
        report(wire.fields.reading, Given(word.text, word.span, None), wrong, "a level", "")
        return None
    number = Word(rest.strip(), word.span)
    count = whole_of(wire.fields.reading, number)
    if count is None:
        return None
    return Level(value=value, side=side, count=count)


def _check_levels(wire: _Wire, levels: tuple[Level, ...]) -> None:
    fields = wire.fields
    missing = [value for value in wire.values if value not in {level.value for level in levels}]
    sides = {level.side: level for level in levels}
    if missing:
        message = f"`levels` give nothing for {listed(missing, 'and')}"
        fields.refuse("levels", message, label="one for each value", hint=f"write `{_LEVELS_FORM}`")
    elif len(sides) < len(levels):
        message = "one value reads below a level, and the other above one"
        fields.refuse("levels", message, label="both on one side", hint=f"write `{_LEVELS_FORM}`")
    elif sides["below"].count > sides["above"].count:
        fields.refuse(
            "levels",
            f"`below {sides['below'].count}` and `above {sides['above'].count}` overlap",
            label="one count would read both",
            hint=f"write `{sides['below'].value}: below {sides['above'].count}` or lower",
        )


def _cut_analogue(wire: _Wire, levels: tuple[Level, ...]) -> str | None:
    """Give what a cut wire reads through its pull resistor: the upper or the lower value."""
    side = {"up": "above", "down": "below"}.get(wire.pull or "none")
    return next((level.value for level in levels if level.side == side), None)
