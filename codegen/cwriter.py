"""Layout of C: indentation, line length, comments that nothing gets out of. It knows no model.

The style is C99 without `//`: 4 spaces, 80 columns, braces always.
"""

import re
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

WIDTH = 80
INDENT = 4
CONTINUED = 8
"""How far the rest of a long line stands to the right of its beginning."""


class CWriter:
    """Collects the lines of one C file."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._depth = 0

    def text(self) -> str:
        """Give all lines, each ended, without blank lines at the end."""
        return "\n".join(self._lines).rstrip("\n") + "\n"

    def line(self, text: str = "") -> None:
        """Write one line as it is, indented; nothing is broken."""
        self._lines.append(" " * self._depth + text if text else "")

    def statement(self, text: str) -> None:
        """Write a statement or declaration, broken after commas and `=` where it is too long."""
        first, *rest = fold(text, WIDTH - self._depth)
        self.line(first)
        for part in rest:
            self.line(" " * CONTINUED + part)

    def comment(self, *paragraphs: str) -> None:
        """Write a comment: on one line if it fits, else a block; each paragraph begins a line."""
        room = WIDTH - self._depth - len(" * ")
        lines = [line for text in paragraphs for line in wrapped(safe_words(text), room)]
        if len(lines) == 1 and len(lines[0]) <= WIDTH - self._depth - len("/*  */"):
            self.line(f"/* {lines[0]} */")
            return
        self.line("/*")
        for line in lines:
            self.line(f" * {line}".rstrip())
        self.line(" */")

    @property
    def depth(self) -> int:
        """How many columns the next line is indented."""
        return self._depth

    @contextmanager
    def indented(self) -> Iterator[None]:
        """Indent what is written inside."""
        self._depth += INDENT
        yield
        self._depth -= INDENT

    def open_if(self, tests: Sequence[str], lead: str = "") -> None:
        """Write an `if` up to its brace; `lead` stands before it. Tests are joined by `&&`."""
        whole = f"{lead}if ({' && '.join(tests)}) {{"
        if len(whole) <= WIDTH - self._depth:
            self.line(whole)
            return
        first, *others = tests
        self.continued([f"{lead}if ({first}", *(f"&& {test}" for test in others)], ") {")

    def continued(self, lines: Sequence[str], end: str) -> None:
        """Write one long line on several; `end` closes the last, and any too long is folded."""
        for number, line in enumerate(lines):
            room = WIDTH - self._depth - (CONTINUED if number else 0)
            closed = line + (end if number == len(lines) - 1 else "")
            for inner, part in enumerate(fold(closed, room)):
                further = (CONTINUED if number else 0) + (INDENT if inner else 0)
                self.line(" " * (further + (INDENT if inner and not number else 0)) + part)

    @contextmanager
    def block_if(self, tests: Sequence[str]) -> Iterator[None]:
        """Write an `if` on tests that must all hold, and what is inside."""
        self.open_if(tests)
        with self.indented():
            yield
        self.line("}")

    @contextmanager
    def switch(self, what: str) -> Iterator[None]:
        """Write a `switch`; its cases stand under it, not further in."""
        self.line(f"switch ({what}) {{")
        yield
        self.line("}")

    @contextmanager
    def block(self, head: str, tail: str = "}") -> Iterator[None]:
        """Write `head` and an opening brace, what is inside, and `tail`."""
        self.statement(f"{head} {{")
        with self.indented():
            yield
        self.line(tail)

    @contextmanager
    def function(self, head: str) -> Iterator[None]:
        """Write a function with its brace on a line of its own and a blank line after it."""
        self.statement(head)
        self.line("{")
        with self.indented():
            yield
        self.line("}")
        self.line()

    @contextmanager
    def header(self, guard: str) -> Iterator[None]:
        """Guard a header against being read twice, and open it to C++."""
        self.line(f"#ifndef {guard}")
        self.line(f"#define {guard}")
        self.line()
        yield
        self.line()
        self.line(f"#endif /* {guard} */")

    @contextmanager
    def linkage(self) -> Iterator[None]:
        """Give what is inside C linkage where C++ reads it."""
        self.line("#ifdef __cplusplus")
        self.line('extern "C" {')
        self.line("#endif")
        self.line()
        yield
        self.line()
        self.line("#ifdef __cplusplus")
        self.line("}")
        self.line("#endif")


def fold(text: str, room: int) -> list[str]:
    """Break code before `?`, after commas and `=`, and last of all after `(`, to fit `room`.

    A single name longer than a line stays whole.
    """
    if len(text) <= room:
        return [text]
    if " ? " in text:
        head, _, choice = text.partition(" ? ")
        choices = _filled(re.split(r" (?=: )", f"? {choice}"), room - CONTINUED)
        if all(len(line) <= room - CONTINUED for line in choices):
            return [*fold(head, room), *choices]
    lines = _filled(re.split(r"(?<=,) |(?<= =) ", text), room)
    if any(len(line) > room for line in lines) and "(" in text:
        head, _, rest = text.partition("(")
        lines = [f"{head}(", *_filled(re.split(r"(?<=,) ", rest), room - CONTINUED)]
    return lines


def _filled(pieces: Sequence[str], room: int) -> list[str]:
    lines = [pieces[0]]
    for piece in pieces[1:]:
        longer = f"{lines[-1]} {piece}"
        if len(longer) <= room - (CONTINUED if len(lines) > 1 else 0):
            lines[-1] = longer
        else:
            lines.append(piece)
    return lines


def wrapped(text: str, room: int) -> list[str]:
    """Break words into lines of at most `room`; no text is one empty line."""
    return textwrap.wrap(text, room, break_on_hyphens=False) or [""]


def safe_words(text: str) -> str:
    """Put text from a file so that it can stand in a comment of C and nothing gets out.

    Blanks become single spaces, a backslash a slash; what cannot be seen, or turns the direction
    of writing, becomes `?`; comment marks and trigraphs are pulled apart.
    """
    one_line = " ".join(text.split())
    seen = "".join(sign if _is_seen(ord(sign)) else "?" for sign in one_line).replace("\\", "/")
    apart = re.sub(r"\*(?=/)|/(?=\*)", r"\g<0> ", seen)
    return re.sub(r"\?(?=\?)", "? ", apart)


_UNSEEN = (
    (0x7F, 0xA0),
    (0xAD, 0xAD),
    (0x034F, 0x034F),
    (0x0600, 0x0605),
    (0x061C, 0x061C),
    (0x115F, 0x1160),
    (0x17B4, 0x17B5),
    (0x180B, 0x180F),
    (0x2000, 0x200F),
    (0x2028, 0x202F),
    (0x205F, 0x206F),
    (0x3000, 0x3000),
    (0xD800, 0xF8FF),
    (0xFE00, 0xFE0F),
    (0xFEFF, 0xFEFF),
    (0xFFA0, 0xFFA0),
    (0xFFF0, 0x10FFFF),
)
"""Code points without a sign of their own, or beyond the first plane. A table, not a question to
Python's own, so that no release of it changes what is emitted."""


def _is_seen(code: int) -> bool:
    return code >= 0x20 and not any(low <= code <= high for low, high in _UNSEEN)  # noqa: PLR2004
