"""How a state diagram looks: line weights, line styles, shapes and fonts, and labels as DOT text.

Every colour has six digits: some renderers paint the short form black.
"""

from collections.abc import Iterable, Mapping, Sequence
from textwrap import wrap

import graphviz

from behaviour.draw.lettering import LINE, widest, width

INK = "#1a1a1a"
PAPER = "#ffffff"
SHADE = "#e9e9e9"
FONT = "DejaVu Sans"
BOLD = "DejaVu Sans Bold"
RULE = "─"
FLAG_WIDTH = 26
MARGIN = "\u00a0\u00a0"

Look = Mapping[str, str]

SHEET: Look = {
    "bgcolor": PAPER,
    "fontcolor": INK,
    "fontname": BOLD,
    "fontsize": "17",
    "labelloc": "t",
    "newrank": "true",
    "nodesep": "0.35",
    "pad": "0.25",
    "ranksep": "0.25",
}

TIGHT: Look = {**SHEET, "nodesep": "0.22", "ranksep": "0.13"}
"""For what would not fit on a page otherwise."""

ABOUT: Look = {
    "fontcolor": INK,
    "fontname": FONT,
    "fontsize": "13",
    "labelloc": "t",
    "margin": "8",
    "peripheries": "0",
}
LEGEND: Look = {**ABOUT, "fontsize": "10", "labeljust": "l", "labelloc": "b"}

FRAME: Look = {
    "class": "region",
    "color": INK,
    "fontcolor": INK,
    "fontname": BOLD,
    "fontsize": "13",
    "labeljust": "l",
    "labelloc": "t",
    "margin": "14",
    "penwidth": "1.8",
    "peripheries": "1",
    "style": "solid",
}
BOX: Look = {**FRAME, "class": "box", "fontsize": "12", "penwidth": "1.2", "style": "rounded"}
MECHANISM_FRAME: Look = {**FRAME, "class": "mechanism", "penwidth": "1.2", "style": "dashed"}

_NODE: Look = {
    "color": INK,
    "fontcolor": INK,
    "fontname": FONT,
    "fontsize": "10",
    "margin": "0.14,0.05",
    "shape": "box",
}
STATE: Look = {
    "class": "state",
    **_NODE,
    "fillcolor": PAPER,
    "penwidth": "1.2",
    "style": "rounded,filled",
}
HAZARD: Look = {"class": "hazard", "fillcolor": SHADE, "penwidth": "2.4", "peripheries": "2"}
MECHANISM_STATE: Look = {**STATE, "class": "mechanism-state", "style": "rounded,filled,dashed"}
NOTE: Look = {**_NODE, "class": "note", "fontsize": "10", "shape": "plaintext"}
INTERLOCK: Look = {
    "class": "interlock",
    **_NODE,
    "margin": "0.22,0.12",
    "penwidth": "1.8",
    "style": "diagonals",
}
WORDS: Look = {
    "class": "words",
    **_NODE,
    "fontsize": "10",
    "height": "0.1",
    "margin": "0.04,0.02",
    "shape": "plaintext",
    "width": "0.1",
}
QUESTION: Look = {**_NODE, "class": "question", "shape": "plaintext"}
BEGIN_BAR: Look = {
    "class": "begin",
    "fillcolor": INK,
    "height": "0.09",
    "label": "",
    "shape": "box",
    "style": "filled",
    "width": "0.7",
}
BEGIN_ARROW: Look = {
    "arrowhead": "normal",
    "arrowsize": "1.1",
    "color": INK,
    "penwidth": "3",
    "weight": "6",
}

ARROW: Look = {
    "arrowsize": "0.8",
    "color": INK,
    "fontcolor": INK,
    "fontname": FONT,
    "fontsize": "10",
    "penwidth": "1.1",
}
INTERLOCK_ARROW: Look = {**ARROW, "arrowhead": "normalnormal", "penwidth": "1.8"}
MOVEMENT: Look = {**ARROW, "style": "dashed"}

FLAG: Look = {
    "class": "flag",
    **_NODE,
    "fillcolor": INK,
    "fontcolor": PAPER,
    "fontsize": "10",
    "margin": "0.14,0.06",
    "style": "filled",
}
MILD_FLAG: Look = {
    **FLAG,
    "class": "mild-flag",
    "fillcolor": PAPER,
    "fontcolor": INK,
    "penwidth": "1.8",
}
UNSEEN: Look = {"style": "invis", "weight": "6"}
FLAG_LINE: Look = {
    "arrowhead": "none",
    "color": INK,
    "penwidth": "1.6",
    "style": "dotted",
    "weight": "3",
}


TEXT = 10.0
TITLE = 11.0
_ACROSS, _DOWN = 24.0, 10.0
_POINTS = 72.0


def room(lines: Sequence[str], title: str = "", across: float = _ACROSS) -> Look:
    """Give a node at least the room that its words need in the widest of the fonts."""
    wide = max(widest(lines, TEXT), width(title, TITLE, bold=True) + 2 * TITLE * bool(title))
    high = LINE * (TEXT * len(lines) + (1.6 * TITLE if title else 0))
    return {
        "width": f"{(wide + across) / _POINTS:.3f}",
        "height": f"{(high + min(across, _DOWN)) / _POINTS:.3f}",
    }


def centred(lines: Iterable[str]) -> str:
    """Join lines into a label, each in the middle."""
    return _plain("\\n".join(map(_literal, lines)))


def left(lines: Iterable[str]) -> str:
    """Join lines into a label, each beginning at the left."""
    return _plain("".join(f"{_literal(line)}\\l" for line in lines))


def flagged(lines: Iterable[str]) -> str:
    """Join lines into a label, each wrapped to the width of a flag."""
    return centred(flag_parts(lines))


def flag_parts(lines: Iterable[str]) -> tuple[str, ...]:
    """Wrap lines to the width of a flag."""
    return tuple(part for line in lines for part in wrap(line, FLAG_WIDTH, break_on_hyphens=False))


def beside(lines: Iterable[str]) -> str:
    """Join lines into a label that stands clear of the arrow at its left."""
    return left(f"{MARGIN}{line}{MARGIN}" for line in lines)


def titled(title: str, lines: tuple[str, ...]) -> str:
    """Join a title in the middle, a rule across, and lines that begin at the left."""
    if not lines:
        return centred([title])
    rule = RULE * max(4, round(0.7 * max(len(line) for line in (title, *lines))))
    return _plain(f"{_literal(title)}\\n{rule}\\n{left(lines)}")


def _plain(label: str) -> str:
    """Keep a whole label from being read as one with tags in it."""
    plain: str = graphviz.nohtml(label)
    return plain


def _literal(text: str) -> str:
    """Keep text from being read as anything but itself: no escapes, no character entities."""
    return text.replace("\\", "\\\\").replace("&", "&amp;")
