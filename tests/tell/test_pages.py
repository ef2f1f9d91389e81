"""Pages are valid, stand alone, and can be read by everybody, whichever prop they are of."""

import re
from itertools import pairwise

import pytest

from behaviour.report.card_forms import card_html
from behaviour.report.page import STYLE
from behaviour.report.sentences_html import sentences_html
from behaviour.report.table_forms import table_html
from behaviour.source import Source
from tests.reading import FAULTY, SPECS, model_in
from tests.report.html_pages import loads, read_strictly

WRITERS = (sentences_html, table_html, card_html)
PALETTES = re.findall(r"--ink: (#\w+); --paper: (#\w+); --shade: (#\w+); --faint: (#\w+)", STYLE)


@pytest.mark.parametrize("path", [*SPECS, *FAULTY], ids=lambda path: path.stem)
def test_every_page_is_valid_and_loads_nothing(path) -> None:
    source = Source(path.name, path.read_text(encoding="utf-8"))
    model = model_in(source)
    for writer in WRITERS:
        page = writer(source, model)

        read_strictly(page)
        assert loads(page) == []
        levels = [int(level) for level in re.findall(r"<h(\d)>", page)]
        assert levels[0] == 1
        assert all(after <= before + 1 for before, after in pairwise(levels))


def test_text_stands_out_from_its_ground_in_the_light_and_in_the_dark() -> None:
    """WCAG 2.2, 1.4.3: small text has a contrast of 4.5 to 1 at the least."""
    assert len(PALETTES) == 2
    for ink, paper, shade, faint in PALETTES:
        assert contrast(ink, paper) >= 4.5
        assert contrast(ink, shade) >= 4.5
        assert contrast(faint, paper) >= 4.5


def test_contrast_is_reckoned_as_the_guideline_does() -> None:
    """Black on white is 21 to 1; #777 on white is 4.48 to 1 (a figure often quoted; by memory)."""
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#777", "#fff") == pytest.approx(4.48, abs=0.005)


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours (WCAG 2.2, glossary: contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def luminance(colour: str) -> float:
    """Give the relative luminance of a colour (WCAG 2.2, glossary: relative luminance)."""
    digits = colour.removeprefix("#")
    pairs = [digits[at] * 2 for at in range(3)] if len(digits) == 3 else re.findall("..", digits)
    parts = [int(pair, 16) / 255 for pair in pairs]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
