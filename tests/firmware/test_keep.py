"""Writing a project: each file whole, edits kept, the user's own files never touched again."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from codegen.banner import is_untouched
from codegen.emit import EmittedFile, Whose, emit
from codegen.keep import Done, write_files
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


def test_a_killed_process_leaves_every_file_whole(tmp_path: Path) -> None:
    program = (
        "from pathlib import Path\n"
        "from codegen.keep import write_files\n"
        "from tests.firmware.test_keep import NEW, OLD\n"
        f"place = Path({str(tmp_path)!r})\n"
        "while True:\n"
        "    write_files(place, OLD)\n"
        "    write_files(place, NEW)\n"
    )
    old, new = dict(_pairs(OLD)), dict(_pairs(NEW))
    environment = os.environ | {"PYTHONPATH": str(Path.cwd())}
    writer = subprocess.Popen([sys.executable, "-c", program], env=environment)
    while not (tmp_path / "prop" / "prop.md").exists():
        assert writer.poll() is None
        time.sleep(0.02)
    time.sleep(0.05)
    writer.send_signal(signal.SIGKILL)
    writer.wait(timeout=60)
    found = texts(tmp_path)
    for path in GENERATED:
        assert found[path] in (old[path], new[path])
    write_files(tmp_path, NEW)
    assert texts(tmp_path)["prop/prop.c"] == new["prop/prop.c"]


def _pairs(files: tuple[EmittedFile, ...]) -> list[tuple[str, str]]:
    return [(file.path, file.text) for file in files]
