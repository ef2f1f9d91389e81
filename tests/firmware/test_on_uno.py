"""The firmware with the real Arduino core on a simulated Uno, at its pins and on its serial line.

Both what is emitted for a Uno is held against the definition, and the generated part with a board
and a loop written by hand (`by_hand/`), as a coder would.
"""

import shutil
from pathlib import Path

import pytest
from hypothesis import settings

from behaviour.cli import main
from codegen.conform.arduino import build_for_uno, sizes_for
from codegen.conform.build import CannotBuildError
from codegen.conform.simulator import powered
from codegen.conform.terminals import Terminal, levels, reading, refuse_what_cannot_be_led
from codegen.conform.timeline import Timeline
from codegen.conform.uno import UnoReport, match_folder, match_on_uno
from codegen.conform.walk import walk
from codegen.emit import emit
from codegen.keep import write_files
from tests.firmware.arduino import repinned
from tests.firmware.board_props import MOVING, SHINING, read
from tests.firmware.props import spec
from tests.making import button, prop, region, state

BY_HAND = Path(__file__).parent / "by_hand"
NAME = "confetti_carousel"
MODEL = spec("confetti-carousel")
SIMULATED_MS = 60_000 if settings.default.max_examples > 500 else 10_000
"""A minute is run with the `long` profile."""


def folder_in(directory: Path) -> Path:
    write_files(directory, emit(MODEL, "confetti-carousel.yaml", "host"))
    folder = directory / NAME
    for name in ("main.c", f"{NAME}_board.c"):
        (folder / name).unlink()
    for path in BY_HAND.iterdir():
        shutil.copy(path, folder)
    return folder


def runs() -> tuple[Timeline, ...]:
    return walk(MODEL, 1, 3000, 3000).timelines


def compared(folder: Path, simulated_ms: int) -> UnoReport:
    return match_folder(MODEL, "confetti-carousel.yaml", folder, runs(), simulated_ms)


def test_the_carousel_does_on_a_simulated_uno_what_the_definition_says(tmp_path):
    report = compared(folder_in(tmp_path), SIMULATED_MS)

    assert report.mismatch is None
    assert report.simulated_ms >= SIMULATED_MS
    assert report.not_looked_at == ("drum",)
    assert 0 < report.longest_microseconds < 150  # issue 3


def test_what_is_emitted_for_a_uno_does_there_what_the_definition_says():
    report = match_on_uno(MODEL, "confetti-carousel.yaml", runs(), SIMULATED_MS)

    assert report.mismatch is None
    assert report.simulated_ms >= SIMULATED_MS
    assert 0 < report.longest_microseconds < 150  # issue 3


