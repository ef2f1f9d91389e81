"""Layout of Python: indentation, line length, comments that nothing gets out of."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from codegen.cwriter import safe_words, wrapped
from codegen.expressions import IN_PYTHON, Expression, laid_out

WIDTH = 100
INDENT = 4
BRACKETS = {"(": ")", "[": "]", "{": "}"}


class PyWriter:
    """Collects the lines of one Python file."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._depth = 0

    def text(self) -> str:
        """Give all lines, each ended, without blank lines at the end."""
        text = "\n".join(self._lines).rstrip("\n") + "\n"
        return re.sub(r"\n{4,}", "\n\n\n", text)

    def line(self, text: str = "") -> None:
        """Write one line as it is, indented; nothing is broken."""
        self._lines.append(" " * self._depth + text if text else "")

    def statement(self, text: str, comment: str = "") -> None:
        """Write a statement, broken in its brackets where it is too long; a comment stands above
        it where it does not fit behind.
        """
        lines = folded(text, WIDTH - self._depth)
        words = safe_words(comment)
        if words and len(lines) == 1 and len(text) + len(words) + 4 <= WIDTH - self._depth:
            self.line(f"{text}  # {words}")
            return
        if words:
            self.comment(comment)
        for line in lines:
            self.line(line)

    def comment(self, *paragraphs: str) -> None:
        """Write a comment; each paragraph begins a line."""
        room = WIDTH - self._depth - len("# ")
        for text in paragraphs:
            for line in wrapped(safe_words(text), room):
                self.line(f"# {line}".rstrip())

    def section(self, title: str) -> None:
        """Begin a part of the file."""
        head = f"# --- {safe_words(title)} "
        for line in ("", "", head.ljust(WIDTH, "-"), ""):
            self.line(line)

    @contextmanager
    def indented(self) -> Iterator[None]:
        """Indent what is written inside."""
        self._depth += INDENT
        yield
        self._depth -= INDENT

    @contextmanager
    def block(self, head: str) -> Iterator[None]:
        """Write `head` with a colon, and what is inside."""
        self.line(f"{head}:")
        with self.indented():
            yield

    @contextmanager
    def condition(self, word: str, test: Expression) -> Iterator[None]:
        """Write an `if` or `elif`, or a part of a `return`, and what is inside."""
        for line in conditional(word, test, WIDTH - self._depth - 1):
            self.line(line)
        self._lines[-1] += ":"
        with self.indented():
            yield

    @contextmanager
    def function(self, head: str, about: str) -> Iterator[None]:
        """Write a function, with what it is for, and blank lines after it.

        `about` holds nothing of a file but names.
        """
        with self.block(f"def {head}"):
            self._docstring(about)
            yield
        self.line()
        self.line()

    def _docstring(self, about: str) -> None:
        first, *rest = wrapped(about, WIDTH - self._depth - len('""""""'))
        self.line(f'"""{first}' + ("" if rest else '"""'))
        for line in rest:
            self.line(line)
        if rest:
            self.line('"""')


def conditional(word: str, test: Expression, room: int) -> list[str]:
    """Lay `word` and a condition out: on one line, or in brackets with a line for each part."""
    first, *rest = laid_out(test, room - len(word) - 1, room - INDENT, IN_PYTHON)
    if not rest and len(word) + 1 + len(first) <= room:
        return [f"{word} {first}"]
    return [f"{word} (", *(" " * INDENT + line for line in (first, *rest)), ")"]


def folded(text: str, room: int) -> list[str]:
    """Break code in its outermost bracket, a part on each line, where it is too long.

    Its strings hold no brackets or commas. What has no bracket stays whole.
    """
    head, bracket, rest = _split(text)
    if len(text) <= room or not bracket:
        return [text]
    parts, tail = _parts(rest)
    lines = [head + bracket]
    for part in parts:
        inner = folded(f"{part},", room - INDENT)
        lines += [" " * INDENT + line for line in inner]
    return [*lines, BRACKETS[bracket] + tail]


def _split(text: str) -> tuple[str, str, str]:
    found = re.search(r"[(\[{]", text)
    if found is None:
        return text, "", ""
    return text[: found.start()], found[0], text[found.end() :]


def _parts(rest: str) -> tuple[Sequence[str], str]:
    """Split what follows an opening bracket at its commas, and give what follows its closing."""
    parts, depth, end = [""], 0, 0
    while depth >= 0:
        sign = rest[end]
        depth += (sign in BRACKETS) - (sign in BRACKETS.values())
        if sign == "," and depth == 0:
            parts.append("")
        elif depth >= 0:
            parts[-1] += sign
        end += 1
    return [part.strip() for part in parts if part.strip()], rest[end:]
