"""Parses conditions, actions and steps by `conditions.lark`, and words what the parser refuses.

It knows nothing of the names that they hold.
"""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, cast

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedCharacters, UnexpectedToken

from behaviour.language.nodes import Scalar
from behaviour.language.phrases import joined
from behaviour.language.reading import Reading
from behaviour.language.syntax import Word
from behaviour.source import Span
from behaviour.suggest import nearest
from behaviour.units import shortened

LONGEST_TEXT = 4000
"""Signs that one condition may have."""

DEEPEST_BRACKETS = 24

Start = Literal["condition", "action", "step"]

_FORMS: dict[Start, str] = {
    "condition": "a condition is, for example, `lid is open`",
    "action": "it is `add 1 to NAME`, `take 1 from NAME`, or `set NAME to 3`",
    "step": (
        "a step is `press B`, `release B`, `INPUT becomes V`, `pause D`, `see C`, `see C within D`,"
        " or `restart`"
    ),
}


@dataclass(frozen=True, slots=True)
class Line:
    """A text that is parsed, with the place in the file of every sign of it."""

    reading: Reading
    scalar: Scalar

    @property
    def text(self) -> str:
        return self.scalar.text

    def span(self, start: int, end: int) -> Span:
        return self.reading.places.inside(self.scalar, start, end)

    def span_of(self, item: Tree[Token] | Token) -> Span:
        return self.span(*stretch(item))

    def word(self, item: Tree[Token] | Token) -> Word:
        """Give what stands there as written, with its place."""
        start, end = stretch(item)
        return Word(self.text[start:end], self.span(start, end))

    def add(self, start: int, end: int, message: str, *, label: str = "", hint: str = "") -> None:
        self.reading.mistakes.add(self.span(start, end), message, label=label, hint=hint)


def stretch(item: Tree[Token] | Token) -> tuple[int, int]:
    """Give where in its text something begins and ends: every form keeps its first and last word.

    So the parser need not work places out for parts that nobody asks about.
    """
    first = last = item
    while isinstance(first, Tree):
        first = first.children[0]
    while isinstance(last, Tree):
        last = last.children[-1]
    return first.start_pos or 0, last.end_pos or 0


def parse(line: Line, start: Start) -> Tree[Token] | None:
    """Parse a text; None where that fails, which is then reported."""
    if len(line.text) > LONGEST_TEXT:
        message = f"this is {len(line.text)} signs long, and {LONGEST_TEXT} are the most"
        line.add(0, 1, message, label="begins here")
        return None
    too_deep = _too_deep(line.text)
    if too_deep is not None:
        message = f"more than {DEEPEST_BRACKETS} brackets stand inside each other"
        line.add(too_deep, too_deep + 1, message, label="one too many")
        return None
    try:
        return _parser().parse(line.text, start=start)
    except UnexpectedCharacters as error:
        _report_sign(line, start, cast("int", error.pos_in_stream))
    except UnexpectedToken as error:
        _report_token(line, start, error)
    return None


@cache
def _parser() -> Lark:
    """Build the parser, once for a process: 20 ms."""
    grammar = Path(__file__).with_name("conditions.lark").read_text(encoding="utf-8")
    return Lark(
        grammar,
        parser="lalr",
        start=["condition", "action", "step"],
        maybe_placeholders=False,
    )


def _too_deep(text: str) -> int | None:
    if text.count("(") <= DEEPEST_BRACKETS:
        return None
    depth = 0
    for at, sign in enumerate(text):
        depth += (sign == "(") - (sign == ")")
        if depth > DEEPEST_BRACKETS:
            return at
    return None


# --- What the parser refuses --------------------------------------------------------------------

_SIGNS = {
    "&": "write `and`",
    "|": "write `or`",
    "!": "write `not` before a condition",
    ",": "put `and` or `or` between two conditions",
    "'": "names stand without quotes here",
    '"': "names stand without quotes here",
    "-": "whole numbers are from 0 up, and nothing is reckoned here",
    "+": "nothing is reckoned here: write the number",
    "*": "nothing is reckoned here: write the number",
    "/": "nothing is reckoned here: write the number",
    "@": "a cue has no name here; a moment that others wait for is a state of its own",
}


