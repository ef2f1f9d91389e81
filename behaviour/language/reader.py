"""Reads a file's YAML into texts, lists and keys with values, each as written and with its place.

It knows nothing of what a behaviour file may hold.
"""

import re

import yaml

from behaviour.language.assembly import Assembly
from behaviour.language.mistakes import Mistakes
from behaviour.language.nodes import Broken, Listing, Mapping, Node, Places, Scalar
from behaviour.language.yaml_words import reword
from behaviour.source import Span

LARGEST = 1 << 20
"""Bytes that a file may have."""

BYTE_ORDER_MARK = "\ufeff"
TOP = Span(1, 1, 1, 2)

_UNSEEN = re.compile(
    "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)
_INDENTED_BY_TAB = re.compile(r"^( *)\t[ \t]*[^\s#]", re.MULTILINE)
_EMPTY = "the file is empty"
_EMPTY_HINT = "a behaviour file begins with `language: 1`, and `prop:` with the prop's name"


def read_nodes(places: Places, mistakes: Mistakes) -> Mapping | None:
    """Read the whole file; None where it has no keys with values, which is then a mistake."""
    if _is_refused_at_sight(places, mistakes):
        return None
    shift = int(places.text.startswith(BYTE_ORDER_MARK))
    assembly = Assembly(places, mistakes, shift)
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        for event in yaml.parse(places.text[shift:], Loader=loader):
            assembly.take(event)
            if assembly.is_stopped:
                return None
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        # The last two are what the Python scanner lets slip through for some escapes.
        mistakes.put(reword(error, places, shift))
        return None
    return _keys_of(assembly.root, mistakes)


def _is_refused_at_sight(places: Places, mistakes: Mistakes) -> bool:
    text = places.text
    if not text.strip(BYTE_ORDER_MARK + " \t\r\n"):
        mistakes.add(TOP, _EMPTY, label="nothing is written here", hint=_EMPTY_HINT)
        return True
    size = len(text.encode(errors="surrogatepass"))
    if size > LARGEST:
        message = f"the file has {size:,} bytes, and {LARGEST:,} is the most that is read"
        mistakes.add(TOP, message, label="the file begins here")
        return True
    unseen = _UNSEEN.search(text, int(text.startswith(BYTE_ORDER_MARK)))
    if unseen:
        mistakes.add(
            places.span(unseen.start(), unseen.end()),
            f"a sign that cannot be seen stands here (U+{ord(unseen[0]):04X})",
            label="cannot be seen",
            hint="take it out, and save the file as UTF-8 text",
        )
    return unseen is not None or _has_tabs(places, mistakes)


def _has_tabs(places: Places, mistakes: Mistakes) -> bool:
    """Refuse tabs in the indentation wherever they stand; YAML's scanners differ on them."""
    tabs = [found.end(1) for found in _INDENTED_BY_TAB.finditer(places.text)]
    if not tabs:
        return False
    more = "" if len(tabs) == 1 else f", as on {len(tabs) - 1} more lines"
    mistakes.add(
        places.span(tabs[0], tabs[0] + 1),
        f"a tab stands in the indentation{more}",
        label="a tab",
        hint="indent with spaces alone",
    )
    return True


def _keys_of(root: Node | None, mistakes: Mistakes) -> Mapping | None:
    match root:
        case Mapping():
            return root
        case Broken():
            return None
        case Listing():
            what = "a list"
        case Scalar() if not root.is_blank:
            what = "a text"
        case _:
            mistakes.add(TOP, _EMPTY, label="nothing is written here", hint=_EMPTY_HINT)
            return None
    at = Span(root.span.line, root.span.column, root.span.line, root.span.column + 1)
    message = f"the file holds {what}, and should hold keys with values"
    mistakes.add(at, message, label=f"{what} begins here", hint=_EMPTY_HINT)
    return None
