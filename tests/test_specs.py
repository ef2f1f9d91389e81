"""The demo props and the faulty ones are read whole, and between them use all of the language."""

import re
from pathlib import Path

import pytest

from behaviour.cautions import CAUTIONS
from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.source import Source
from tests.expectations import read_expectations
from tests.language_parts import EVERY_PART, parts_used

ROOT = Path(__file__).parents[1]
SPECS = ROOT / "specs"
DEMOS = sorted(SPECS.glob("*.yaml"))
FAULTY = sorted((SPECS / "faulty").glob("*.yaml"))
DOCUMENTS = (ROOT / "README.md", SPECS / "README.md")


def model_of(path: Path) -> Model:
    text = path.read_text(encoding="utf-8")
    model, mistakes = read_model(Source(path.name, text))
    assert mistakes == ()
    assert model is not None
    return model


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_prop_is_read_without_a_mistake(path):
    model = model_of(path)

    assert model.unknowns == ()
    assert model.about
    assert 6 <= sum(not state.children for region in model.regions for state in region.states) <= 20


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_prop_expects_no_finding(path):
    assert read_expectations(path.read_text(encoding="utf-8")) == ()


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_a_faulty_prop_has_its_lesson_and_says_what_must_be_found(path):
    model = model_of(path)
    expected = read_expectations(path.read_text(encoding="utf-8"))

    assert model.about
    assert expected
    rules = {rule.name for rule in model.rules}
    for one in expected:
        assert one.rule is None or one.rule in rules
        if one.place is not None:
            region, state = one.place
            assert state in {named.name for named in model.region[region].states}


def test_there_are_at_least_six_demo_props_and_twelve_faulty_ones():
    assert len(DEMOS) >= 6
    assert len(FAULTY) >= 12


def test_the_demo_props_use_every_part_of_the_language():
    used = {part for path in DEMOS for part in parts_used(model_of(path))}

    assert sorted(EVERY_PART - used) == []


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_whole_file_in_a_page_is_read_without_a_mistake(path):
    blocks = re.findall(r"```yaml\n(.*?)```", path.read_text(encoding="utf-8"), re.DOTALL)
    whole = [block for block in blocks if block.startswith("language: 1\n")]

    assert len(whole) == 1
    for block in whole:
        assert read_model(Source(path.name, block))[1] == ()


def test_the_example_of_the_front_page_is_the_faulty_bubble_tub():
    example = (SPECS / "faulty" / "bubble-tub-looks-once.yaml").read_text(encoding="utf-8")
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    body = example.split("\n", 1)[1]

    assert f"```yaml\n{body}```" in page


def test_the_front_page_carries_every_caution():
    page = (ROOT / "README.md").read_text(encoding="utf-8")

    assert [caution for caution in CAUTIONS if f"- {caution}" not in page] == []


def test_every_prop_is_listed_on_the_page_that_teaches():
    page = (SPECS / "README.md").read_text(encoding="utf-8")
    rows = [line for line in page.splitlines() if line.startswith("| [")]
    listed = [re.findall(r"\(([a-z/-]+\.yaml)\)", row)[0] for row in rows]

    assert sorted(listed) == sorted(str(path.relative_to(SPECS)) for path in (*DEMOS, *FAULTY))
