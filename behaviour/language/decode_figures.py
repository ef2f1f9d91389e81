"""Takes figures with units out of a group of keys, each with where it comes from if that is said.

It knows no part of the language by name.
"""

import re
from collections.abc import Mapping as MappingOf
from dataclasses import dataclass, field

from behaviour.language.fields import Fields, Owner, fields_at, items_at, narrowed, word_at
from behaviour.language.nodes import Mapping, Node
from behaviour.language.reading import Reading
from behaviour.language.shapes import Choice, Either, Group, Shape, Text, figure
from behaviour.language.values import figure_of
from behaviour.model import Quantity
from behaviour.units import Dimension, shortened

KNOWN = ("guess", "maker", "measured")
_FORM = "{value: 3.8 mH, known: maker}"
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_DATE = re.compile(_DAY)


def figure_with_origin(dimension: Dimension) -> Either:
    """Give the shape of a figure, plain or with where it comes from."""
    plain = figure(dimension)
    keys: dict[str, Shape] = {"value": plain, "known": Choice(KNOWN), "on": Text("a day", _DAY)}
    thing = f"{dimension.name.lower()} with its origin"
    return Either((plain, Group(thing, keys, needed=("value",))))


def figures_of(dimensions: MappingOf[str, Dimension]) -> dict[str, Shape]:
    """Give the shape of each of some figures."""
    return {key: figure_with_origin(dimension) for key, dimension in dimensions.items()}


@dataclass(slots=True)
class FoundFigures:
    """The figures of one part as they are found; `name` is how an unknown one is called."""

    reading: Reading
    name: str
    found: list[tuple[str, Quantity]] = field(default_factory=list)

    def take(
        self, path: str, node: Node, dimension: Dimension, *, is_more: bool = False
    ) -> Quantity | None:
        """Read one figure, plain or with where it comes from; keep it unless it is unknown.

        With `is_more` it must be more than nothing.
        """
        at, known, on = node, None, ""
        if isinstance(node, Mapping):
            given = _with_origin(self.reading, node, path)
            if given is None:
                return None
            at, known, on = given
        word = word_at(self.reading, at, f"`{path.rpartition('.')[2]}`", dimension.value)
        figure = None
        if word is not None:
            figure = figure_of(self.reading, word, (dimension,), f"{self.name}.{path}")
        if word is None or not isinstance(figure, Quantity):
            return None
        if figure.number < 0:
            message = f"`{word.text}` is negative, and this is a size"
            self.reading.mistakes.add(word.span, message, hint="write it without the sign")
        if is_more and figure.number == 0:
            message = f"`{word.text}` is nothing, and here stands more than nothing"
            self.reading.mistakes.add(word.span, message, hint=f"write {dimension.value}")
        quantity = Quantity(
            number=figure.number, unit=figure.unit, known=known, on=on, span=figure.span
        )
        self.found.append((path, quantity))
        return quantity

    def take_whole(self, path: str, node: Node) -> None:
        """Read a count, which is a whole number of at least one."""
        quantity = self.take(path, node, Dimension.NUMBER)
        if quantity is not None and (quantity.number < 1 or quantity.number % 1):
            message = f"`{path}` is a count, and so a whole number from 1 up"
            self.reading.mistakes.add(quantity.span, message, hint="write `200`")

    def take_group(
        self, fields: Fields, key: str, dimensions: MappingOf[str, Dimension], under: str = ""
    ) -> None:
        """Read a group of figures at a key, such as `winding: {current: 2.8 A}`.

        `under` is what stands before the key in their paths.
        """
        owner = Owner(f"`{key}`", fields.key_span(key), key)
        form = f"{key}: {_form(dimensions)}"
        node = fields.entries[key].value
        group = fields_at(self.reading, node, owner, tuple(dimensions), form)
        for part, entry in ({} if group is None else group.entries).items():
            self.take(f"{under}{key}.{part}", entry.value, dimensions[part])

    def take_list(
        self, path: str, node: Node, thing: str, dimensions: MappingOf[str, Dimension]
    ) -> None:
        """Read a list of groups of figures, numbered from 1 in their paths; the first is needed."""
        form, needed = _form(dimensions), next(iter(dimensions))
        items = items_at(self.reading, node, f"`{path.rpartition('.')[2]}`", f"[{form}]")
        for number, item in enumerate(items, 1):
            owner = Owner(f"a {thing}", narrowed(item.span), thing)
            group = fields_at(self.reading, item, owner, tuple(dimensions), form)
            if group is None:
                continue
            group.needed(needed, f"{needed}: {example(dimensions[needed])}")
            for part, entry in group.entries.items():
                self.take(f"{path}.{number}.{part}", entry.value, dimensions[part])


def example(dimension: Dimension) -> str:
    """Give an example of a figure, such as `2.8 A`."""
    return dimension.value.split("`")[1]


def _form(dimensions: MappingOf[str, Dimension]) -> str:
    part, dimension = next(iter(dimensions.items()))
    return f"{{{part}: {example(dimension)}}}"


def _with_origin(reading: Reading, node: Mapping, path: str) -> tuple[Node, str | None, str] | None:
    owner = Owner(f"`{path}`", narrowed(node.span), "figure")
    fields = fields_at(reading, node, owner, ("value", "known", "on"), _FORM)
    value = None if fields is None else fields.needed("value", "value: 3.8 mH")
    if fields is None or value is None:
        return None
    return value, fields.choice("known", KNOWN), _date(fields)


def _date(fields: Fields) -> str:
    """Read the day on which a figure was found, which tells the build that it belongs to."""
    word = fields.word("on", "a day")
    if word is None:
        return ""
    if not _DATE.fullmatch(word.text):
        message = f"`{shortened(word.text)}` is not a day"
        fields.reading.mistakes.add(word.span, message, hint="write `2026-11-25`")
        return ""
    return word.text
