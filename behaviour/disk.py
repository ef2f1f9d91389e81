"""Behaviour files read from disk and outputs written to it, for the command line alone.

Whatever is wrong with a path or a file's bytes is said in one line that tells what to do.
"""

import os
import stat
import tempfile
from pathlib import Path

from behaviour.source import Source
from behaviour.suggest import nearest

MOST_BYTES = 1_048_576 + 1
"""One byte more than a behaviour file may have: enough to see that it has too many."""

UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class DiskError(Exception):
    """A file could not be read or written; the message is one line for the person who asked."""


def read_source(name: str) -> Source:
    """Read a behaviour file. A byte order mark is dropped and line ends become line feeds.

    Raises DiskError where there is no such file, or it is not text that can be read.
    """
    text = _text_of(name, _bytes_of(name))
    if not text.strip():
        raise DiskError(f"`{name}` is empty: a behaviour file begins with `language: 1`")
    return Source(name, text.replace("\r\n", "\n").replace("\r", "\n"))


def read_text(name: str) -> str:
    """Read any other text file whole; the same faults are told in the same way."""
    return _text_of(name, _bytes_of(name, most=-1))


def write_whole(name: str, data: bytes) -> None:
    """Write a file beside its place, then put it there: it is never half written.

    Raises DiskError where it cannot be written.
    """
    check_place(name)
    try:
        _write_beside(Path(name), data)
    except OSError as problem:
        raise DiskError(f"`{name}` cannot be written: {reason_of(problem)}") from problem


def check_place(name: str) -> None:
    """Raise DiskError where a file surely cannot be written there: known before long work."""
    path = Path(name)
    try:
        if path.is_dir():
            raise DiskError(f"`{name}` is a folder: name the file to write in it")
        if not path.parent.is_dir():
            raise DiskError(f"there is no folder `{path.parent}`: make it first")
    except OSError as problem:
        raise DiskError(f"`{name}` cannot be written: {reason_of(problem)}") from problem


def write_new(name: str, data: bytes) -> None:
    """Write a file that is not there yet. Raises DiskError where something has its name already."""
    if os.path.lexists(name):
        raise DiskError(f"`{name}` is there already, and is not written over: choose another name")
    write_whole(name, data)


def make_folder(name: str) -> None:
    """Make a folder, if it is not there. Raises DiskError where it cannot be made."""
    try:
        Path(name).mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise DiskError(f"`{name}` cannot be made a folder: {reason_of(problem)}") from problem


def _write_beside(path: Path, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(prefix=".tablework-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(beside).chmod(_mode_for(path))
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _bytes_of(name: str, most: int = MOST_BYTES) -> bytes:
    try:
        with Path(name).open("rb") as file:
            return file.read(most)
    except FileNotFoundError as problem:
        raise DiskError(f"there is no file `{name}`{_near(Path(name))}") from problem
    except IsADirectoryError as problem:
        raise DiskError(f"`{name}` is a folder: name a file in it{_within(name)}") from problem
    except PermissionError as problem:
        raise DiskError(
            f"`{name}` may not be read by you: `chmod u+r {name}` allows it, if it is yours"
        ) from problem
    except (OSError, ValueError) as problem:
        raise DiskError(f"`{name}` cannot be read: {reason_of(problem)}") from problem


def _text_of(name: str, data: bytes) -> str:
    if data.startswith(UTF_16_MARKS):
        raise DiskError(f"`{name}` is UTF-16 text: save it as UTF-8")
    if b"\0" in data:
        raise DiskError(f"`{name}` is not a text file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        if problem.reason == "unexpected end of data" and len(data) == MOST_BYTES:
            return data[: problem.start].decode("utf-8-sig")
        line = data.count(b"\n", 0, problem.start) + 1
        raise DiskError(
            f"`{name}` is not UTF-8 text, from line {line} on (perhaps Latin-1): save it as UTF-8"
        ) from problem


def _near(path: Path) -> str:
    """Name the files nearest to one that is not there."""
    try:
        names = sorted(entry.name for entry in path.parent.iterdir() if entry.is_file())
    except OSError:
        return f"; there is no folder `{path.parent}` either"
    found = nearest(path.name, names, most=1)
    return f"; there is `{path.parent / found[0]}`" if found else ""


def _within(name: str) -> str:
    """Name a behaviour file of a folder, for an example."""
    found = sorted(Path(name).glob("*.yaml"))
    return f", such as `{found[0]}`" if found else ""


def _mode_for(path: Path) -> int:
    """Give the mode of the file that is replaced, else that of any new file."""
    if path.exists():
        return stat.S_IMODE(path.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def reason_of(problem: OSError | ValueError) -> str:
    """Give what the system says of a failure as half a sentence."""
    words = problem.strerror if isinstance(problem, OSError) and problem.strerror else str(problem)
    return words[:1].lower() + words[1:]
