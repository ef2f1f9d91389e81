"""Writing a project: each file whole, edits kept, the user's own files never touched again."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from codegen.banner import is_untouched
from codegen.emit import EmittedFile, Whose, emit
from codegen.keep import Done, changes, write_files
from tests.firmware.compilers import complaints
from tests.firmware.props import NESTED, TIMING

OLD = emit(NESTED, "prop.yaml", "host")
NEW = emit(TIMING, "prop.yaml", "host")
GENERATED = [file.path for file in OLD if file.whose is Whose.GENERATED]


def texts(directory: Path) -> dict[str, str]:
    return {
        path.relative_to(directory).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(directory.rglob("*"))
        if path.is_file()
    }


def test_a_first_emit_writes_a_folder_of_the_props_name(tmp_path: Path) -> None:
    report = write_files(tmp_path / "new" / "place", OLD)
    assert {kept.done for kept in report.files} == {Done.WRITTEN}
    assert report.messages == ()
    assert texts(tmp_path / "new" / "place") == {file.path: file.text for file in OLD}
    assert sorted(GENERATED) == [
        "prop/prop.c",
        "prop/prop.h",
        "prop/prop.md",
        "prop/prop_board.h",
        "prop/prop_settings.h",
        "prop/prop_trace.c",
    ]


def test_a_second_emit_of_the_same_leaves_every_file_as_it_is(tmp_path: Path) -> None:
    write_files(tmp_path, OLD)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    report = write_files(tmp_path, OLD)
    assert {kept.done for kept in report.files} == {Done.UNCHANGED}
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == before


def test_the_board_and_the_loop_are_the_users_from_the_first_emit_on(tmp_path: Path) -> None:
    write_files(tmp_path, OLD)
    board, loop = tmp_path / "prop" / "prop_board.c", tmp_path / "prop" / "main.c"
    board.write_text("mine", encoding="utf-8")
    report = write_files(tmp_path, NEW)
    done = {kept.path.name: kept.done for kept in report.files}
    assert done["prop_board.c"] is Done.YOURS
    assert board.read_text(encoding="utf-8") == "mine"
    assert loop.read_text(encoding="utf-8") == dict(_pairs(OLD))["prop/main.c"]
    assert {path: done[Path(path).name] for path in GENERATED} == dict.fromkeys(
        GENERATED, Done.WRITTEN
    )
    assert not report.is_mixed


@pytest.mark.parametrize("path", GENERATED)
def test_an_edited_file_is_kept_and_the_new_one_put_beside_it(tmp_path: Path, path: str) -> None:
    write_files(tmp_path, OLD)
    edited = tmp_path / path
    mine = "\n" + edited.read_text(encoding="utf-8")
    edited.write_text(mine, encoding="utf-8")
    report = write_files(tmp_path, NEW)
    assert edited.read_text(encoding="utf-8") == mine
    beside = edited.with_name(edited.name + ".new")
    assert beside.read_text(encoding="utf-8") == dict(_pairs(NEW))[path]
    assert report.is_mixed
    (message,) = report.messages
    assert message == (
        f"`{edited.name}` was edited by hand and is kept as it was; the new one is "
        f"`{beside.name}` beside it: carry the edit over, then rename it"
    )


def test_what_somebody_else_wrote_under_such_a_name_is_kept(tmp_path: Path) -> None:
    (tmp_path / "prop").mkdir()
    theirs = tmp_path / "prop" / "prop.h"
    theirs.write_text("/* no checksum */\n", encoding="utf-8")
    report = write_files(tmp_path, OLD)
    assert report.files[0].done is Done.EDITED
    assert theirs.read_text(encoding="utf-8") == "/* no checksum */\n"


def test_other_line_ends_are_no_edit(tmp_path: Path) -> None:
    write_files(tmp_path, OLD)
    header = tmp_path / "prop" / "prop.h"
    header.write_bytes(header.read_bytes().replace(b"\n", b"\r\n"))
    report = write_files(tmp_path, NEW)
    assert report.files[0].done is Done.WRITTEN
    assert header.read_text(encoding="utf-8") == dict(_pairs(NEW))["prop/prop.h"]


def test_an_edit_after_the_checksum_is_an_edit_too() -> None:
    text = dict(_pairs(OLD))["prop/prop.c"]
    assert is_untouched(text)
    assert not is_untouched(text + "int more;\n")
    assert not is_untouched(text.replace("Checksum", "Checksum "))
    assert not is_untouched(text.rsplit("/* Checksum", 1)[0])


@pytest.mark.parametrize("files_done", range(7))
def test_a_stop_between_files_leaves_each_whole_and_the_next_emit_mends_the_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, files_done: int
) -> None:
    write_files(tmp_path, OLD)
    moved: list[Path] = []
    replace = Path.replace

    def stop_at(self: Path, target: Path) -> Path:
        if len(moved) == files_done:
            raise KeyboardInterrupt
        moved.append(target)
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", stop_at)
    if files_done < len(GENERATED):
        with pytest.raises(KeyboardInterrupt):
            write_files(tmp_path, NEW)
    else:
        write_files(tmp_path, NEW)
    monkeypatch.undo()
    old, new = dict(_pairs(OLD)), dict(_pairs(NEW))
    found = texts(tmp_path)
    for number, path in enumerate(GENERATED):
        assert found[path] == (new if number < files_done else old)[path]
    said = (
        complaints("gcc", tmp_path / "prop", "-fsyntax-only") if files_done in {1, 3} else "emits"
    )
    assert "emits" in said
    write_files(tmp_path, NEW)
    assert {path: texts(tmp_path)[path] for path in GENERATED} == {
        path: new[path] for path in GENERATED
    }


KILLED = """
import os, signal, sys
from pathlib import Path
from codegen import keep
from tests.firmware.test_keep import NEW

