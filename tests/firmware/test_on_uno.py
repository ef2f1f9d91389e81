"""The firmware with the real Arduino core on a simulated Uno, at its pins and on its serial line.

The board and the loop are written by hand here (`by_hand/`), as a coder would: so what is held
against the definition is the generated part, and the way of comparing.
"""

import shutil
from pathlib import Path

import pytest
from hypothesis import settings

from codegen.conform.arduino import build_for_uno, size_of
from codegen.conform.simulator import powered
from codegen.conform.timeline import Timeline
from codegen.conform.uno import UnoReport, match_folder
from codegen.conform.walk import walk
from codegen.emit import emit
from codegen.keep import write_files
from tests.firmware.props import spec

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


@pytest.mark.parametrize(
    ("file", "written", "instead", "told"),
    [
        (f"{NAME}_board.cpp", "== CONFETTI_CAROUSEL_LAMP_GREEN", "!= CONFETTI_CAROUSEL_LAMP_GREEN",
         "the pin of lamp.green"),
        (f"{NAME}_board.cpp", "digitalRead(CONFETTI_CAROUSEL_LID_PIN) == LOW",
         "digitalRead(CONFETTI_CAROUSEL_LID_PIN) == HIGH", "the pin of lamp"),
        (f"{NAME}_trace.c", 'word = "turn"', 'word = "torn"', "of the trace"),
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


def test_the_carousel_takes_at_most_2_5_kb_and_100_bytes_of_a_uno_without_core_and_trace(tmp_path):
    folder = folder_in(tmp_path)
    (folder / "instance.c").write_text(f'#include "{NAME}.h"\nstruct {NAME} instance;\n')
    build_for_uno(folder, tmp_path / "built", whole=False)
    files = (NAME, f"{NAME}_drum_steps", "instance")

    size = size_of(*(tmp_path / "built" / f"{file}.c.o" for file in files))

    assert 0 < size.flash <= 2560  # issue 3
    assert 0 < size.ram <= 100
