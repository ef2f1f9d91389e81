"""Every file of tests/corpus/mistakes gives exactly the mistakes that are marked in it.

A mark is a comment: `# mistake: "few words"` at the end of the line where it must be reported, with
`@7` after the word for the column, with `12@7` for a line that cannot carry a comment itself, and
with `hint "few words"` behind it for what must be proposed.
"""

import re
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml

from behaviour.findings import Mistake
from behaviour.language.load import read_model
from behaviour.source import Source

CORPUS = Path(__file__).parents[1] / "corpus"
MISTAKES = sorted((CORPUS / "mistakes").glob("*.yaml"))
NEAR_MISSES = sorted((CORPUS / "near_misses").glob("*.yaml"))

MARK = re.compile(r'# mistake(?: (\d+))?(?:@(\d+))?: "([^"]*)"(?: hint "([^"]*)")?')


@dataclass(frozen=True)
class Mark:
    line: int
    column: int | None
    words: str
    hint: str

    def fits(self, mistake: Mistake) -> bool:
        span = mistake.at.span
        return (
            span.line == self.line
            and self.column in (None, span.column)
            and self.words in mistake.message
            and self.hint in mistake.hint
        )


def marks_in(text: str) -> list[Mark]:
    return [
        Mark(int(found[1] or number), int(found[2]) if found[2] else None, found[3], found[4] or "")
        for number, line in enumerate(text.splitlines(), start=1)
        for found in MARK.finditer(line)
    ]


def mistakes_in(text: str) -> tuple[Mistake, ...]:
    model, mistakes = read_model(Source("case.yaml", text))
    assert (model is None) == bool(mistakes)
    return mistakes


def unmet(text: str) -> list[str]:
    """List the marks that no mistake fits, and the mistakes that no mark fits."""
    left = list(mistakes_in(text))
    lines = []
    for mark in marks_in(text):
        met = next((mistake for mistake in left if mark.fits(mistake)), None)
        if met is None:
            lines.append(f"not reported: {mark}")
        else:
            left.remove(met)
    for mistake in left:
        span = mistake.at.span
        lines.append(f"not marked: {span.line}@{span.column} {mistake.message} | {mistake.hint}")
    return lines


@pytest.mark.parametrize("path", MISTAKES, ids=lambda path: path.stem)
def test_a_file_gives_exactly_the_mistakes_that_are_marked_in_it(path: Path) -> None:
    text = path.read_text(encoding="utf-8")

    assert marks_in(text) != []
    assert unmet(text) == []


@pytest.mark.parametrize("path", MISTAKES, ids=lambda path: path.stem)
def test_the_mistakes_are_the_same_without_the_fast_scanner(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = path.read_text(encoding="utf-8")
    fast = [(mistake.at.span.line, mistake.message) for mistake in mistakes_in(text)]

    monkeypatch.delattr(yaml, "CSafeLoader")
    slow = [(mistake.at.span.line, mistake.message) for mistake in mistakes_in(text)]

    assert slow == fast


@pytest.mark.parametrize("path", NEAR_MISSES, ids=lambda path: path.stem)
def test_a_near_miss_reads_without_a_mistake(path: Path) -> None:
    assert mistakes_in(path.read_text(encoding="utf-8")) == ()


def test_there_are_cases_to_read() -> None:
    assert len(MISTAKES) > 40
    assert len(NEAR_MISSES) > 5


@pytest.mark.parametrize("path", MISTAKES, ids=lambda path: path.stem)
def test_messages_keep_to_their_form(path: Path) -> None:
    for mistake in mistakes_in(path.read_text(encoding="utf-8")):
        for text in (mistake.message, mistake.at.text, mistake.hint):
            assert text == text.strip()
            assert not text.endswith((".", "!", "?")) or text.endswith("...")
            assert not re.search(r"\b(node|token|AST|parser?|scalar|mapping|config)\b", text)
        assert mistake.message[0].islower() or mistake.message[0] in "`0123456789"


def test_a_mark_is_read_with_its_place_and_words() -> None:
    text = 'a: 1  # mistake@4: "one" # mistake: "two" hint "three"\n# mistake 7@2: "four"\n'

    assert marks_in(text) == [
        Mark(1, 4, "one", ""),
        Mark(1, None, "two", "three"),
        Mark(7, 2, "four", ""),
    ]


def test_a_mark_that_nothing_fits_is_told() -> None:
    text = 'language: 2  # mistake@1: "another place"\n'

    assert unmet(text) == [
        "not reported: Mark(line=1, column=1, words='another place', hint='')",
        (
            "not marked: 1@11 this release reads language 1, and the file is of `2` | write "
            "`language: 1`, or use the release that the file was written for"
        ),
    ]
