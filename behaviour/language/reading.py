"""What one reading of a file has at hand: its places, its mistakes, its settings and unknowns."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import islice

from behaviour.language.mistakes import Mistakes
from behaviour.language.nodes import Places
from behaviour.language.syntax import Word
from behaviour.model import NamedSetting, Unknown
from behaviour.source import Span
from behaviour.suggest import nearest

MOST_SUGGESTED = 200
"""Mistakes of one file for which a near name is looked for; a wild file is still read fast."""

MOST_COMPARED = 500
"""Known names that are compared with a wrong one."""


@dataclass(slots=True)
class Settings:
    """The values of `settings` by name, None where one could not be read, and how often used."""

    values: dict[str, Word | None] = field(default_factory=dict)
    names: dict[str, Word] = field(default_factory=dict)
    uses: dict[str, int] = field(default_factory=dict)

    def listed(self) -> tuple[NamedSetting, ...]:
        return tuple(
            NamedSetting(
                name=name,
                text=value.text,
                uses=self.uses[name],
                span=word.span,
                at=value.span,
            )
            for name, word in self.names.items()
            if (value := self.values[name]) is not None
        )


@dataclass(slots=True)
class Reading:
    places: Places
    mistakes: Mistakes = field(default_factory=Mistakes)
    settings: Settings = field(default_factory=Settings)
    unknowns: dict[str, Unknown] = field(default_factory=dict)
    shared_states: frozenset[str] = frozenset()
    """Names of states that more than one region has."""

    def unknown(self, what: str, span: Span) -> Unknown:
        """Note a value that is left open. A second one of the same name gets a number."""
        name, number = what, 1
        while name in self.unknowns:
            number += 1
            name = f"{what} {number}"
        self.unknowns[name] = Unknown(name, span)
        return self.unknowns[name]

    def place(self, region: str, state: str) -> str:
        """Name a state for an unknown: by itself, with its region only where that is needed."""
        return f"{region}.{state}" if state in self.shared_states else state

    def near(self, word: str, known: Iterable[str]) -> tuple[str, ...]:
        """Give the nearest known names, as long as the file has not too many mistakes for that."""
        if len(self.mistakes) > MOST_SUGGESTED:
            return ()
        return nearest(word, islice(known, MOST_COMPARED))
