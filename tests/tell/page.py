"""Takes a printed page apart: every sentence, and the headings that it stands under."""

import re
from dataclasses import dataclass

ROOM = " ____"


@dataclass(frozen=True, slots=True)
class Line:
    """One numbered sentence, with the headings of its section and its part."""

    section: str
    part: str
    text: str


def lines_of(markdown: str) -> list[Line]:
    """Read the numbered sentences, with Markdown's own marks taken off."""
    section = part = ""
    found: list[Line] = []
    for line in markdown.splitlines():
        if line.startswith("## "):
            section, part = _plain(line[3:]), ""
        elif line.startswith("### "):
            part = _plain(line[4:])
        elif numbered := re.fullmatch(r"(\d+)\. (.*)", line):
            assert int(numbered[1]) == len(found) + 1
            found.append(Line(section, part, _plain(numbered[2].removesuffix(ROOM))))
    return found


def _plain(text: str) -> str:
    return re.sub(r"\\([^\w\s])|\\(_)", lambda mark: mark[1] or mark[2], text)
