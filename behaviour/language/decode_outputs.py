"""Reads `outputs` and `counters`: what the prop drives, and what it counts.

It knows nothing of what sets them.
"""

from typing import Literal, cast, get_args

from behaviour.language.decode_pins import pin_at, pins_at
from behaviour.language.decode_values import VALUES, values_of
from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    known_value,
    mapping_at,
    named_at,
    word_at,
)
from behaviour.language.nodes import Node
from behaviour.language.phrases import with_article
from behaviour.language.reading import Reading
from behaviour.language.shapes import (
    PIN,
    TEXT,
    TIME,
    VALUE,
    WHOLE,
    YES_NO,
    Choice,
    Group,
    by_value,
    figure,
)
from behaviour.language.syntax import Declared, Word
from behaviour.language.values import figure_of, whole_of
from behaviour.model import (
    HAZARD_KINDS,
    Counter,
    Output,
    OutputKind,
    OutputWiring,
    Quantity,
    Unknown,
)
from behaviour.units import Dimension

Level = Literal["high", "low"]
Turns = Literal["as wired", "other way"]

FORM = "lamp: {kind: lamp, values: [dark, green]}"
COUNTER_FORM = "loaded: {from: 0, to: 6, begins: 6}"

_KINDS: tuple[OutputKind, ...] = get_args(OutputKind)
_EXAMPLES: dict[OutputKind, str] = {
    "motor": "stopped, forward",
    "valve": "shut, open",
    "servo": "shut, open",
    "lamp": "dark, green",
    "light": "dark, glow",
    "sound": "quiet, bell",
}
_ONLY_FOR: dict[str, tuple[OutputKind, ...]] = {
    "turns": ("motor",),
    "pause": ("motor",),
    "pulse": ("sound", "signal"),
    "gap": ("sound", "signal"),
}
"""Keys that mean something for some kinds alone."""

MOTOR_SIGNALS = ("step", "dir", "enable")
"""What the pins of a motor may be for, beside its values."""

_GIVES: dict[OutputKind, tuple[Dimension, ...]] = {
    "servo": (Dimension.ANGLE,),
    "motor": (Dimension.SHARE, Dimension.SPEED),
    "signal": (Dimension.SHARE, Dimension.FREQUENCY, Dimension.VOLTAGE),
}
_GIVES_OTHERWISE = (Dimension.SHARE,)
_ALL_GIVEN = tuple(
    dict.fromkeys(each for given in (*_GIVES.values(), _GIVES_OTHERWISE) for each in given)
)
_LEVELS: tuple[Level, ...] = get_args(Level)
_TURNS: tuple[Turns, ...] = get_args(Turns)
OUTPUT = Group(
    "output",
    {
        "kind": Choice(_KINDS),
        "values": VALUES,
        "rest": VALUE,
        "keeps": YES_NO,
        "hazard": YES_NO,
        "pin": PIN,
        "pins": by_value(PIN),
        "on_when": Choice(_LEVELS),
        "turns": Choice(_TURNS),
        "pause": TIME,
        "least": TIME,
        "gives": by_value(figure(*_ALL_GIVEN)),
        "fade": TIME,
        "pulse": TIME,
        "gap": TIME,
        "draws": figure(Dimension.CURRENT),
        "about": TEXT,
    },
    needed=("kind", "values"),
)
COUNTER = Group(
    "counter",
    {"from": WHOLE, "to": WHOLE, "begins": WHOLE, "about": TEXT},
    needed=("from", "to", "begins"),
)
_WHOLE_SHARE = 100
_ONE_PIN_TELLS = 2
"""Values that one pin can tell apart."""


def decode_outputs(reading: Reading, node: Node) -> tuple[Declared[Output], ...]:
    """Read every output; one that could not be read whole keeps its name."""
    parts = named_at(reading, node, "`outputs`", "output", FORM)
    return tuple(_output(reading, name, part) for name, part in parts)


def _output(reading: Reading, name: Word, node: Node) -> Declared[Output]:
    owner = Owner(f"`{name.text}`", name.span, "output")
    fields = fields_at(reading, node, owner, OUTPUT.keys, FORM)
    if fields is None:
        return Declared(name=name, values=None, whole=None)
    kind: OutputKind | None = None
    if fields.needed("kind", "kind: lamp") is not None:
        kind = cast("OutputKind | None", fields.choice("kind", _KINDS))
    values = values_of(fields, f"values: [{_EXAMPLES.get(kind or 'lamp', 'off, on')}]")
    _check_kind(fields, kind)
    rest = _rest(fields, name, values)
    hazard = fields.is_yes("hazard")
    pause = fields.time("pause", f"{name.text}.pause")
    least = fields.time("least", f"{name.text}.least")
    keeps = bool(fields.is_yes("keeps"))
    wiring = _wiring(fields, name, kind, values or ())
    if kind is None or values is None or rest is None:
        return Declared(name=name, values=values, whole=None)
    whole = Output(
        name=name.text,
        kind=kind,
        values=values,
        rest=rest,
        keeps=keeps,
        hazard=kind in HAZARD_KINDS if hazard is None else hazard,
        pause=pause,
        least=least,
        wiring=wiring,
        about=fields.text("about"),
        span=name.span,
    )
    return Declared(name=name, values=values, whole=whole)


def _check_kind(fields: Fields, kind: OutputKind | None) -> None:
    for key, kinds in _ONLY_FOR.items():
        if fields.has(key) and kind is not None and kind not in kinds:
            fields.refuse(
                key,
                f"`{key}` belongs to {with_article(kinds[0])}, and {fields.owner.says} is "
                f"{with_article(kind)}",
                label=f"not for {with_article(kind)}",
                hint=f"take it out, or write `kind: {kinds[0]}`",
            )
    if fields.has("gap") and not fields.has("pulse"):
        hint = "write `pulse: 120 ms` beside it"
        fields.refuse("gap", "`gap` is the time between pulses, and there is no `pulse`", hint=hint)


