"""What a sheet of sentences is made of, and the few ways in which words are put together in it.

It knows nothing of behaviours, nor of paper: whoever prints it lays it out.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, a remark for whoever reads on, the sentences to be signed, and parts within."""

    title: str
    lines: tuple[str, ...] = ()
    remark: str = ""
    parts: tuple["Section", ...] = ()

    @property
    def is_empty(self) -> bool:
        return not self.lines and all(part.is_empty for part in self.parts)


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a file says, as sentences, and what it does not say, as questions."""

    prop: str
    sections: tuple[Section, ...]
    questions: tuple[str, ...]


def marked(name: str) -> str:
    """Write a name as it stands in the file."""
    return f"`{name}`"


def quoted(text: str) -> str:
    """Write free text of the file between quotes; one inside is doubled, a new line shown."""
    return "“" + text.replace("”", "””").replace("\n", "¶") + "”"


def remark(about: str) -> str:
    """Write the `about` of a part of a sentence behind it."""
    return f" ({quoted(about)})" if about else ""


def listed(words: Iterable[str], last: str = "and") -> str:
    """Write a list as one says it: `a, b and c`."""
    *before, end = words
    return f"{', '.join(before)} {last} {end}" if before else end


def article(noun: str) -> str:
    """Put `a` or `an` before a word."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"
