"""Says in the words of the trade what stops a file from being YAML, and where.

It knows the errors of PyYAML's two scanners and nothing of what a behaviour file may hold.
"""

import re
from collections.abc import Callable

from behaviour.findings import Label, Mistake
from behaviour.language.nodes import Places
from behaviour.language.yaml_slips import (
    colonless_key,
    item_without_dash,
    odd_space,
    open_quote_above,
    tight_colon,
)
from behaviour.language.yaml_trouble import Trouble, plain
from behaviour.units import shortened


def reword(error: Exception, places: Places, shift: int) -> Mistake:
    """Turn an error that reading YAML raised into a mistake of the file.

    `shift` is the number of signs of the file that the scanner was not given.
    """
    problem = str(getattr(error, "problem", None) or "")
    mark = getattr(error, "problem_mark", None)
    since_mark = getattr(error, "context_mark", None) or mark
    if mark is None or since_mark is None:
        return plain(places, 0, 1, "this cannot be read as YAML", "check quotes and indentation")
    doing_what = str(getattr(error, "context", None) or "")
    trouble = Trouble(places, doing_what, since_mark.index + shift, mark.index + shift)
    if odd := odd_space(trouble):
        return odd
    say = next(
        (words for doing, wrong, words in _WORDS if doing in trouble.context and wrong in problem),
        _unnamed,
    )
    return say(trouble)


def _cannot_begin(trouble: Trouble) -> Mistake:
    if trouble.sign == "\t":
        return _tab(trouble)
    sign = "a back-tick" if trouble.sign == "`" else f"`{trouble.sign}`"
    return trouble.here(f"{sign} cannot begin a text", "put the whole text in quotes")


def _tab(trouble: Trouble) -> Mistake:
    return trouble.here(
        "a tab stands in the indentation",
        "indent with spaces alone",
    )


def _colon(trouble: Trouble) -> Mistake:
    """Tell a second colon in one text from a line that belongs to no key above it."""
    start = trouble.line_start(trouble.at)
    before = trouble.places.text[start : trouble.at]
    if colonless := colonless_key(trouble, start):
        return colonless
    if re.search(r":\s", before):
        key, _, rest = trouble.line(trouble.at).strip().partition(": ")
        hint = f'put the text in quotes: `{shortened(key, 20)}: "{shortened(rest, 40)}"`'
        if re.match(r"[A-Za-z_]\w*: [^:]*\Z", rest):
            hint += f", or a key with its value in braces: `{key}: {{{shortened(rest, 40)}}}`"
        return trouble.here("a second colon stands in one text", hint)
    above = trouble.places.text[:start].rstrip()
    line = trouble.line(len(above) - 1) if above else ""
    if tight := tight_colon(trouble, len(above) - 1, line):
        return tight
    return plain(
        trouble.places,
        start + len(before) - len(before.lstrip()),
        trouble.at,
        f"`{shortened(before.strip())}` stands deeper than the line above allows",
        "that line has its value already; bring this one out to where its neighbours stand",
    )


def _unclosed(opening: str, closing: str) -> Callable[[Trouble], Mistake]:
    def say(trouble: Trouble) -> Mistake:
        places = trouble.places
        opened = places.span(trouble.since, trouble.since + 1)
        at = places.span(trouble.at, trouble.at + 1)
        if trouble.at >= len(places.text.rstrip()):
            return trouble.from_its_beginning(
                f"`{opening}` is not closed before the file ends", f"close it with `{closing}`"
            )
        if at.line != opened.line:
            return Mistake(
                message=f"`{opening}` is not closed before line {at.line} goes on",
                at=Label(opened, "opened here"),
                related=(Label(at, f"a comma or `{closing}` should stand before this"),),
                hint=f"close it with `{closing}`, or put a comma between its parts",
            )
        return Mistake(
            message=f"a comma or `{closing}` is missing before this",
            at=Label(at, "should not stand here"),
            related=(Label(opened, "opened here"),),
            hint=f"parts between `{opening}` and `{closing}` are parted by commas",
        )

    return say


def _unended(trouble: Trouble) -> Mistake:
    return trouble.from_its_beginning(
        "a quoted text begins here and does not end",
        "close it with the same quote; a text with an apostrophe stands in double quotes",
    )


def _no_colon(trouble: Trouble) -> Mistake:
    text = trouble.line(trouble.since).strip()
    if tight := tight_colon(trouble, trouble.since, trouble.line(trouble.since)):
        return tight
    return plain(
        trouble.places,
        trouble.since,
        trouble.since + len(text),
        f"`{shortened(text)}` has no colon and no value",
        "a line is `key: value`, with a space after the colon, or begins with `- ` in a list",
    )


