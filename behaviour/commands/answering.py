"""How every command answers: what it prints and where, how it ends, and how it reads a file."""

from __future__ import annotations

import os
import shutil
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import PurePath
from typing import TYPE_CHECKING

from behaviour.disk import check_place, read_source

if TYPE_CHECKING:
    from behaviour.pipeline import Readable
    from behaviour.report.paint import Paint

OK, BROKEN, UNREADABLE, NOT_DECIDED = 0, 1, 2, 3
PROGRESS_EVERY = 1.0
"""Seconds between two looks at the clock that are shown."""

WORST_FIRST = (UNREADABLE, BROKEN, NOT_DECIDED, OK)


class CommandError(Exception):
    """A command cannot do what it was asked for; the message is one line that says why."""


def readable_file(name: str) -> Readable | None:
    """Read a file, or tell its mistakes beside what the command prints."""
    from behaviour.pipeline import Readable, read
    from behaviour.report.text import mistakes_text

    result = read(read_source(name))
    if isinstance(result, Readable):
        return result
    paint = replace(paint_of_terminal(), on=False)
    sys.stderr.write(mistakes_text(result.source, result.mistakes, paint))
    return None


FORMS_BY_ENDING = {
    ".csv": "csv",
    ".htm": "html",
    ".html": "html",
    ".json": "json",
    ".md": "markdown",
    ".pdf": "pdf",
}
PLAIN_ENDINGS = ("", ".txt", ".text")


def form_for(asked: str | None, out: str | None, forms: Sequence[str]) -> str:
    """Tell in which of `forms` a file is meant to be: as asked, else by its name, else the first.

    Raises CommandError where the name promises another, and DiskError where no file can stand.
    """
    if out is None:
        return asked or forms[0]
    check_place(out)
    if asked is not None:
        return asked
    ending = PurePath(out).suffix.lower()
    form = FORMS_BY_ENDING.get(ending)
    if form is not None and form in forms:
        return form
    if ending in PLAIN_ENDINGS:
        return forms[0]
    from behaviour.language.phrases import listed

    known = [each for each, form in FORMS_BY_ENDING.items() if form in forms and each != ".htm"]
    known += [".txt"] if "text" in forms else []
    words = f"`{ending}` is not written by this command"
    raise CommandError(f"{words}: the name may end in {listed(known)}")


def worst(codes: Sequence[int]) -> int:
    return min(codes, key=WORST_FIRST.index)


@contextmanager
def progress(what: str) -> Iterator[None]:
    """Show on a terminal how long something has been going on, once it has for a while."""
    if not sys.stderr.isatty():
        yield
        return
    done, began = threading.Event(), time.monotonic()

    def show() -> None:
        while not done.wait(PROGRESS_EVERY):
            sys.stderr.write(f"\r{what} ... {time.monotonic() - began:.0f} s")
            sys.stderr.flush()
        if time.monotonic() - began >= PROGRESS_EVERY:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    watcher = threading.Thread(target=show, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()


def paint_of_terminal() -> Paint:
    """Tell what is printed on: colours where somebody sees them, and how wide it is.

    `COLUMNS` says how wide where there is no terminal; else text keeps its own width there.
    """
    from behaviour.report.paint import NARROWEST, WIDEST, Paint

    is_wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    columns = WIDEST
    if sys.stdout.isatty() or os.environ.get("COLUMNS"):
        columns = shutil.get_terminal_size((WIDEST, 24)).columns
    width = min(max(columns, NARROWEST), WIDEST)
    return Paint(on=is_wanted and sys.stdout.isatty(), width=width)


def put_out(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


def complain(words: str) -> None:
    sys.stderr.write(f"tablework: {words}\n")
