"""A file taken apart into texts, lists and keys with values, each with its place.

It knows nothing of what the parts mean.
"""

import re
from bisect import bisect_right
from dataclasses import dataclass, field

from behaviour.source import Span


@dataclass(frozen=True, slots=True, eq=False)
class Scalar:
    """A text as written. `start` and `end` are where it stands in the file, quotes included."""

    text: str
    span: Span
    start: int
    end: int
    plain: bool
    size: int = 1
    height: int = 0

    @property
    def is_blank(self) -> bool:
        """Tell whether nothing at all was written here."""
        return self.plain and not self.text


@dataclass(frozen=True, slots=True, eq=False)
class Listing:
    """A list. `size` counts everything in it; `height` is how deep it goes."""

    items: tuple["Node", ...]
    span: Span
    size: int
    height: int


@dataclass(frozen=True, slots=True, eq=False)
class Entry:
    key: Scalar
    value: "Node"
    span: Span


@dataclass(frozen=True, slots=True, eq=False)
class Mapping:
    """Keys with values. `damaged` where an entry was refused, so that a key may be missing."""

    entries: tuple[Entry, ...]
    span: Span
    size: int
    height: int
    damaged: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Broken:
    """Something that was reported already, and is passed over in silence."""

    span: Span
    size: int = 1
    height: int = 0


Node = Scalar | Listing | Mapping | Broken


def states_in(node: Node) -> Node | None:
    """Give what stands at the key `states`, where there is one."""
    for entry in node.entries if isinstance(node, Mapping) else ():
        if entry.key.text == "states":
            return entry.value
    return None


def are_whole(states: Node) -> bool:
    """Tell whether nothing was refused among states and those inside them, by their keys."""
    if not isinstance(states, Mapping) or states.damaged:
        return False
    inner = [states_in(entry.value) for entry in states.entries]
    return all(are_whole(node) for node in inner if node is not None)


@dataclass(frozen=True, slots=True)
class Places:
    """Turns indexes into a file's text into lines and columns."""

    text: str
    _starts: list[int] = field(init=False, repr=False)
    """Where each line begins, and last of all an index behind every end."""
    _last: int = field(init=False, repr=False)
    _spots: dict[int, list[int] | None] = field(init=False, repr=False, default_factory=dict)
    """Where the signs of a folded or quoted text were written, by where that text begins."""

    def __post_init__(self) -> None:
        starts, at = [0], 0
        for line in self.text.splitlines(keepends=True):
            at += len(line)
            starts.append(at)
        starts.append(at + 2)
        object.__setattr__(self, "_starts", starts)
        object.__setattr__(self, "_last", max(len(self.text.rstrip()) - 1, 0))

    def span(self, start: int, end: int) -> Span:
        """Give the place of `text[start:end]`; never empty, and never behind the last sign."""
        last, starts = self._last, self._starts
        start = min(start, last)
        end = max(end if end <= last else last + 1, start + 1)
        line = bisect_right(starts, start)
        before = starts[line - 1] - 1
        if end < starts[line]:
            return Span(line, start - before, line, end - before)
        end_line = bisect_right(starts, end)
        end_column = end - starts[end_line - 1] + 1
        if end_column == 1:
            return Span(line, start - before, line, start - before + 1)
        return Span(line, start - before, end_line, end_column)

    def inside(self, scalar: Scalar, start: int, end: int) -> Span:
        """Give the place of `scalar.text[start:end]`, wherever folds and escapes put it."""
        if self.text[scalar.start : scalar.end] == scalar.text:
            return self.span(scalar.start + start, scalar.start + end)
        if scalar.start not in self._spots:
            written = self.text[scalar.start : scalar.end]
            self._spots[scalar.start] = _spots(written, scalar.text)
        spots = self._spots[scalar.start]
        if spots is None or not spots:
            return scalar.span
        first = spots[min(start, len(spots) - 1)]
        last = spots[max(min(end, len(spots)) - 1, 0)]
        return self.span(scalar.start + first, scalar.start + max(last, first) + 1)


_ESCAPE = re.compile(r"\\(?:x[0-9A-Fa-f]{2}|u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)", re.DOTALL)
_CONTINUED = re.compile(r"\\\r?\n\s*")
_FOLD = re.compile(r"[ \t]*[\r\n\x85\u2028\u2029]\s*")
_SPACE = re.compile(r"\s*")
_HEADER = re.compile(r"[|>][^\r\n]*")


def _spots(written: str, text: str) -> list[int] | None:
    """Find for each sign of a quoted or folded text where it was written; None if that fails."""
    header = _HEADER.match(written)
    quote = written[:1] if written[:1] in ("'", '"') else ""
    at = header.end() if header else len(quote)
    spots = []
    for sign in text:
        if quote == '"' and (continued := _CONTINUED.match(written, at)):
            at = continued.end()
        if not sign.isspace() and (space := _SPACE.match(written, at)):
            at = space.end()
        spots.append(at)
        if quote == '"' and (escape := _ESCAPE.match(written, at)):
            at = escape.end()
        elif sign.isspace():
            fold = _FOLD.match(written, at)
            at = fold.end() if fold else at + written[at : at + 1].isspace()
        elif written[at : at + 1] == sign:
            at += 2 if quote == sign else 1
        else:
            return None
    return spots
