"""The wiring as a line drawing: what it says, and how it stands in a real browser."""

import pytest

from behaviour.draw.svg import svg
from behaviour.draw.wiring import plugs_of, wiring
from tests.draw.browser import a_browser, overlapping_texts
from tests.reading import FAULTY, ROOT, SPECS, model_of, spec


def test_every_pin_is_a_terminal_numbered_through_inputs_first():
    plugs = plugs_of(spec("specs/confetti-carousel.yaml"))

    assert [
        (terminal.number, terminal.pin, plug.name, terminal.wire)
        for plug in plugs
        for terminal in plug.terminals
    ] == [
        (1, "pin 2", "lid", ""),
        (2, "pin 3", "trigger", ""),
        (3, "pin 4", "mark", ""),
        (4, "pin 5", "drum", "step"),
        (5, "pin 6", "drum", "dir"),
        (6, "pin 7", "drum", "enable"),
        (7, "pin 8", "valve", ""),
        (8, "pin 9", "lamp", "green"),
        (9, "pin 10", "lamp", "amber"),
        (10, "pin 11", "lamp", "red"),
        (11, "pin 12", "lamp", "white"),
    ]
    assert [plug.name for plug in plugs if plug.is_hazard] == ["drum", "valve"]


def test_a_contact_leads_against_its_pull_and_a_sensor_is_no_contact():
    rails = {plug.name: plug.rail for plug in plugs_of(spec("specs/fog-cannon.yaml"))}

    assert (rails["stop"], rails["fuse"]) == ("ground", "ground")
    assert (rails["tank"], rails["desk"]) == ("", "")  # a sensor, and a line with news on it


def test_what_has_no_pin_is_said_and_what_is_not_known_yet_too():
    model = model_of("""\
        language: 1
        prop: Half wired
        loop: 10 ms
        inputs: {go_on: {kind: button, pin: unknown, pull: down}}
        outputs: {lamp: {kind: lamp, values: [dark, lit]}}
        regions: {line: {begins: here, states: {here: {set: {lamp: lit}}}}}
        """)

    drawn = svg(wiring(model)).decode()

    assert ">not known yet</text>" in drawn
    assert ">supply</text>" in drawn
    assert ">Without a pin in the file: lamp</text>" in drawn


def test_the_cautions_stand_on_it():
    assert "A software interlock is not a safety-rated one." in (
        svg(wiring(spec("specs/fog-cannon.yaml"))).decode()
    )


@pytest.mark.parametrize("paths", [SPECS, FAULTY[::8]], ids=["demo props", "some faulty ones"])
def test_no_words_lie_on_others_or_out_of_their_boxes(paths):
    with a_browser() as browser:
        for path in paths:
            measured = browser.measured(svg(wiring(spec(str(path.relative_to(ROOT))))))

            assert overlapping_texts(measured) == []
            for text, at, _, _ in measured.texts:
                middle = ((at.left + at.right) / 2, (at.top + at.bottom) / 2)
                assert measured.sheet.holds(at), text
                for box, _, _ in measured.boxes:
                    assert box.holds(at) or not box.has(*middle), text
