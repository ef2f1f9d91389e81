"""What comes of a file: it is not there, cannot be read, was read, or was checked."""

from dataclasses import dataclass

from behaviour.findings import Mistake, Outcome
from behaviour.model import Model
from behaviour.source import Source


@dataclass(frozen=True, slots=True)
class Missing:
    """A file that did not come from the disk, and why, in one line."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A file that cannot be checked until its mistakes are mended."""

    source: Source
    mistakes: tuple[Mistake, ...]


@dataclass(frozen=True, slots=True)
class Readable:
    """A file whose every name is resolved."""

    source: Source
    model: Model


@dataclass(frozen=True, slots=True)
class Checked:
    """A file with all that its checking gave."""

    source: Source
    model: Model
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Tried:
    """A file checked with some of its values written otherwise, in the order asked for.

    Without an outcome `mistake` says why the file cannot be read so.
    """

    values: tuple[str, ...]
    outcome: Outcome | None
    mistake: str = ""