def _rest(fields: Fields, name: Word, values: tuple[str, ...] | None) -> str | None:
    word = fields.word("rest", "a value")
    if not values:
        return None
    if word is None:
        return values[0]
    return word.text if known_value(fields.reading, word, name.text, values) else None


def _wiring(
    fields: Fields, name: Word, kind: OutputKind | None, values: tuple[str, ...]
) -> OutputWiring:
    signals = MOTOR_SIGNALS if kind == "motor" else ()
    gives = _gives(fields, name, kind, values)
    _check_pin(fields, values, gives)
    turns = fields.choice("turns", _TURNS)
    on_when = fields.choice("on_when", _LEVELS)
    return OutputWiring(
        pin=pin_at(fields, name),
        pins=pins_at(fields, name, (*values, *signals), values),
        on_when=cast("Level", on_when or "high"),
        turns=cast("Turns", turns or "as wired"),
        gives=gives,
        fade=fields.time("fade", f"{name.text}.fade"),
        pulse=fields.time("pulse", f"{name.text}.pulse"),
        gap=fields.time("gap", f"{name.text}.gap"),
        draws=_draws(fields, name),
    )


def _check_pin(
    fields: Fields, values: tuple[str, ...], gives: tuple[tuple[str, Quantity], ...]
) -> None:
    if fields.has("pin") and fields.has("pins"):
        fields.refuse("pins", "`pin` and `pins` do not stand together", hint="keep one of them")
    elif fields.has("pin") and len(values) > _ONE_PIN_TELLS and len(gives) < len(values) - 1:
        fields.refuse(
            "pin",
            f"one pin tells two values apart, and {fields.owner.says} has {len(values)}",
            hint=f"write `pins: {{{values[1]}: 5, {values[2]}: 6}}`, or say in `gives` what each "
            "value stands for",
        )


def _gives(
    fields: Fields, name: Word, kind: OutputKind | None, values: tuple[str, ...]
) -> tuple[tuple[str, Quantity], ...]:
    """Read what values stand for, such as an angle or a brightness."""
    reading, node = fields.reading, fields.node("gives")
    mapping = None
    if node is not None:
        mapping = mapping_at(reading, node, "`gives`", "gives: {shut: 20 deg, open: 110 deg}")
    if mapping is None or kind is None or not values:
        return ()
    found = []
    for entry in mapping.entries:
        value = Word(entry.key.text, entry.key.span)
        word = word_at(reading, entry.value, f"`{value.text}`", "a figure")
        if not known_value(reading, value, name.text, values) or word is None:
            continue
        dimensions = _GIVES.get(kind, _GIVES_OTHERWISE)
        figure = figure_of(reading, word, dimensions, f"{name.text}.gives.{value.text}")
        if isinstance(figure, Quantity):
            _check_share(reading, word, figure)
            found.append((value.text, figure))
    return tuple(found)


def _draws(fields: Fields, name: Word) -> Quantity | Unknown | None:
    """Read what each pin of the output gives while it is on."""
    word = fields.word("draws", "a current")
    if word is None:
        return None
    return figure_of(fields.reading, word, (Dimension.CURRENT,), f"{name.text}.draws")


def _check_share(reading: Reading, word: Word, figure: Quantity) -> None:
    if figure.unit == "%" and not 0 <= figure.number <= _WHOLE_SHARE:
        message = f"`{word.text}` is not between 0 % and 100 %"
        reading.mistakes.add(word.span, message, hint="write `100 %` for all of it")


# --- Counters -----------------------------------------------------------------------------------


def decode_counters(reading: Reading, node: Node) -> tuple[Declared[Counter], ...]:
    """Read every counter; one that could not be read whole keeps its name."""
    parts = named_at(reading, node, "`counters`", "counter", COUNTER_FORM)
    return tuple(_counter(reading, name, part) for name, part in parts)


def _counter(reading: Reading, name: Word, node: Node) -> Declared[Counter]:
    owner = Owner(f"`{name.text}`", name.span, "counter")
    fields = fields_at(reading, node, owner, COUNTER.keys, COUNTER_FORM)
    nothing: Declared[Counter] = Declared(name=name, values=None, whole=None)
    if fields is None:
        return nothing
    about = fields.text("about")
    low, high, begins = (
        _count(fields, key, proposal)
        for key, proposal in (("from", "from: 0"), ("to", "to: 6"), ("begins", "begins: 0"))
    )
    if low is None or high is None:
        return nothing
    if low > high:
        message = f"{fields.owner.says} goes from {low} to {high}, which is backwards"
        hint = f"write `from: {high}, to: {low}`"
        fields.refuse("from", message, label="more than `to`", hint=hint)
        return nothing
    if begins is None:
        return nothing
    if not low <= begins <= high:
        fields.refuse(
            "begins",
            f"{fields.owner.says} begins at {begins}, and counts from {low} to {high}",
            label="outside its range",
            hint=f"write `begins: {low}`",
        )
    counter = Counter(
        name=name.text, low=low, high=high, begins=begins, about=about, span=name.span
    )
    return Declared(name=name, values=None, whole=counter)


def _count(fields: Fields, key: str, proposal: str) -> int | None:
    if fields.needed(key, proposal) is None:
        return None
    word = fields.word(key, "a whole number")
    return None if word is None else whole_of(fields.reading, word)
