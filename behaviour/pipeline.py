"""From a file's text to what is known of it: read, then check. The table of contents.

It knows neither disks nor terminals: text comes in, facts go out.
"""

from dataclasses import dataclass

from behaviour.check.run import Limits, check_model
from behaviour.findings import Mistake, Outcome
from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.source import Source


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


def read(source: Source) -> Unreadable | Readable:
    """Read a file's text into a model, or into all of its mistakes."""
    model, mistakes = read_model(source)
    if model is None:
        return Unreadable(source, mistakes)
    return Readable(source, model)


def check(readable: Readable, seconds: float) -> Checked:
    """Check what was read, for at most about so many seconds."""
    outcome = check_model(readable.model, Limits(seconds=seconds))
    return Checked(readable.source, readable.model, outcome)


def check_source(source: Source, seconds: float) -> Unreadable | Checked:
    """Read a file's text and check it; a file that cannot be read is not checked."""
    result = read(source)
    return check(result, seconds) if isinstance(result, Readable) else result