def _out_of_line(trouble: Trouble) -> Mistake:
    """Something stands where a key of the lines above should."""
    if trouble.sign in ("}", "]"):
        message = f"`{trouble.sign}` closes nothing that was opened"
        return trouble.here(message, "take it out")
    start = trouble.line_start(trouble.at)
    before = trouble.places.text[start : trouble.at].strip()
    text = trouble.line(trouble.at).strip()
    if before and before != "-":
        return open_quote_above(trouble, start, before) or trouble.here(
            "something stands after the end of a value",
            "put the whole value in quotes, or begin a new line",
        )
    if text.startswith("- ") and (bare := item_without_dash(trouble, start)):
        return bare
    if text.startswith("- "):
        message = "a list item stands among keys"
        hint = "give the list a key of its own, and indent its items below it"
    else:
        message = f"`{shortened(text)}` does not stand under its neighbours"
        hint = "lines that belong together begin in the same column"
    return plain(trouble.places, trouble.at, trouble.at + len(text), message, hint)


def _not_an_item(trouble: Trouble) -> Mistake:
    text = trouble.line(trouble.at).strip()
    return plain(
        trouble.places,
        trouble.at,
        trouble.at + len(text),
        f"`{shortened(text)}` stands among list items and is none",
        "an item begins with `- `; a key of what holds the list stands further out",
    )


def _item_not_allowed(trouble: Trouble) -> Mistake:
    return trouble.here(
        "a list item cannot begin on the line of its key",
        "begin it on a line of its own, or write the list as `[one, two]`",
    )


def _nothing_between(trouble: Trouble) -> Mistake:
    return trouble.here(
        "nothing stands before this sign",
        "take out the comma, or write what is missing",
    )


def _escape(trouble: Trouble) -> Mistake:
    return trouble.here(
        "a backslash in double quotes needs a sign that it can stand with",
        "write the backslash twice, or use single quotes",
    )


def _star_or_ampersand(trouble: Trouble) -> Mistake:
    sign = trouble.places.text[trouble.since : trouble.since + 1]
    return trouble.from_its_beginning(
        f"`{sign}` cannot begin a text",
        "put the whole text in quotes",
    )


def _block_text(trouble: Trouble) -> Mistake:
    sign = trouble.places.text[trouble.since : trouble.since + 1]
    return trouble.from_its_beginning(
        f"a text cannot begin with `{sign}` on this line",
        f"put the text in quotes, or begin it on the line below the `{sign}`",
    )


def _after_end(trouble: Trouble) -> Mistake:
    return trouble.here(
        "something stands after the end of the file's one document",
        "take out the line `...`",
    )


def _directive(trouble: Trouble) -> Mistake:
    start = trouble.line_start(trouble.at)
    return plain(
        trouble.places,
        start,
        start + 1,
        "a line that begins with `%` is not read here",
        "take it out, or put the text in quotes",
    )


def _tag_handle(trouble: Trouble) -> Mistake:
    return trouble.here(
        "a mark that begins with `!` means nothing here",
        "a text that begins with `!` is put in quotes",
    )


def _too_deep(trouble: Trouble) -> Mistake:
    return trouble.here(
        "brackets and braces stand too deep in each other",
        "take them apart into parts beside each other",
    )


def _unnamed(trouble: Trouble) -> Mistake:
    return trouble.here(
        "this cannot be read as YAML from here on",
        "look for a quote, bracket or indentation that is not right just before",
    )


_Words = Callable[[Trouble], Mistake]

_WORDS: tuple[tuple[str, str, _Words], ...] = (
    ("", "maximum nesting depth", _too_deep),
    ("directive", "", _directive),
    ("", "incompatible YAML", _directive),
    ("", "duplicate", _directive),
    ("tag", "", _tag_handle),
    ("", "tag handle", _tag_handle),
    ("alias", "", _star_or_ampersand),
    ("anchor", "", _star_or_ampersand),
    ("block scalar", "", _block_text),
    ("quoted scalar", "unexpected end of stream", _unended),
    ("quoted scalar", "document separator", _unended),
    ("double-quoted scalar", "document separator", _unended),
    ("quoted scalar", "", _escape),
    ("", "tab character", _tab),
    ("", "cannot start any token", _cannot_begin),
    ("", "mapping values are not allowed", _colon),
    ("", "expected ',' or '}'", _unclosed("{", "}")),
    ("", "expected ',' or ']'", _unclosed("[", "]")),
    ("", "could not find expected ':'", _no_colon),
    ("", "document start>", _after_end),
    ("", "sequence entries are not allowed", _item_not_allowed),
    ("", "node content", _nothing_between),
    ("block mapping", "", _out_of_line),
    ("block collection", "", _not_an_item),
)
"""By parts of what the scanner says it was doing, and of what it says went wrong."""
