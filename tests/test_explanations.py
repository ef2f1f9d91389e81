"""Every finding is explained, with a bad example that gives it and a good one that does not."""

import re
from importlib.resources import files

import pytest

from behaviour.findings import KINDS
from behaviour.pipeline import Checked, check_source
from behaviour.source import Source

FOLDER = files("behaviour.explanations")
NAMES = [kind.name for kind in KINDS]
SECONDS = 60.0


def page(name: str) -> str:
    return FOLDER.joinpath(f"{name}.md").read_text(encoding="utf-8")


def found_in(text: str) -> set[str]:
    result = check_source(Source("example.yaml", text), SECONDS)
    assert isinstance(result, Checked), result
    return {name for found in result.outcome.findings for name in (found.kind.name, *found.also)}


def test_there_is_a_page_for_every_finding_and_none_besides():
    pages = {entry.name for entry in FOLDER.iterdir() if entry.name.endswith(".md")}

    assert pages == {f"{name}.md" for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_a_page_has_its_parts_in_their_order(name):
    headings = re.findall(r"^#+ .*$", page(name), re.MULTILINE)

    assert headings == [
        f"# {name}",
        "## Why it matters on a prop",
        "## Bad",
        "## Better",
        "## When it is meant",
    ]


@pytest.mark.parametrize("name", NAMES)
def test_the_bad_example_gives_the_finding_and_the_good_one_does_not(name):
    bad, good = re.findall(r"```yaml\n(.*?)```", page(name), re.DOTALL)

    assert name in found_in(bad)
    assert name not in found_in(good)
