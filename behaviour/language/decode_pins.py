"""Reads `pin` and `pins`. It knows nothing of which pins a board has."""

from behaviour.language.fields import Fields, chosen, mapping_at, word_at
from behaviour.language.phrases import listed
from behaviour.language.syntax import Word
from behaviour.language.values import pin_of
from behaviour.model import PinName, Unknown

Pin = PinName | Unknown

_FORM = "pins: {red: 5, green: 6}"


def pin_at(fields: Fields, name: Word) -> Pin | None:
    """Read `pin`, the one pin of an input or output."""
    word = fields.word("pin", "one pin")
    return None if word is None else pin_of(fields.reading, word, f"{name.text}.pin")


def pins_at(
    fields: Fields, name: Word, allowed: tuple[str, ...], values: tuple[str, ...]
) -> tuple[tuple[str, Pin], ...]:
    """Read `pins`: what each is for, one of `allowed`, and the pin.

    Where they stand for `values`, one of these at most may have none: it is what is left when no
    other is chosen.
    """
    node = fields.node("pins")
    mapping = None if node is None else mapping_at(fields.reading, node, "`pins`", _FORM)
    if mapping is None or not allowed:
        return ()
    found: dict[str, Pin] = {}
    for entry in mapping.entries:
        key = Word(entry.key.text, entry.key.span)
        word = word_at(fields.reading, entry.value, f"`{key.text}`", "a pin")
        what = f"{name.text}.pins.{key.text}"
        pin = None if word is None else pin_of(fields.reading, word, what)
        says = f"a pin of {fields.owner.says}"
        if chosen(fields.reading, key, says, allowed) is not None and pin is not None:
            found[key.text] = pin
    is_whole = len(found) == len(mapping.entries) and not mapping.damaged
    missing = [value for value in values if value not in found]
    if is_whole and len(missing) > 1 and set(found) <= set(values):
        fields.refuse(
            "pins",
            f"{listed(missing, 'and')} have no pin",
            label="one value at most may have none",
            hint=f"write `pins: {{{missing[1]}: 5, ...}}`",
        )
    return tuple(found.items())
