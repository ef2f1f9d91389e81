"""What a board file does not do yet is an error at build, and told in words when emitting."""

from dataclasses import replace
from pathlib import Path

import pytest

from behaviour.model import Model
from codegen.advice import advice
from codegen.emit import emit
from codegen.keep import write_files
from codegen.lower import lower
from tests.firmware.arduino import arduino_complaints, repinned
from tests.firmware.board_props import OPEN, SHINING, read
from tests.firmware.compilers import complaints
from tests.firmware.props import spec

CAROUSEL = spec("confetti-carousel")
NAME = "confetti_carousel"


def with_lamp(model: Model, **wired: object) -> Model:
    """Give the carousel with its lamp wired otherwise."""
    *others, lamp = model.outputs
    assert lamp.name == "lamp"
    return replace(model, outputs=(*others, replace(lamp, **wired)))  # type: ignore[arg-type]


def a_blue_lamp() -> Model:
    lamp = CAROUSEL.outputs[-1]
    pins = (*lamp.wiring.pins, ("blue", "13"))
    return with_lamp(
        CAROUSEL, values=(*lamp.values, "blue"), wiring=replace(lamp.wiring, pins=pins)
    )


def emitted(model: Model, directory: Path, controller: str = "uno") -> Path:
    write_files(directory, emit(model, "confetti-carousel.yaml", controller))
    return directory / NAME


def told(model: Model, folder: Path, controller: str = "uno") -> tuple[str, ...]:
    module = lower(model, "confetti-carousel.yaml", NAME, controller)
    paths = (*folder.glob("*.c"), *folder.glob("*.ino"))
    return advice(module, {path.name: path.read_text() for path in paths})


def test_a_new_wire_that_his_board_file_does_not_drive_yet_is_an_error_and_told(tmp_path):
    folder = emitted(CAROUSEL, tmp_path)
    assert told(CAROUSEL, folder) == ()

    emitted(a_blue_lamp(), tmp_path)

    said = arduino_complaints(folder, "uno")
    assert '#error "this board file does not drive lamp.blue yet"' in said
    (words,) = told(a_blue_lamp(), folder)
    assert words == (
        "`confetti_carousel_board.c` does not drive lamp.blue yet: it is not built until you have "
        "written that there, and `#define CONFETTI_CAROUSEL_DRIVES_LAMP_BLUE` with it"
    )


def test_a_watchdog_that_his_loop_does_not_feed_yet_is_an_error_and_told(tmp_path):
    folder = emitted(CAROUSEL, tmp_path)
    watched = replace(CAROUSEL, watchdog=250_000)
    (folder / f"{NAME}_board.c").unlink()  # that one is written anew

    emitted(watched, tmp_path)

    said = arduino_complaints(folder, "uno")
    assert '#error "this loop does not feed the watchdog yet"' in said
    (words,) = told(watched, folder)
    assert words.startswith("`confetti_carousel.ino` does not feed the watchdog yet: it is not")


def test_once_he_has_written_it_the_set_is_built(tmp_path):
    folder = emitted(CAROUSEL, tmp_path)
    emitted(a_blue_lamp(), tmp_path)
    board = folder / f"{NAME}_board.c"
    text = board.read_text()
    mark = "#define CONFETTI_CAROUSEL_DRIVES_LAMP_WHITE\n"
    board.write_text(text.replace(mark, f"{mark}#define CONFETTI_CAROUSEL_DRIVES_LAMP_BLUE\n"))

    assert arduino_complaints(folder, "uno") == ""
    assert told(a_blue_lamp(), folder) == ()