where, left = sys.argv[2], int(sys.argv[3])

def die(*given, **more):
    global left
    left -= 1
    if left < 0:
        os.kill(os.getpid(), signal.SIGKILL)

def killed_in(name, whole, before):
    def replaced(*given, **more):
        if before:
            die()
        found = whole(*given, **more)
        if not before:
            die()
        return found
    return replaced

if where == "while writing":
    os.fsync = die
    keep.os.fsync = die
else:
    Path.replace = killed_in("replace", Path.replace, where == "before moving")
keep.write_files(Path(sys.argv[1]), NEW)
"""
"""Writes the new files over the old ones, and kills itself like a power cut after some of them."""


@pytest.mark.parametrize("files_done", [0, 2, 5])
@pytest.mark.parametrize("where", ["while writing", "before moving", "after moving"])
def test_a_killed_process_leaves_every_file_whole_and_the_next_emit_mends_the_set(
    tmp_path: Path, where: str, files_done: int
) -> None:
    write_files(tmp_path, OLD)
    (tmp_path / "prop" / "prop_board.c").write_text("mine", encoding="utf-8")
    command = [sys.executable, "-c", KILLED, str(tmp_path), where, str(files_done)]
    environment = os.environ | {"PYTHONPATH": str(Path.cwd())}
    killed = subprocess.run(command, env=environment, check=False, timeout=60)
    assert killed.returncode == -signal.SIGKILL
    old, new, found = dict(_pairs(OLD)), dict(_pairs(NEW)), texts(tmp_path)
    done = files_done + (where == "after moving")
    for number, path in enumerate(GENERATED):
        assert found[path] == (new if number < done else old)[path]
    assert found["prop/prop_board.c"] == "mine"
    write_files(tmp_path, NEW)
    assert texts(tmp_path) == new | {
        "prop/prop_board.c": "mine",
        "prop/main.c": old["prop/main.c"],
    }


def test_an_edited_file_is_written_over_only_by_force_and_what_it_was_put_beside(
    tmp_path: Path,
) -> None:
    write_files(tmp_path, OLD)
    edited = tmp_path / "prop" / "prop.c"
    edited.write_text("mine\n", encoding="utf-8")
    report = write_files(tmp_path, NEW, force=True)
    assert not report.is_mixed
    assert report.messages == (
        "`prop.c` was edited by hand and is written over; what it was is `prop.c.bak`",
    )
    assert edited.read_text(encoding="utf-8") == dict(_pairs(NEW))["prop/prop.c"]
    assert edited.with_name("prop.c.bak").read_text(encoding="utf-8") == "mine\n"
    edited.write_text("mine again\n", encoding="utf-8")
    write_files(tmp_path, NEW, force=True)
    assert edited.with_name("prop.c.bak").read_text(encoding="utf-8") == "mine\n"
    assert edited.with_name("prop.c.bak-2").read_text(encoding="utf-8") == "mine again\n"
    board = tmp_path / "prop" / "prop_board.c"
    board.write_text("my board\n", encoding="utf-8")
    write_files(tmp_path, NEW, force=True)
    assert board.read_text(encoding="utf-8") == "my board\n"


def test_changes_are_told_as_a_diff_and_nothing_is_written(tmp_path: Path) -> None:
    write_files(tmp_path, OLD)
    (tmp_path / "prop" / "prop.md").write_text("mine\n", encoding="utf-8")
    (tmp_path / "prop" / "prop_trace.c").unlink()
    (tmp_path / "prop" / "main.c").write_text("my loop\n", encoding="utf-8")
    before = texts(tmp_path)
    told = "".join(changes(tmp_path, NEW))
    assert texts(tmp_path) == before
    heads = [line for line in told.splitlines() if line.startswith(("--- ", "+++ "))]
    folder = tmp_path / "prop"
    assert heads == [
        *(f"{sign} {folder}/{name}" for name in ("prop.h", "prop.c") for sign in ("---", "+++")),
        *(f"{sign} {folder}/prop_settings.h" for sign in ("---", "+++")),
        *(f"{sign} {folder}/prop_board.h" for sign in ("---", "+++")),
        "--- /dev/null",
        f"+++ {folder}/prop_trace.c",
        "--- /dev/null",
        f"+++ {folder}/prop.md.new",
    ]
    assert "-mine\n" in "".join(changes(tmp_path, NEW, force=True))
    write_files(tmp_path, NEW)
    assert list(changes(tmp_path, NEW)) == []
    assert list(changes(tmp_path, OLD)) != []


def _pairs(files: tuple[EmittedFile, ...]) -> list[tuple[str, str]]:
    return [(file.path, file.text) for file in files]
