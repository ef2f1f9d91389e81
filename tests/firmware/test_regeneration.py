"""An emit over an older one tells what it changes for the user's files, and leaves no stranger."""

from dataclasses import replace
from pathlib import Path

import pytest

from behaviour.cli import main
from codegen.emit import emit
from codegen.keep import Done, write_files
from codegen.regeneration import changed_for
from tests.firmware.compilers import complaints
from tests.firmware.props import SPECS, spec

NAME = "confetti-carousel"
SPEC = (SPECS / f"{NAME}.yaml").read_text(encoding="utf-8")

BEFORE = {
    "x.h": "enum x_lamp {\n    X_LAMP_DARK,\n    X_LAMP_RED /* warns */\n};\n",
    "x_board.h": "void x_board_drive_lamp(enum x_lamp value);\nvoid x_board_drive_bell(void);\n",
}
AFTER = {
    "x.h": "enum x_lamp {\n    X_LAMP_DARK,\n    X_LAMP_BLUE\n};\n",
    "x_board.h": "void x_board_drive_lamp(enum x_lamp value);\n",
}


def test_names_that_have_gone_and_values_that_are_new_are_told_where_they_matter():
    yours = {
        "x_board.c": "void x_board_drive_bell(void) {}\n/* X_LAMP_RED */\ncase X_LAMP_RED: // \n",
        "main.c": "int X_LAMP_GREEN;\n",
    }

    assert changed_for(BEFORE, AFTER, yours) == (
        "`x_board_drive_bell` has gone from the behaviour, and line 1 of `x_board.c` names it",
        "`X_LAMP_RED` has gone from the behaviour, and line 3 of `x_board.c` names it",
        "`X_LAMP_BLUE` is new, and `x_board.c` names others beside it and not this one",
    )


def test_nothing_is_told_where_nothing_changed_or_there_was_nothing_before():
    yours = {"x_board.c": "X_LAMP_RED"}

    assert changed_for(BEFORE, BEFORE, yours) == ()
    assert changed_for({}, AFTER, yours) == ()


@pytest.fixture
def into(tmp_path: Path) -> Path:
    assert main(arguments(SPECS / f"{NAME}.yaml", tmp_path)) == 0
    return tmp_path


def arguments(file: Path, into: Path) -> list[str]:
    return ["emit", str(file), "--into", str(into), "--controller", "host", "--unchecked"]


def test_a_value_that_is_renamed_in_the_file_is_told_of_the_board_file(into, tmp_path, capsys):
    newer = tmp_path / f"{NAME}.yaml"
    newer.write_text(SPEC.replace("amber", "orange"), encoding="utf-8")
    capsys.readouterr()

    assert main(arguments(newer, into)) == 0
    told = capsys.readouterr().err
    assert "`CONFETTI_CAROUSEL_LAMP_AMBER` has gone from the behaviour, and line " in told
    assert "`CONFETTI_CAROUSEL_LAMP_ORANGE` is new, and `confetti_carousel_board.c` " in told


def test_a_generated_file_that_is_needed_no_more_is_put_aside_and_the_set_builds(tmp_path):
    model = spec(NAME)
    write_files(tmp_path, emit(model, f"{NAME}.yaml", "host"))
    folder = tmp_path / "confetti_carousel"
    newer = emit(replace(model, drives=()), f"{NAME}.yaml", "host")

    report = write_files(tmp_path, newer)

    aside = [kept for kept in report.files if kept.done is Done.ASIDE]
    assert [kept.path.name for kept in aside] == [
        "confetti_carousel_drum_steps.c",
        "confetti_carousel_drum_steps.h",
    ]
    assert aside[0].message == (
        "`confetti_carousel_drum_steps.c` is of an older emit and needed no more: it is "
        "`confetti_carousel_drum_steps.c.old` now"
    )
    assert not (folder / "confetti_carousel_drum_steps.c").exists()
    assert (folder / "confetti_carousel_drum_steps.c.old").exists()
    assert complaints("gcc", folder) == ""


def test_c_and_python_in_one_folder_leave_each_other_alone(tmp_path):
    model = spec(NAME)
    write_files(tmp_path, emit(model, f"{NAME}.yaml", "host"))
    python = tuple(
        replace(file, path="confetti_carousel/confetti_carousel.py")
        for file in emit(model, f"{NAME}.yaml", "host")[:1]
    )

    report = write_files(tmp_path, python)

    assert [kept.done for kept in report.files] == [Done.WRITTEN]
    assert complaints("gcc", tmp_path / "confetti_carousel") == ""


def test_what_is_the_users_in_the_folder_is_never_put_aside(tmp_path):
    model = spec(NAME)
    write_files(tmp_path, emit(model, f"{NAME}.yaml", "host"))
    folder = tmp_path / "confetti_carousel"
    steps = folder / "confetti_carousel_drum_steps.c"
    steps.write_text(steps.read_text(encoding="utf-8") + "/* mine */\n", encoding="utf-8")
    (folder / "confetti_carousel_mine.c").write_text("int mine;\n", encoding="utf-8")

    report = write_files(tmp_path, emit(replace(model, drives=()), f"{NAME}.yaml", "host"))

    assert (folder / "confetti_carousel_mine.c").exists()
    assert steps.exists()
    assert [kept.path.name for kept in report.files if kept.done is Done.ASIDE] == [
        "confetti_carousel_drum_steps.h"
    ]
