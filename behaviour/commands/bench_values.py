"""What `emit` and `check` do with settings that were edited on the bench: show, ask, advise."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from behaviour.commands.answering import CommandError, complain, put_out
from behaviour.disk import reason_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from behaviour.pipeline import Readable
    from codegen.read_back import Differs

FINGERPRINT = r"fingerprint\s+(?:\*\s+)?([0-9a-f]{4}-[0-9a-f]{4})"
BOARD_FOR = r"_BOARD_FOR_(\w+)"
FILE, BENCH = "file", "bench"


def differences(readable: Readable, controller: str, folder: Path) -> tuple[Differs, ...]:
    """Read the settings of a firmware's folder back; none where there are no settings yet.

    Raises CommandError where a line of them is neither a number nor a name.
    """
    from codegen.emit import firmware_name
    from codegen.keep import text_of
    from codegen.lower import lower
    from codegen.read_back import read_back

    prefix = firmware_name(readable.model, readable.source.name)
    path = folder / f"{prefix}_settings.h"
    try:
        found = text_of(path)
    except NotADirectoryError:
        return ()
    except OSError as problem:
        raise CommandError(f"`{path}` cannot be read: {reason_of(problem)}") from problem
    if found is None:
        return ()
    back = read_back(lower(readable.model, readable.source.name, prefix, controller), found)
    if back.unclear:
        lines = ", ".join(f"`{line}`" for line in back.unclear)
        raise CommandError(f"`{path}` has what cannot be read back, so nothing is done: {lines}")
    return back.differs


def tell_of_firmware(readable: Readable, folder: Path) -> bool:
    """Tell what the firmware that was emitted into a folder has otherwise than the file.

    It is the folder that `emit --into` was given, or that of the firmware itself. Raises
    CommandError where there is no firmware of the file.
    """
    from codegen.emit import firmware_name
    from codegen.keep import text_of

    prefix = firmware_name(readable.model, readable.source.name)
    inner = folder / prefix if (folder / prefix).is_dir() else folder
    path = inner / f"{prefix}_settings.h"
    found = text_of(path)
    if found is None:
        raise CommandError(f"there is no `{path}`: `{folder}` has no firmware of this file")
    differs = differences(readable, _controller_of(inner, prefix), inner)
    for each in differs:
        complain(str(each))
    other = _other_fingerprint(readable, found)
    if other:
        complain(f"the firmware in `{inner}` was emitted from {other}: emit again")
    return bool(differs or other)


def _controller_of(folder: Path, prefix: str) -> str:
    """Tell what a firmware was emitted for."""
    from codegen.keep import text_of

    found = re.search(BOARD_FOR, text_of(folder / f"{prefix}_board.h") or "")
    return found[1].lower() if found else "host"


def _other_fingerprint(readable: Readable, found: str) -> str:
    """Say of what a firmware is a copy, if not of the file as it is; empty if it is."""
    from behaviour.fingerprint import fingerprint

    mine, told = fingerprint(readable.model), re.search(FINGERPRINT, found)
    if told is None or told[1] == mine:
        return ""
    return f"fingerprint {told[1]}, and the file has {mine}"


def show(differs: Iterable[Differs]) -> None:
    """Print each setting that is otherwise on the bench, as `pin of mark: file 4, bench 7`."""
    for each in differs:
        put_out(f"{each}\n")


def asked_for(folder: Path) -> str | None:
    """Ask a terminal whose values to take; None where there is none, or it does not say."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        complain(
            f"the settings in `{folder}` were edited on the bench, and nothing is written: "
            "`--take file` or `--take bench` decides"
        )
        return None
    while True:
        put_out("take `file` or `bench`? ")
        answer = sys.stdin.readline()
        if not answer:
            complain("nothing is written")
            return None
        if answer.strip() in (FILE, BENCH):
            return answer.strip()


def advise(readable: Readable, differs: Sequence[Differs]) -> None:
    """Say which lines of the file to change to what, so that it has what the bench has."""
    from codegen.spec_lines import rewrites

    source = readable.source
    put_out("the firmware has what the bench has; so that the file has it too:\n")
    for each in rewrites(source.text, readable.model.settings, differs):
        where = f"{source.name}:{each.line}" if each.line else source.name
        put_out(f"  {where}: {each}\n")
