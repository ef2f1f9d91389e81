"""Reads the list of values that an input or output may have.

It knows nothing of what they stand for.
"""

from behaviour.language.fields import Fields, check_name, words_at
from behaviour.language.shapes import NAME, ListOf

BUTTON_VALUES = ("released", "pressed")
FEWEST_VALUES = 2
VALUES = ListOf(NAME, least=FEWEST_VALUES)


def values_of(fields: Fields, form: str) -> tuple[str, ...] | None:
    """Read `values`, two or more names; None where they are not known for certain."""
    node = fields.needed("values", form)
    words = None if node is None else words_at(fields.reading, node, "`values`", form)
    if words is None:
        return None
    texts = [word.text for word in words]
    for number, word in enumerate(words):
        check_name(fields.reading, word)
        if word.text in texts[:number]:
            message = f"the value `{word.text}` stands twice"
            fields.reading.mistakes.add(word.span, message, label="again", hint="keep one")
    if len(set(texts)) < FEWEST_VALUES:
        message = f"{fields.owner.says} has fewer than two values"
        fields.refuse("values", message, label="two at least", hint=f"write `{form}`")
    return tuple(dict.fromkeys(texts))
