"""Slips that leave YAML at a loss some way further on, recognised in the lines before.

Each function reports one, or gives None where the lines do not look like it.
"""

import re

from behaviour.findings import Label, Mistake
from behaviour.language.yaml_trouble import Trouble, plain
from behaviour.units import shortened

NO_BREAK_SPACE = "\u00a0"


def odd_space(trouble: Trouble) -> Mistake | None:
    """Report a space that only looks like one, as pages and word processors put it in."""
    text, at = trouble.places.text, trouble.line_start(trouble.at)
    start = trouble.line_start(max(len(text[:at].rstrip()) - 1, 0))
    found = text.find(NO_BREAK_SPACE, start, at + len(trouble.line(trouble.at)))
    if found < 0:
        return None
    return plain(
        trouble.places,
        found,
        found + 1,
        "a space stands here that YAML takes for a letter (U+00A0)",
        "write a plain space, as the space bar does",
    )


def colonless_key(trouble: Trouble, start: int) -> Mistake | None:
    """Report a key that has its value behind it in brackets, and no colon between."""
    found = re.match(r"(?:- )*\s*([A-Za-z_]\w*) +([{[].*)", trouble.line(trouble.at).lstrip())
    if found is None:
        return None
    line = trouble.line(trouble.at)
    at = start + len(line) - len(line.lstrip()) + found.start(1)
    return plain(
        trouble.places,
        at,
        at + len(found[1]),
        f"no colon stands between `{found[1]}` and what it holds",
        f"put one: `{found[1]}: {shortened(found[2], 40)}`",
    )


def tight_colon(trouble: Trouble, index: int, line: str) -> Mistake | None:
    """Report a colon without a space after it, in the line that holds `index`."""
    tight = re.search(r"[A-Za-z_]\w*:(?=[^\s:/])", line)
    if tight is None or ": " in line:
        return None
    at = trouble.line_start(index) + tight.end()
    return plain(
        trouble.places,
        at - 1,
        at,
        "no space stands after this colon",
        f"put one: `{tight[0]} {shortened(line[tight.end() :], 40)}`",
    )


def open_quote_above(trouble: Trouble, start: int, before: str) -> Mistake | None:
    """Report a quote that was not closed on its line, where one further down closed it."""
    quote = before[-1]
    if quote not in "\"'" or before.count(quote) % 2 == 0:
        return None
    while start > 0:
        start = trouble.line_start(start - 1)
        line = trouble.line(start)
        if line.count(quote) % 2:
            at = start + line.rindex(quote)
            here = trouble.places.span(trouble.at - 1, trouble.at)
            return Mistake(
                message="a quoted text begins here and does not end on its line",
                at=Label(trouble.places.span(at, at + 1), "opened here"),
                related=(Label(here, "read up to this quote"),),
                hint="close it with the same quote where the text ends",
            )
    return None


def item_without_dash(trouble: Trouble, start: int) -> Mistake | None:
    """Report the line above a list item where it stands in the same column and is in braces."""
    above = trouble.places.text[:start].rstrip()
    line = trouble.line(len(above) - 1) if above else ""
    text = line.strip()
    column = len(line) - len(line.lstrip())
    if not text.startswith("{") or column != trouble.at - start:
        return None
    at = trouble.line_start(len(above) - 1) + column
    return plain(
        trouble.places,
        at,
        at + len(text),
        "this stands among list items without its dash",
        f"begin it with a dash and a space: `- {shortened(text, 40)}`",
    )
