"""The desk of a rehearsal laid out for a terminal: nothing that matters is cut off."""

import pytest

from behaviour.rehearse.desk import Desk, open_desk, press
from behaviour.rehearse.screen import screen
from behaviour.rehearse.stage import Timing
from tests.reading import SPECS, model_in, source_of, spec


def played(path: str) -> Desk:
    """Press the first button of a prop at its first change, and go on for two more."""
    desk = open_desk(spec(path), Timing(1.0))
    for key in (">", ">", "2", ">", ">"):
        desk = press(desk, key)
    return desk


def test_in_a_wide_terminal_inputs_regions_and_outputs_stand_side_by_side() -> None:
    lines = screen(played("specs/confetti-carousel.yaml"), 120, 40)

    assert lines[2].split("   ")[0] == "inputs"
    assert "regions" in lines[2]
    assert "outputs (! can hurt)" in lines[2]


@pytest.mark.parametrize("width", [40, 50, 80])
@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_output_and_region_is_seen_however_narrow_the_terminal(path, width) -> None:
    model = model_in(source_of(str(path.relative_to(path.parents[1]))))
    lines = screen(open_desk(model, Timing(1.0)), width, 80)

    assert all(len(line) < width for line in lines)
    for output in model.outputs:
        assert any(f"  {output.name} " in line for line in lines)
    for region in model.regions:
        assert any(f" {region.name} " in line and line.endswith(" s") for line in lines)


def test_what_happened_goes_on_in_the_next_line_where_it_is_too_long() -> None:
    lines = screen(played("specs/confetti-carousel.yaml"), 50, 60)

    at = next(n for n, line in enumerate(lines) if line.startswith("0.00 s  power on"))
    assert lines[at + 1].startswith("        ")


@pytest.mark.parametrize("height", [3, 8, 12, 24])
def test_how_to_end_is_seen_however_low_the_terminal(height) -> None:
    lines = screen(played("specs/fog-cannon.yaml"), 40, height)

    assert len(lines) == height - 1
    assert any("Q: end" in line for line in lines)
