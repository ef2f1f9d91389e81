"""A fingerprint changes with what a file means, and with nothing else."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from behaviour.fingerprint import fingerprint
from behaviour.language.load import read_model
from behaviour.model import Model, Rule, WayBack
from behaviour.source import Source
from tests.firmware.props import NESTED, TIMING
from tests.making import inside

TEXT = Path("specs/confetti-carousel.yaml").read_text(encoding="utf-8")


def read(text: str, name: str = "carousel.yaml") -> Model:
    model, mistakes = read_model(Source(name, text))
    assert model is not None, mistakes
    return model


def test_it_is_two_groups_of_four_digits() -> None:
    assert re.fullmatch(r"[0-9a-f]{4}-[0-9a-f]{4}", fingerprint(NESTED))
    assert fingerprint(NESTED) != fingerprint(TIMING)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("\nregions:", "\n\n# a remark\n\nregions:"),
        ("jam_time: 1500 ms", "jam_time: 1.5 s"),
        ("after: jam_time", "after: 1500 ms"),
        ("set: {drum: forward, lamp: amber}", "set: {drum: forward,   lamp: amber}"),
    ],
)
def test_layout_and_spelling_change_nothing(old: str, new: str) -> None:
    assert old in TEXT
    assert fingerprint(read(TEXT.replace(old, new))) == fingerprint(read(TEXT))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("jam_time: 1500 ms", "jam_time: 1510 ms"),
        ("go: empty", "go: jammed"),
        ("loaded > 0", "loaded > 1"),
        ("at most: 2 s", "at most: 3 s"),
        ("Lid open: load", "Lid is open: load"),
        ("pin: 2,", "pin: 13,"),
        ("pause 800 ms", "pause 900 ms"),
        ("takes: 20 ms to 60 ms", "takes: 20 ms to 70 ms"),
    ],
)
def test_every_change_of_meaning_changes_it(old: str, new: str) -> None:
    assert old in TEXT
    assert fingerprint(read(TEXT.replace(old, new))) != fingerprint(read(TEXT))


def test_the_name_of_the_file_changes_nothing() -> None:
    assert fingerprint(read(TEXT, "a.yaml")) == fingerprint(read(TEXT, "elsewhere/b.yaml"))


def test_a_rule_changes_it() -> None:
    rule = Rule(name="back", requirement=WayBack(condition=inside("show", "act")))
    assert fingerprint(replace(NESTED, rules=(rule,))) != fingerprint(NESTED)
