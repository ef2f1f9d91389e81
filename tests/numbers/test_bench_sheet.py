"""The sheet for the bench: what is tried, and in which order."""

import json

import pytest

from behaviour.bench.trials import Trial, trials
from behaviour.cautions import CAUTIONS
from behaviour.cli import main
from behaviour.fingerprint import fingerprint
from behaviour.report.bench_sheet import bench_html
from tests.reading import SPECS, source_of, spec

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


def test_what_no_program_can_tell_goes_to_the_cut_off(tmp_path, capsys):
    path = "specs/confetti-carousel.yaml"
    sheet = {
        "fingerprint": fingerprint(spec(path)),
        "rows": [
            {"item": "drum", "mode": "welded", "effect": "it turns", "verdict": "beyond software"},
            {"item": "lid", "mode": "unplugged", "effect": "open", "verdict": "caught"},
        ],
    }
    file = tmp_path / "faults.json"
    file.write_text(json.dumps(sheet), encoding="utf-8")
    assert main(["bench", path, "--faults", str(file)]) == 0
    told = capsys.readouterr().out
    assert "drum welded: it turns" in told
    assert "-> the cut-off takes power from it" in told
    assert "lid unplugged: open" not in told


def test_a_worksheet_of_another_file_is_refused(tmp_path, capsys):
    file = tmp_path / "faults.json"
    file.write_text('{"fingerprint": "0000-0000", "rows": []}', encoding="utf-8")
    assert main(["bench", CAROUSEL, "--faults", str(file)]) == 2
    assert "is of a file with fingerprint 0000-0000: make it again" in capsys.readouterr().err
    file.write_text("[]", encoding="utf-8")
    assert main(["bench", CAROUSEL, "--faults", str(file)]) == 2
    assert "is no worksheet: `faults SPEC --as json` writes one" in capsys.readouterr().err


def test_the_page_has_names_set_apart_and_no_signs_of_the_text():
    page = bench_html(source_of(CAROUSEL), spec(CAROUSEL))

    assert "`" not in page
    assert "follow the wires of <code>drum</code>" in page
