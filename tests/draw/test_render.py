"""Pictures by the program `dot`, and without it."""

import builtins
import struct
from xml.etree import ElementTree as ET

import pytest

from behaviour.draw.paint import png
from behaviour.draw.render import CannotDrawError, render
from behaviour.draw.shapes import Picture
from behaviour.draw.states import diagram
from behaviour.draw.svg import svg
from tests.draw.browser import a_browser, overlapping_texts
from tests.reading import spec

SMALL = 'digraph { a [label="turn\\ndrum forward", fontname="DejaVu Sans"]; a -> b }'
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def no_dot(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))


def texts(svg: bytes) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def test_dot_draws_svg_with_the_words_of_the_labels():
    picture = render(SMALL, "svg")

    assert sorted(texts(picture.data)) == ["b", "drum forward", "turn"]
    assert picture.complaints == ()


@pytest.mark.usefixtures("no_dot")
def test_without_dot_svg_still_comes_out():
    picture = render(SMALL, "svg")

    assert sorted(texts(picture.data)) == ["b", "drum forward", "turn"]
    assert picture.complaints == ()


def test_svg_names_fonts_that_a_viewer_has():
    bold = 'digraph { a [label="x", fontname="DejaVu Sans Bold"] }'

    assert b'font-family="Helvetica,Arial,Liberation Sans,DejaVu Sans,sans-serif" font-size' in (
        render(SMALL, "svg").data
    )
    assert b'sans-serif" font-weight="bold" font-size' in render(bold, "svg").data


def test_svg_shows_no_names_of_the_drawing_on_hovering():
    assert b"<title>" not in render(SMALL, "svg").data


def test_png_is_large_enough_to_be_printed():
    data = render(SMALL, "png").data
    width, height = struct.unpack(">II", data[16:24])

    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert (width > 100, height > 200) == (True, True)


@pytest.mark.usefixtures("no_dot")
def test_without_dot_png_says_what_to_install():
    with pytest.raises(CannotDrawError, match="`apt-get install graphviz`"):
        render(SMALL, "png")


@pytest.mark.usefixtures("no_dot")
def test_dot_text_needs_no_program():
    assert render(SMALL, "dot").data == SMALL.encode()


def test_what_dot_complains_of_is_handed_on():
    picture = render('digraph { a [color="#abc"] }', "svg")

    assert picture.complaints == ("Warning: #abc is not a known color.",)


def test_text_that_dot_cannot_read_is_refused_with_its_words():
    with pytest.raises(CannotDrawError, match=r"`dot` could not draw this: .*syntax error"):
        render("digraph {", "svg")


@pytest.mark.usefixtures("no_dot")
def test_text_that_cannot_be_read_is_refused_without_dot_too():
    with pytest.raises(CannotDrawError, match="the picture could not be drawn"):
        render("digraph {", "svg")


@pytest.mark.usefixtures("no_dot")
def test_without_dot_a_whole_diagram_still_comes_out_with_room_for_its_words():
    picture = diagram(spec("specs/treasure-chest.yaml")).sheet()

    with a_browser() as browser:
        measured = browser.measured(svg(picture))

    assert overlapping_texts(measured) == []
    for text, at, _, _ in measured.texts:
        middle = ((at.left + at.right) / 2, (at.top + at.bottom) / 2)
        for box, _, _ in measured.boxes:
            assert box.holds(at) or not box.has(*middle), text


def test_without_cairo_png_and_pdf_say_what_to_install(monkeypatch):
    find = builtins.__import__

    def no_cairo(name, *rest, **more):
        if name == "cairocffi":
            raise OSError("no library called cairo-2 was found")
        return find(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", no_cairo)
    with pytest.raises(CannotDrawError, match="comes with Graphviz: install it"):
        png(Picture("empty", 10.0, 10.0, ()))
