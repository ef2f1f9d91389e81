"""The strokes that pictures are made of: a beginning, a note, an arrow with its words, a flag.

Strategy: the words of an arrow stand in the middle of its line, as a part of the drawing that the
arrow runs through, so that no line ever crosses them and no frame cuts them off. An arrow that
leads up is laid out from its head, so that it does not pull its head down.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from graphviz import Digraph

from behaviour.draw import look
from behaviour.draw.flags import finding_name
from behaviour.findings import Finding, Severity


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow from `tail` to `head`, and the lines of words on it; `name` is its own."""

    name: str
    tail: str
    head: str
    words: tuple[str, ...]
    goes_up: bool


def draw_begin(frame: Digraph, bar: str, head: str) -> None:
    """Draw the thick bar and pointer to where a frame begins."""
    frame.node(bar, **look.BEGIN_BAR)
    frame.edge(bar, head, **look.BEGIN_ARROW)


def write_begin(frame: Digraph, bar: str, head: str, name: str) -> None:
    """Write where a frame begins above its bar, for a pointer that would cross others."""
    frame.node(bar, **look.BEGIN_BAR)
    frame.edge(bar, head, **look.UNSEEN)
    draw_note(frame, f"note of {bar}", [f"begins in {name}"], above=bar)


def draw_note(frame: Digraph, name: str, lines: Sequence[str], *, above: str) -> None:
    """Write lines above something in a frame."""
    frame.node(name, look.left(lines), **{**look.NOTE, **look.room(lines)})
    frame.edge(name, above, **look.UNSEEN)


def draw_row(frame: Digraph, names: Sequence[str]) -> None:
    """Set things side by side in this order."""
    if len(names) > 1:
        with frame.subgraph() as row:
            row.attr(rank="same")
            for before, after in pairwise(names):
                row.edge(before, after, **look.UNSEEN)


def draw_arrow(frame: Digraph, arrow: Arrow, style: look.Look) -> None:
    """Draw an arrow through its words."""
    if arrow.tail == arrow.head:
        frame.edge(arrow.tail, arrow.head, look.beside(arrow.words), **style)
        return
    size = look.room(arrow.words, across=5.0)
    frame.node(arrow.name, look.centred(arrow.words), **{**look.WORDS, **size})
    if arrow.goes_up:
        frame.edge(arrow.head, arrow.name, **{**style, "dir": "back"})
        frame.edge(arrow.name, arrow.tail, **{**style, "dir": "none"})
        return
    frame.edge(arrow.tail, arrow.name, **{**style, "dir": "none"})
    frame.edge(arrow.name, arrow.head, **style)


def draw_flag(frame: Digraph, here: str, found: tuple[Finding, ...]) -> None:
    """Tie a flag with the findings' names, if there are any, to what is drawn as `here`."""
    if not found:
        return
    is_broken = any(finding.severity is Severity.BROKEN for finding in found)
    style = look.FLAG if is_broken else look.MILD_FLAG
    lines = flag_lines(found)
    size = look.room(look.flag_parts(lines), across=14.0)
    frame.node(f"flag of {here}", look.flagged(lines), **{**style, **size})
    frame.edge(f"flag of {here}", here, **look.FLAG_LINE)


def flag_lines(found: tuple[Finding, ...]) -> tuple[str, ...]:
    """Write each finding as its flag does: how bad, and which."""
    return tuple(f"{finding.severity.value}: {finding_name(finding)}" for finding in found)
