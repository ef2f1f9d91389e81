"""Reads `settings`: values written once, and usable by name wherever such a value may stand.

It knows nothing of where they are used.
"""

from behaviour.language.fields import named_at, word_at
from behaviour.language.nodes import Node
from behaviour.language.reading import Reading
from behaviour.language.syntax import Word
from behaviour.language.values import UNKNOWN, is_pin
from behaviour.units import Unreadable, read_figure, read_time, read_whole, shortened

FORM = "jam_time: 1500 ms"


def decode_settings(reading: Reading, node: Node) -> None:
    """Put every setting where the rest of the reading looks for it."""
    for name, value in named_at(reading, node, "`settings`", "setting", FORM):
        word = word_at(reading, value, f"`{name.text}`", "one value")
        settings = reading.settings
        settings.names[name.text] = name
        settings.values[name.text] = None if word is None else _checked(reading, name, word)
        settings.uses[name.text] = 0


def _checked(reading: Reading, name: Word, word: Word) -> Word | None:
    text = word.text
    if text == UNKNOWN:
        reading.unknown(name.text, word.span)
        return word
    ends = text.split(" to ")
    wrongs = [wrong for end in ends if isinstance(wrong := read_time(end), Unreadable)]
    readable = (
        not wrongs
        or is_pin(text)
        or not isinstance(read_whole(text), Unreadable)
        or not isinstance(read_figure(text), Unreadable)
    )
    if readable:
        return word
    reading.mistakes.add(
        word.span,
        f"`{shortened(text)}` is not a value that a setting can hold",
        label="not a value",
        hint=wrongs[0].hint if text[:1].isdigit() else _HINT,
    )
    return None


_HINT = (
    "it holds a time such as `1500 ms`, a range such as `250 ms to 400 ms`, a whole number, a "
    "figure such as `20 deg`, a pin such as `A0`, or `unknown`"
)
