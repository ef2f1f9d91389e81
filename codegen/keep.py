"""Writes emitted files: each whole or not at all, and nobody's own work is ever lost.

Strategy: a file is written beside its place, then put there in one move. A generated file that
was edited no longer fits its checksum; it is kept, and the new one is put beside it, or where that
is asked for it is itself put beside. Settings in which only values are another are no such edit:
the values that the new ones do not have are put beside.
"""

import difflib
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from codegen.banner import is_untouched
from codegen.emit import EmittedFile, Whose
from codegen.read_back import bench_values, is_edited_in_values_alone, values

NEW, OLD, BENCH, ASIDE = ".new", ".bak", ".bench", ".old"
"""What the name of a file that is put beside ends with."""


class Done(Enum):
    """What became of one file."""

    WRITTEN = "written"
    UNCHANGED = "unchanged"
    YOURS = "yours"
    EDITED = "edited"
    ASIDE = "put aside"


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


def write_files(directory: Path, files: Iterable[EmittedFile], *, force: bool = False) -> Report:
    """Write files into `directory`, making folders as needed. Raises OSError if that fails.

    With `force` generated files that were edited are written too, and what they were put beside.
    """
    listed = tuple(files)
    kept = tuple(_keep(directory, file, force=force) for file in listed)
    return Report((*kept, *_put_aside(directory, listed)))


def _put_aside(directory: Path, files: tuple[EmittedFile, ...]) -> Iterator[Kept]:
    """Rename what an older emit left beside these files, and nobody edited: it would not build."""
    wanted = {_place(directory, file) for file in files}
    for folder in sorted({path.parent for path in wanted if path.suffix == ".c"}):
        for path in sorted(folder.glob(f"{folder.name}_*.[ch]")):
            if path not in wanted and is_untouched(text_of(path) or ""):
                old = path.with_name(path.name + ASIDE)
                path.replace(old)
                words = (
                    f"`{path.name}` is of an older emit and needed no more: it is `{old.name}` now"
                )
                yield Kept(path, Done.ASIDE, words)


def changes(directory: Path, files: Iterable[EmittedFile], *, force: bool = False) -> Iterator[str]:
    """Give what `write_files` would change in files that are there or new, as unified diffs."""
    for file in files:
        path = _place(directory, file)
        found = text_of(path)
        if found is not None and file.whose is Whose.YOURS:
            continue
        if found is not None and _is_edited(found) and not force:
            path = path.with_name(path.name + NEW)
            found = text_of(path)
        yield from difflib.unified_diff(
            [] if found is None else found.splitlines(keepends=True),
            file.text.splitlines(keepends=True),
            "/dev/null" if found is None else str(path),
            str(path),
        )


def _place(directory: Path, file: EmittedFile) -> Path:
    return directory.joinpath(*file.path.split("/"))


def _is_edited(found: str) -> bool:
    return not is_untouched(found) and not is_edited_in_values_alone(found)


def _keep(directory: Path, file: EmittedFile, *, force: bool) -> Kept:
    path = _place(directory, file)
    path.parent.mkdir(parents=True, exist_ok=True)
    found = text_of(path)
    _part(path).unlink(missing_ok=True)
    if found == file.text:
        return Kept(path, Done.UNCHANGED)
    if found is not None and file.whose is Whose.YOURS:
        return Kept(path, Done.YOURS)
    if found is None or is_untouched(found):
        write_whole(path, file.text)
        return Kept(path, Done.WRITTEN)
    if not _is_edited(found):
        return _with_other_values(path, found, file.text)
    if force:
        old = _put_beside(path, OLD, found)
        write_whole(path, file.text)
        words = f"`{path.name}` was edited by hand and is written over; what it was is `{old.name}`"
        return Kept(path, Done.WRITTEN, words)
    new = path.with_name(path.name + NEW)
    write_whole(new, file.text)
    return Kept(
        path,
        Done.EDITED,
        f"`{path.name}` was edited by hand and is kept as it was; the new one is "
        f"`{new.name}` beside it: carry the edit over, then rename it",
    )


def _with_other_values(path: Path, found: str, text: str) -> Kept:
    """Write settings, and put beside what was there if a value from the bench goes."""
    lost = bench_values(found).items() - values(text).items()
    if not lost:
        write_whole(path, text)
        return Kept(path, Done.WRITTEN)
    old = _put_beside(path, BENCH, found)
    write_whole(path, text)
    return Kept(path, Done.WRITTEN, f"what `{path.name}` had from the bench is `{old.name}`")


def _put_beside(path: Path, ending: str, text: str) -> Path:
    """Write a text beside a file under a name that nothing has yet, or that has the same text."""
    number, beside = 1, path.with_name(path.name + ending)
    while (there := text_of(beside)) is not None and there != text:
        number += 1
        beside = path.with_name(f"{path.name}{ending}-{number}")
    write_whole(beside, text)
    return beside


def write_whole(path: Path, text: str) -> None:
    """Write a file beside its place and move it there, so that it is never seen half written."""
    beside = _part(path)
    with beside.open("w", encoding="utf-8", newline="\n") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(path)


def _part(path: Path) -> Path:
    """Name what is written of a file before it is whole; a process that was killed leaves it."""
    return path.with_name(f".{path.name}.part")


def text_of(path: Path) -> str | None:
    """Read a file as it stands; None if there is none."""
    try:
        return path.read_bytes().decode("utf-8", errors="replace")
    except FileNotFoundError:
        return None