def test_a_mark_in_a_comment_is_none(tmp_path):
    folder = emitted(CAROUSEL, tmp_path)
    board = folder / f"{NAME}_board.c"
    mark = "#define CONFETTI_CAROUSEL_READS_MARK\n"
    board.write_text(board.read_text().replace(mark, f"/*\n{mark}*/\n"))

    assert "does not read mark yet" in arduino_complaints(folder, "uno")
    assert len(told(CAROUSEL, folder)) == 1


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("pins: {red: 6, blue: 9}, fade: 50 ms", "GLOW_FADE"),
        ("pulse: 50 ms, gap: 100 ms,", "HORN_PULSE"),
        ("gives: {low: 20 %, full: 100 %}, ", "FACE_LOW"),
        ("levels: {dim: below 300, bright: above 340}", "SKY_LEVELS"),
    ],
)
def test_whatever_needs_other_code_in_the_board_file_has_a_mark_of_its_own(text, mark):
    assert text in SHINING
    module = lower(read(SHINING), "lights.yaml", "lights", "uno")

    assert {f"LIGHTS_DRIVES_{mark}", f"LIGHTS_READS_{mark}"} & {m.macro for m in module.marks}


def test_a_board_file_for_another_controller_is_refused_and_told(tmp_path):
    folder = emitted(CAROUSEL, tmp_path, "host")
    emitted(CAROUSEL, tmp_path)

    assert '#error "this board file is not for uno"' in arduino_complaints(folder, "uno")
    board, loop = told(CAROUSEL, folder)
    assert board == (
        "`confetti_carousel_board.c` was written for another controller than `uno`: move it away, "
        "and emit again"
    )
    assert loop == (
        "`main.c` is the loop for a computer, and would be built too: move it out of the folder"
    )


def test_on_a_computer_too_a_new_output_is_an_error(tmp_path):
    folder = emitted(CAROUSEL, tmp_path, "host")
    bell = replace(CAROUSEL.outputs[-1], name="bell")
    emitted(replace(CAROUSEL, outputs=(*CAROUSEL.outputs, bell)), tmp_path, "host")

    assert "this board file does not drive bell yet" in complaints("gcc", folder)


def test_a_board_file_that_takes_no_part_is_left_alone(tmp_path):
    folder = emitted(CAROUSEL, tmp_path)
    (folder / f"{NAME}_board.c").write_text("/* all mine */\n")

    assert told(CAROUSEL, folder) == ()


def test_what_no_pin_does_by_itself_is_the_coders_and_not_built_before_he_wrote_it(tmp_path):
    write_files(tmp_path, emit(read(OPEN), "props.yaml", "uno"))
    folder = tmp_path / "props"
    module = lower(read(OPEN), "props.yaml", "props", "uno")

    said = arduino_complaints(folder, "uno")
    words = advice(module, {"props_board.c": (folder / "props_board.c").read_text()})

    for what in ("read radio", "read plain", "drive strip", "drive voice", "drive jaw"):
        assert f"does not {what} yet" in said
    assert "does not drive lamp yet" not in said
    assert any("drive voice yet, for it gives Hz, which no pin does by itself" in w for w in words)
    assert any("drive jaw yet, for the file gives no angle for shut" in w for w in words)
    assert any("read plain yet, for the file does not say which" in w for w in words)


def test_a_line_that_may_fall_silent_is_said_to_be_read_as_a_level():
    module = lower(spec("fog-cannon"), "fog-cannon.yaml", "fog_cannon", "mega")

    (said,) = advice(module, {})

    assert said.startswith("`desk` is read as a level: what it is when its sender falls silent is")


def test_steps_that_come_closer_than_a_loop_takes_are_told():
    (drive,) = CAROUSEL.drives
    speed = tuple(
        (name, replace(figure, number=60.0) if name == "speed" else figure)
        for name, figure in drive.figures
    )
    fast = replace(CAROUSEL, drives=(replace(drive, figures=speed),))

    for controller, words in (("uno", 1), ("mega", 1), ("host", 0)):
        said = advice(lower(fast, "confetti-carousel.yaml", NAME, controller), {})
        assert len(said) == words
        assert all(each.startswith("`drum` makes a step every 139 us") for each in said)


@pytest.mark.parametrize("controller", ["esp32", "pico"])
def test_a_controller_whose_core_is_not_here_is_said_to_be_compiled_against_a_stub(controller):
    model = repinned(CAROUSEL, controller)
    assert model is not None
    module = lower(model, "confetti-carousel.yaml", NAME, controller)

    assert advice(module, {})[-1] == (
        f"for `{controller}` what is emitted was compiled against a stub of its core's calls "
        "alone, and has run on no board"
    )
