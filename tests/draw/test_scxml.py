"""The SCXML export keeps the structure of W3C's State Chart XML 1.0 (2015), written from memory:
which element may stand in which with which attributes (chapters 3 and 5), that ids are unique XML
names, that each target and `initial` is the id of a state, and `initial` one inside its state.
"""

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from behaviour.cli import main
from behaviour.draw.scxml import NAMESPACE, scxml_text
from tests.reading import FAULTY, ROOT, SPECS, spec

MAY_HOLD = {
    "scxml": {"datamodel", "parallel"},
    "datamodel": {"data"},
    "parallel": {"state"},
    "state": {"onentry", "state", "transition"},
    "onentry": {"assign"},
    "transition": {"assign"},
    "assign": set(),
    "data": set(),
}
MUST_HAVE = {"scxml": {"version"}, "data": {"id"}, "assign": {"location"}}
MAY_HAVE = {
    "scxml": {"version", "datamodel", "name"},
    "data": {"id", "expr"},
    "assign": {"location", "expr"},
    "state": {"id", "initial"},
    "parallel": {"id"},
    "transition": {"event", "cond", "target"},
}
NCNAME = re.compile(r"[A-Za-z_][A-Za-z0-9._-]*")


def tag(element: ET.Element) -> str:
    return element.tag.removeprefix(f"{{{NAMESPACE}}}")


def found_wrong(root: ET.Element) -> list[str]:
    wrong = []
    ids = [element.get("id", "") for element in root.iter()]
    ids = [each for each in ids if each]
    for element in root.iter():
        name = tag(element)
        wrong += [f"{tag(c)} in {name}" for c in element if tag(c) not in MAY_HOLD[name]]
        given = set(element.attrib)
        wrong += [f"{key} of {name}" for key in given - MAY_HAVE.get(name, set())]
        wrong += [f"no {key} of {name}" for key in MUST_HAVE.get(name, set()) - given]
        if element.get("target", ids[0]) not in ids:
            wrong.append(f"target {element.get('target')}")
        inner = {each.get("id") for each in element.iter()} - {element.get("id")}
        if element.get("initial") is not None and element.get("initial") not in inner:
            wrong.append(f"initial {element.get('initial')}")
    wrong += [each for each in ids if not NCNAME.fullmatch(each)]
    return wrong + [each for each in set(ids) if ids.count(each) > 1]


@pytest.mark.parametrize("path", [*SPECS, *FAULTY], ids=lambda path: path.stem)
def test_every_demo_prop_has_the_structure_of_scxml(path: Path) -> None:
    root = ET.fromstring(scxml_text(spec(str(path.relative_to(ROOT)))))

    assert (tag(root), root.get("version"), found_wrong(root)) == ("scxml", "1.0", [])


def test_a_leaf_lists_what_may_be_done_in_the_order_in_which_it_is_looked_at():
    root = ET.fromstring(scxml_text(spec("specs/confetti-carousel.yaml")))
    (turn,) = [each for each in root.iter() if each.get("id") == "carousel.turn"]

    ways = [(w.get("cond"), w.get("target")) for w in turn if tag(w) == "transition"]
    assert ways == [
        ("(_event.data.reads.lid === 'open')", "carousel.lid_open"),
        ("(_event.data.became.mark === 'made')", "carousel.shot"),
        ("_event.data.now - entered['carousel.turn'] >= 1500", "carousel.jammed"),
    ]


def test_what_it_cannot_say_stands_at_its_head():
    text = scxml_text(spec("specs/confetti-carousel.yaml"))

    assert text.index("Interlocks have no counterpart") < text.index("<scxml")
    assert text.index("Mechanism, rules") < text.index("<scxml")


def test_the_command_writes_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "prop.scxml"

    assert main(["draw", "specs/confetti-carousel.yaml", "--out", str(out)]) == 0
    assert capsys.readouterr().out == f"drawn: {out}\n"
    assert out.read_text(encoding="utf-8") == scxml_text(spec("specs/confetti-carousel.yaml"))