@pytest.mark.parametrize(
    ("name", "not_looked_at"),
    [
        ("treasure-chest", ("glow", "moan")),
        ("fortune-teller", ("jaw", "eyelids", "crystal", "voice")),
        ("rotating-sign", ("sign", "face")),
    ],
)
def test_other_props_do_so_too_on_pins_of_a_uno(name, not_looked_at):
    model = repinned(spec(name), "uno")
    assert model is not None
    timelines = walk(model, 1, 1500, 1500).timelines

    report = match_on_uno(model, f"{name}.yaml", timelines, SIMULATED_MS // 5)

    assert report.mismatch is None
    assert report.simulated_ms >= SIMULATED_MS // 5
    assert report.not_looked_at == not_looked_at


def test_what_an_input_reads_is_led_to_its_terminals():
    sky, mode, dial, reed = read(SHINING).inputs

    assert [level for _, level in reading(mode, "off")] == [True, True]
    assert [level for _, level in reading(mode, "test")] == [True, False]
    assert [level for _, level in reading(dial, "low")] == [False, True]
    assert [level for _, level in reading(reed, "made")] == [False]
    assert reading(sky, "dim") == ((Terminal("C", 0), 733),)  # 150 of 1023
    assert reading(sky, "bright") == ((Terminal("C", 0), 3328),)  # 681 of 1023


def test_a_motor_that_turns_the_other_way_is_looked_for_at_the_other_pin():
    winch = next(each for each in read(MOVING).outputs if each.name == "winch")
    cart = next(each for each in read(MOVING).outputs if each.name == "cart")

    assert [high for _, high in levels(winch, "up").values()] == [False, True]
    assert [high for _, high in levels(winch, "stopped").values()] == [False, False]
    assert [high for _, high in levels(cart, "away").values()] == [True, True]
    assert [high for _, high in levels(cart, "home").values()] == [False, True]


@pytest.mark.parametrize(
    ("file", "written", "instead", "told"),
    [
        (f"{NAME}_board.cpp", "== CONFETTI_CAROUSEL_LAMP_GREEN", "!= CONFETTI_CAROUSEL_LAMP_GREEN",
         "the pin of lamp.green"),
        (f"{NAME}_board.cpp", "digitalRead(CONFETTI_CAROUSEL_LID_PIN) == LOW",
         "digitalRead(CONFETTI_CAROUSEL_LID_PIN) == HIGH", "the pin of lamp"),
        (f"{NAME}_trace.c", '"turn "', '"torn "', "of the trace"),
    ],
)  # fmt: skip
def test_what_is_wrong_on_the_chip_is_told(file, written, instead, told, tmp_path):
    folder = folder_in(tmp_path)
    path = folder / file
    text = path.read_text()
    assert written in text
    path.write_text(text.replace(written, instead))

    report = compared(folder, SIMULATED_MS)

    assert report.mismatch is not None
    assert told in report.mismatch.what


def test_a_held_pin_stays_held_when_a_lamp_on_its_port_changes(tmp_path):
    """The trap of simavr that `simulator.py` tells of: a write lets go of pins with a pull."""
    folder = tmp_path / "held"
    folder.mkdir()
    (folder / "held.ino").write_text(
        "void setup() { pinMode(2, INPUT_PULLUP); pinMode(7, OUTPUT); Serial.begin(115200); }\n"
        "void loop() { digitalWrite(7, HIGH); Serial.print(digitalRead(2)); digitalWrite(7, LOW);"
        " Serial.print(digitalRead(2)); delay(10); }\n"
    )
    program = build_for_uno(folder, tmp_path / "built")

    with powered(program) as chip:
        chip.lead("D", 2, high=False)
        chip.run(1_600_000)
        low = chip.said()
        chip.lead("D", 2, high=True)
        chip.run(1_600_000)

        assert len(low) > 10
        assert set(low) == {"0"}
        assert set(chip.said()[2:]) == {"1"}
        assert chip.driven("D", 2) is None


def emitted_in(directory: Path) -> Path:
    write_files(directory, emit(MODEL, "confetti-carousel.yaml", "uno"))
    return directory / NAME


@pytest.mark.parametrize("folder", [folder_in, emitted_in])
def test_the_carousel_takes_at_most_2_5_kb_and_100_bytes_of_a_uno_without_core_and_trace(
    folder, tmp_path
):
    size = sizes_for("uno", folder(tmp_path)).behaviour

    assert 0 < size.flash <= 2560  # issue 3
    assert 52 < size.ram <= 100


@pytest.mark.parametrize("folder", [folder_in, emitted_in])
def test_the_carousel_takes_at_most_6_kb_and_300_bytes_of_a_uno_with_core_and_trace(
    folder, tmp_path
):
    size = sizes_for("uno", folder(tmp_path)).whole

    assert 0 < size.flash <= 6144  # issue 3
    assert 0 < size.ram <= 300


def test_the_command_compares_a_folder_on_a_simulated_uno(tmp_path, capsys):
    folder = folder_in(tmp_path)
    asked = ["match-c", "specs/confetti-carousel.yaml", "--on", "uno", "--limit", "2"]

    code = main([*asked, "--folder", str(folder), "--simulate", "1"])

    said = capsys.readouterr().out
    assert code == 0
    assert said.startswith("alike  specs/confetti-carousel.yaml: ")
    assert "only in the trace, not at the pins: `drum`\n" in said


def test_the_command_compares_what_is_emitted_where_no_folder_is_named(capsys):
    asked = ["match-c", "specs/confetti-carousel.yaml", "--on", "uno", "--limit", "2"]

    code = main([*asked, "--simulate", "1"])

    said = capsys.readouterr().out
    assert code == 0
    assert said.startswith("alike  specs/confetti-carousel.yaml: ")


def test_the_command_tells_what_a_uno_has_no_pin_for(capsys):
    code = main(["match-c", "specs/lift-platform.yaml", "--on", "uno", "--limit", "1"])

    assert code == 2
    assert "`uno` has no pin `22` of `winch.raising`, `23` of `winch.lowering`" in (
        capsys.readouterr().err
    )


def test_a_folder_that_is_not_there_is_told(tmp_path, capsys):
    asked = ["match-c", "specs/confetti-carousel.yaml", "--on", "uno", "--limit", "1"]

    code = main([*asked, "--folder", str(tmp_path / "none")])

    assert code == 2
    assert "there is no folder" in capsys.readouterr().err


def test_readings_that_are_not_high_and_low_are_refused():
    dial = prop(region("r", state("a")), inputs=[button("dial")])

    with pytest.raises(CannotBuildError, match="`dial` cannot be driven on the simulated chip"):
        refuse_what_cannot_be_led(dial)