def _report_sign(line: Line, start: Start, at: int) -> None:
    sign = line.text[at]
    label = "not known here"
    hint = _SIGNS.get(sign, _FORMS[start])
    line.add(at, at + 1, f"`{sign}` has no meaning here", label=label, hint=hint)


def _report_token(line: Line, start: Start, error: UnexpectedToken) -> None:
    token, expected = error.token, set(error.expected)
    if token.type == "$END":
        _report_end(line, start, _last_word(line.text), expected)
        return
    begin, end = stretch(token)
    before = _last_word(line.text[:begin])
    found = shortened(str(token))
    message, hint = f"`{found}` cannot stand here", _right_here(start, before, expected)
    if token.type == "SIGN" and "NAME" in expected:
        hint = "write `not` before a condition" if found == "!" else hint
    elif token.type == "IN" and before in ("is", "not"):
        words = "not in" if before == "not" else "in"
        message, hint = (
            f"`{before}` and `in` do not stand together",
            f"write `REGION {words} STATE`",
        )
    elif token.type == "JOINT" and "NOR" in expected:
        message, hint = f"`neither` does not go with `{found}`", "write `nor`"
    elif token.type == "RPAR":
        message, hint = "`)` closes nothing that was opened", "take it out"
    elif token.type == "NAME" and "IS" in expected and start != "action":
        message = f"a word is missing between `{before}` and `{found}`"
        near = nearest(found, ("becomes",))
        hint = f"there is `{near[0]}`" if near else f"write `{before} is {found}`"
    line.add(begin, end, message, label="not expected", hint=hint)


def _last_word(text: str) -> str:
    last = re.search(r"([^\s()]+|[()])\s*\Z", text)
    return last[1] if last else ""


def _report_end(line: Line, start: Start, before: str, expected: set[str]) -> None:
    """Report a text that stops before it is whole."""
    end = len(line.text.rstrip())
    begin = max(end - len(before), 0)
    if not before:
        line.add(0, 1, "nothing stands here", label="nothing", hint=_FORMS[start])
    elif "RPAR" in expected and line.text.count("(") > line.text.count(")"):
        opened = line.text.rfind("(")
        line.add(opened, opened + 1, "`(` is not closed", label="opened here", hint="put a `)`")
    else:
        line.add(
            begin,
            end,
            f"something is missing after `{shortened(before)}`",
            label="ends here",
            hint=_right_here(start, before, expected),
        )


_AFTER = {
    "is": "a value, `not`, `either`, or `neither`",
    "not": "a condition, or in `is not` a value",
    "becomes": "a value",
    "either": "a value",
    "neither": "a value",
    "nor": "a value",
    "in": "a state",
    "for": "a time, such as `3 s`",
    "within": "a time, such as `50 ms`",
    "pause": "a time, such as `800 ms`",
    "press": "the name of a button",
    "release": "the name of a button",
    "to": "a counter after `add`, a number after `set`",
    "from": "a counter",
    "add": "a whole number, such as `1`",
    "take": "a whole number, such as `1`",
    "set": "a counter",
    "and": "a condition, such as `lid is open`",
    "or": "a condition, such as `lid is open`, or after `either` a value",
    "see": "a condition, such as `lid is open`",
    "(": "a condition, such as `lid is open`",
}

_WORDS = (
    ("IS", "`is`"),
    ("BECOMES", "`becomes`"),
    ("SIGN", "a sign such as `>`"),
    ("IN", "`in`"),
    ("FOR", "`for` with a time"),
    ("NOR", "`nor`"),
    ("TO", "`to`"),
    ("FROM", "`from`"),
    ("WITHIN", "`within` with a time"),
    ("JOINT", "`and`"),
    ("JOINT", "`or`"),
    ("DOT", "a dot and an inner state"),
)


def _right_here(start: Start, before: str, expected: set[str]) -> str:
    """Say what could stand where something else does."""
    if not before or expected == {"BECOMES"}:
        return _FORMS[start]
    if before in _AFTER and ("NAME" in expected or "NUMBER" in expected):
        return f"after `{before}` stands {_AFTER[before]}"
    hidden = set() if start == "step" else {"WITHIN"}
    words = [words for name, words in _WORDS if name in expected - hidden]
    if not words:
        return _FORMS[start]
    return f"after `{shortened(before)}` may stand {joined(words)}"
