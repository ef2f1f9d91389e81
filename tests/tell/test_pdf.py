"""The sentences on paper: every one stands on a page, inside its margins, in the order told."""

import re

import pytest

from behaviour.draw.shapes import Line, Picture, Side, Words
from behaviour.report.sentences_pdf import HIGH, MARGIN, WIDE, sentence_pages, sentences_pdf
from behaviour.source import Source
from behaviour.tell.sentences import sheet_of
from behaviour.tell.sheet import Section
from tests.reading import SPECS, model_in, source_of


def sentences(section: Section) -> list[str]:
    return [*section.lines, *(line for part in section.parts for line in sentences(part))]


def words_on(page: Picture) -> list[Words]:
    return [shape for shape in page.shapes if isinstance(shape, Words)]


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_sentence_stands_on_a_page_with_a_line_for_initials(path) -> None:
    source = Source(path.name, path.read_text(encoding="utf-8"))
    model = model_in(source)
    sheet = sheet_of(model)
    pages = sentence_pages(source, model)
    told = [line for section in sheet.sections for line in sentences(section)]
    written = "".join(shape.text for page in pages for shape in words_on(page)[:-2])
    rules = [shape for page in pages for shape in page.shapes if isinstance(shape, Line)]

    assert len(rules) == len(told) + len(sheet.questions)
    at = 0
    for number, line in enumerate([*told, *sheet.questions], 1):
        wanted = f"{number}.{line}".replace("`", "").replace(" ", "").replace("\u00a0", "")
        squeezed = re.sub(r"[\s\u00a0]", "", written)
        at = squeezed.index(wanted, at)


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_nothing_stands_outside_the_page(path) -> None:
    source = Source(path.name, path.read_text(encoding="utf-8"))
    for page in sentence_pages(source, model_in(source)):
        assert (page.width, page.height) == (WIDE, HIGH)
        for words in words_on(page):
            left, down = words.at
            assert MARGIN <= left <= WIDE - MARGIN
            assert MARGIN < down < HIGH - 20
        assert words_on(page)[-1].side is Side.RIGHT


def test_each_page_says_what_it_is_a_copy_of() -> None:
    source = source_of("specs/confetti-carousel.yaml")
    pages = sentence_pages(source, model_in(source))

    assert [words_on(page)[-1].text for page in pages] == ["1 of 4", "2 of 4", "3 of 4", "4 of 4"]
    assert {words_on(page)[-2].text for page in pages} == {
        "Confetti carousel: specs/confetti-carousel.yaml, fingerprint 9c71-3658"
    }


def test_the_same_file_gives_the_same_bytes() -> None:
    source = source_of("specs/fog-cannon.yaml")
    model = model_in(source)
    once = sentences_pdf(source, model)

    assert once.startswith(b"%PDF-")
    assert sentences_pdf(source, model) == once
