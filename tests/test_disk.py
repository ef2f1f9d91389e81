"""Files are read whole or refused in a line; outputs are written whole or not at all."""

import stat
from pathlib import Path

import pytest

from behaviour.disk import DiskError, read_source, read_text, write_whole


def test_line_ends_of_every_kind_become_line_feeds(tmp_path):
    path = tmp_path / "x.yaml"
    path.write_bytes(b"a: 1\r\nb: 2\rc: 3\n")

    assert read_source(str(path)).text == "a: 1\nb: 2\nc: 3\n"


def test_a_file_that_is_too_large_is_read_as_far_as_shows_that(tmp_path):
    path = tmp_path / "x.yaml"
    path.write_text("a" + "\u00e9" * 2_000_000, encoding="utf-8")

    text = read_source(str(path)).text

    assert len(text.encode()) == 1_048_577
    assert len(read_text(str(path))) == 2_000_001


def test_a_character_cut_by_the_bound_is_no_fault_of_the_encoding(tmp_path):
    path = tmp_path / "x.yaml"
    path.write_text("\u00e9" * 2_000_000, encoding="utf-8")

    assert set(read_source(str(path)).text) == {"\u00e9"}


def test_a_name_that_no_file_can_have_is_refused():
    with pytest.raises(DiskError, match="cannot be read: embedded null byte"):
        read_source("a\0b")


def test_a_path_through_a_file_is_refused(tmp_path):
    (tmp_path / "x.yaml").write_text("a")

    with pytest.raises(DiskError, match="cannot be read: not a directory"):
        read_source(str(tmp_path / "x.yaml" / "y.yaml"))


def test_a_new_file_has_the_mode_of_any_new_file_and_an_old_one_keeps_its_own(tmp_path):
    plain = tmp_path / "plain"
    plain.touch()
    old = tmp_path / "old"
    old.write_bytes(b"before")
    old.chmod(0o640)

    write_whole(str(tmp_path / "new"), b"a")
    write_whole(str(old), b"after")

    assert (tmp_path / "new").stat().st_mode == plain.stat().st_mode
    assert stat.S_IMODE(old.stat().st_mode) == 0o640
    assert old.read_bytes() == b"after"


def test_what_cannot_be_written_leaves_nothing_behind():
    with pytest.raises(DiskError, match="`/proc/x` cannot be written"):
        write_whole("/proc/x", b"a")


def test_a_name_too_long_for_the_disk_is_refused_and_leaves_nothing_behind(tmp_path):
    with pytest.raises(DiskError, match="cannot be written: file name too long"):
        write_whole(str(tmp_path / ("x" * 300)), b"a")

    assert list(Path(tmp_path).iterdir()) == []
