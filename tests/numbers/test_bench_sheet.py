"""The sheet for the bench: what is tried, and in which order."""

import pytest

from behaviour.bench.trials import Trial, trials
from behaviour.cautions import CAUTIONS
from behaviour.cli import main
from tests.reading import SPECS, spec

CAROUSEL = "specs/confetti-carousel.yaml"


def test_wires_come_first_and_speed_last():
    titles = [part.title for part in trials(spec(CAROUSEL))]
    assert titles == [
        "wires",
        "switched on",
        "inputs",
        "guards and stops",
        "the story",
        "lamps and words",
        "how fast it may be",
    ]


def test_every_guard_is_tried_against_every_hazard_and_closed_again():
    (part,) = [each for each in trials(spec(CAROUSEL)) if each.title == "guards and stops"]
    assert part.trials == (
        Trial("while `drum` is not stopped, let `lid` be open", "drum stopped within 30 ms"),
        Trial("while `valve` is not shut, let `lid` be open", "valve shut within 30 ms"),
        Trial("let `lid` be closed again", "nothing starts by itself"),
    )


def test_a_walkthrough_is_tried_step_by_step():
    (part,) = [each for each in trials(spec(CAROUSEL)) if each.title == "the story"]
    assert part.trials[0] == Trial(
        "one clean shot: wait 800 ms, press trigger", "carousel in turn within 50 ms"
    )


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
@pytest.mark.parametrize("form", ["text", "html"])
def test_every_demo_prop_has_a_sheet_with_the_cautions(path, form, capsys):
    assert main(["bench", str(path), "--as", form]) == 0
    told = capsys.readouterr().out
    assert CAUTIONS[0] in told
    assert "fingerprint" in told
    assert "guards and stops" in told
