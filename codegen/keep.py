"""Writes emitted files: each whole or not at all, and nobody's own work is ever overwritten.

Strategy: a file is written beside its place, then put there in one move. A generated file that
was edited no longer fits its checksum; it is kept, and the new one is put beside it.
"""

import os
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from codegen.banner import is_untouched
from codegen.emit import EmittedFile, Whose


class Done(Enum):
    """What became of one file."""

    WRITTEN = "written"
    UNCHANGED = "unchanged"
    YOURS = "yours"
    EDITED = "edited"


@dataclass(frozen=True, slots=True)
class Kept:
    """One file: its place, what was done, and a sentence where the user should know."""

    path: Path
    done: Done
    message: str = ""


@dataclass(frozen=True, slots=True)
class Report:
    """What became of each file, in the order of the files."""

    files: tuple[Kept, ...]

    @property
    def messages(self) -> tuple[str, ...]:
        return tuple(kept.message for kept in self.files if kept.message)

    @property
    def is_mixed(self) -> bool:
        """Tell whether an edited file was kept, so that the set may not build yet."""
        return any(kept.done is Done.EDITED for kept in self.files)


def write_files(directory: Path, files: Iterable[EmittedFile]) -> Report:
    """Write files into `directory`, making folders as needed. Raises OSError if that fails."""
    return Report(tuple(_keep(directory, file) for file in files))


def _keep(directory: Path, file: EmittedFile) -> Kept:
    path = directory.joinpath(*file.path.split("/"))
    path.parent.mkdir(parents=True, exist_ok=True)
    found = _text_of(path)
    if found == file.text:
        return Kept(path, Done.UNCHANGED)
    if found is not None and file.whose is Whose.YOURS:
        return Kept(path, Done.YOURS)
    if found is not None and not is_untouched(found):
        new = path.with_name(path.name + ".new")
        write_whole(new, file.text)
        return Kept(
            path,
            Done.EDITED,
            f"`{path.name}` was edited by hand and is kept as it was; the new one is "
            f"`{new.name}` beside it: carry the edit over, then rename it",
        )
    write_whole(path, file.text)
    return Kept(path, Done.WRITTEN)


def write_whole(path: Path, text: str) -> None:
    """Write a file beside its place and move it there, so that it is never seen half written."""
    beside = path.with_name(f".{path.name}.part")
    with beside.open("w", encoding="utf-8", newline="\n") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(path)


def _text_of(path: Path) -> str | None:
    """Read a file as it stands; None if there is none."""
    try:
        return path.read_bytes().decode("utf-8", errors="replace")
    except FileNotFoundError:
        return None
