"""What every text in Markdown shares: how plain words are kept plain, and how tables are laid out.

It knows nothing of what is told. Names between back-ticks stay as they are.
"""

import re
from collections.abc import Iterable, Sequence

from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.source import Source

_SPECIAL = re.compile(r"[\\*\[\]<&|~]|\b_|_\b")


def plain(words: str) -> str:
    """Keep Markdown from reading marks into words, but for names between back-ticks."""
    parts = re.split(r"(`[^`]*`)", words)
    return "".join(
        part if place % 2 else _SPECIAL.sub(lambda found: f"\\{found[0]}", part)
        for place, part in enumerate(parts)
    )


def copy_of(source: Source, model: Model) -> str:
    """Say what a page is a copy of: the file and its fingerprint."""
    return f"{plain(source.name)}, fingerprint {fingerprint(model)}"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Lay out a table; its cells are Markdown already."""
    lines = [head, ["---"] * len(head), *rows]
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def bullets(lines: Iterable[str]) -> str:
    return "".join(f"- {line}\n" for line in lines)
