"""Takes a group of keys apart: which keys there are, which are missing, and what shape each has.

It knows no part of the language by name.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import assert_never

from behaviour.language import values
from behaviour.language.names import wrong_name
from behaviour.language.nodes import Broken, Entry, Listing, Mapping, Node, Scalar
from behaviour.language.phrases import listed, there_is, with_article
from behaviour.language.reading import Reading
from behaviour.language.shapes import YES_NO
from behaviour.language.syntax import Word
from behaviour.model import Time
from behaviour.source import Span
from behaviour.units import shortened


@dataclass(frozen=True, slots=True)
class Owner:
    """Whose keys these are: `says` as a message has it, such as `` `lid` ``, and its place.

    `thing` is what it is, such as `input`.
    """

    says: str
    at: Span
    thing: str


@dataclass(frozen=True, slots=True)
class Fields:
    """A group of keys, each known. Every call reports what is not as it should be."""

    reading: Reading
    owner: Owner
    entries: dict[str, Entry]
    damaged: bool

    def node(self, key: str) -> Node | None:
        entry = self.entries.get(key)
        return None if entry is None else entry.value

    def has(self, key: str) -> bool:
        return key in self.entries

    def key_span(self, key: str) -> Span:
        return self.entries[key].key.span

    def needed(self, key: str, proposal: str) -> Node | None:
        """Give the value of a key that must be there; `proposal` is what could be written."""
        node = self.node(key)
        if node is None and not self.damaged:
            self.reading.mistakes.add(
                self.owner.at,
                f"{self.owner.says} has no `{key}`",
                label=f"no `{key}`",
                hint=f"write `{proposal}`",
            )
        return node

    def text(self, key: str) -> str:
        """Give free text; empty where the key is not there."""
        node = self.node(key)
        word = None if node is None else word_at(self.reading, node, f"`{key}`", "text")
        return "" if word is None else word.text

    def word(self, key: str, wants: str) -> Word | None:
        """Give the one word or text of a key; `wants` says what belongs there."""
        node = self.node(key)
        return None if node is None else word_at(self.reading, node, f"`{key}`", wants)

    def choice(self, key: str, options: Sequence[str]) -> str | None:
        """Give one of the words that a key may have."""
        word = self.word(key, f"one of {listed(options)}")
        return None if word is None else chosen(self.reading, word, f"`{key}`", options)

    def is_yes(self, key: str) -> bool | None:
        """Read `yes` or `no`; None where the key is not there."""
        word = self.choice(key, YES_NO.options)
        return None if word is None else word == "yes"

    def time(self, key: str, what: str) -> Time | None:
        """Read a time; where it is `unknown`, `what` names it."""
        word = self.word(key, "a time")
        return None if word is None else values.time_of(self.reading, word, what)

    def refuse(self, key: str, message: str, *, label: str = "", hint: str = "") -> None:
        """Report a key that should not be there."""
        self.reading.mistakes.add(self.key_span(key), message, label=label, hint=hint)


def fields_at(
    reading: Reading, node: Node, owner: Owner, known: Collection[str], form: str
) -> Fields | None:
    """Take a group of keys apart and report those that are not known; `form` is a whole example."""
    mapping = mapping_at(reading, node, owner.says, form)
    if mapping is None:
        return None
    damaged = mapping.damaged
    entries = {}
    for entry in mapping.entries:
        if entry.key.text in known:
            entries[entry.key.text] = entry
            continue
        damaged = True
        near = reading.near(entry.key.text, known)
        parts = f"{with_article(owner.thing)} may have {listed(known, 'and')}"
        reading.mistakes.add(
            entry.key.span,
            f"`{shortened(entry.key.text)}` is not a part of {with_article(owner.thing)}",
            label="not known here",
            hint=f"there is `{near[0]}`" if near else parts,
        )
    return Fields(reading, owner, entries, damaged)


def mapping_at(reading: Reading, node: Node, says: str, form: str) -> Mapping | None:
    """Give keys with values; `form` is an example of how they are written."""
    match node:
        case Mapping():
            return node
        case Broken():
            return None
        case Scalar() if node.is_blank:
            _report_blank(reading, node, says, form)
        case Scalar() if ":" in node.text and node.plain:
            key, _, value = node.text.partition(":")
            hint = f"put a space after the colon: `{key}: {shortened(value.strip(), 40)}`"
            reading.mistakes.add(node.span, f"{says} takes keys with values, not a text", hint=hint)
        case Scalar() | Listing():
            reading.mistakes.add(
                narrowed(node.span),
                f"{says} takes keys with values, not {shape(node)}",
                label=shape(node),
                hint=f"write `{form}`",
            )
        case _:
            assert_never(node)
    return None


def items_at(reading: Reading, node: Node, says: str, form: str) -> tuple[Node, ...]:
    """Give the items of a list; `form` is an example of one."""
    match node:
        case Listing():
            return node.items
        case Broken():
            pass
        case Scalar() if node.is_blank:
            _report_blank(reading, node, says, form)
        case Scalar() | Mapping():
            reading.mistakes.add(
                narrowed(node.span),
                f"{says} takes a list, not {shape(node)}",
                label=shape(node),
                hint=f"write `{form}`",
            )
        case _:
            assert_never(node)
    return ()


def word_at(reading: Reading, node: Node, says: str, wants: str) -> Word | None:
    """Give the one text that stands here; `wants` says what belongs there."""
    scalar = scalar_at(reading, node, says, wants)
    return None if scalar is None else Word(scalar.text, scalar.span)


def scalar_at(reading: Reading, node: Node, says: str, wants: str) -> Scalar | None:
    """Give the one text that stands here with its place sign by sign."""
    match node:
        case Scalar() if node.is_blank:
            _report_blank(reading, node, says, "")
        case Scalar():
            return node
        case Broken():
            pass
        case Listing() | Mapping():
            reading.mistakes.add(
                narrowed(node.span),
                f"{says} takes {wants}, not {shape(node)}",
                label=shape(node),
            )
        case _:
            assert_never(node)
    return None


def words_at(reading: Reading, node: Node, says: str, form: str) -> tuple[Word, ...] | None:
    """Give a list of single words; None where one of them could not be read."""
    items = items_at(reading, node, says, form)
    found = [word_at(reading, item, f"an item of {says}", "one word") for item in items]
    words = tuple(word for word in found if word is not None)
    is_whole = isinstance(node, Listing) and len(words) == len(found)
    return words if is_whole else None


def named_at(
    reading: Reading, node: Node, says: str, thing: str, form: str
) -> tuple[tuple[Word, Node], ...]:
    """Give the parts of a group whose keys are names of the file, each name checked.

    A part whose name is wrong is kept: its uses are not mistakes of their own.
    """
    mapping = mapping_at(reading, node, says, form)
    if mapping is None:
        return ()
    found = []
    for entry in mapping.entries:
        name = Word(entry.key.text, entry.key.span)
        check_name(reading, name)
        found.append((name, entry.value))
    if not found and not mapping.damaged:
        message = f"{says} names no {thing}"
        reading.mistakes.add(narrowed(node.span), message, hint=f"write `{form}`")
    return tuple(found)


def check_name(reading: Reading, name: Word) -> bool:
    """Report a name that is none; tell whether it is one."""
    wrong = wrong_name(name.text)
    if wrong is not None:
        reading.mistakes.add(name.span, wrong.why, label="not a name", hint=wrong.hint)
    return wrong is None


def chosen(reading: Reading, word: Word, says: str, options: Sequence[str]) -> str | None:
    """Give a word if it is one of the options."""
    if word.text in options:
        return word.text
    near = reading.near(word.text, options)
    message = f"{says} cannot be `{shortened(word.text)}`"
    hint = f"it is {listed(options)}"
    if near and set(options) != {"yes", "no"}:
        hint = f"there is `{near[0]}`; {hint}"
    reading.mistakes.add(word.span, message, label="not known here", hint=hint)
    return None


def known_value(reading: Reading, word: Word, owner: str, options: Sequence[str]) -> bool:
    """Tell whether a word is one of the values of `owner`, and report it if not."""
    if word.text in options:
        return True
    near = reading.near(word.text, options)
    reading.mistakes.add_once(
        ("value", owner, word.text),
        word.span,
        f"`{shortened(word.text)}` is not a value of `{owner}`",
        label="no such value",
        hint=there_is("value", near) if near else f"its values are {listed(options, 'and')}",
    )
    return False


def shape(node: Node) -> str:
    """Say what shape something has."""
    match node:
        case Listing():
            return "a list"
        case Mapping():
            return "keys with values"
        case _:
            return "a text"


def narrowed(span: Span) -> Span:
    """Keep the first sign of what goes over several lines."""
    if span.line == span.end_line:
        return span
    return Span(span.line, span.column, span.line, span.column + 1)


def _report_blank(reading: Reading, node: Scalar, says: str, form: str) -> None:
    hint = f"write `{form}`" if form else "write what belongs there, or take the key out"
    message = f"{says} has nothing after its colon"
    reading.mistakes.add(node.span, message, label="nothing here", hint=hint)
