"""A recording read in whatever form it has: a waveform, a table, or the firmware's trace."""

from collections.abc import Mapping
from pathlib import PurePath

from behaviour.bench.capture import Capture, CaptureError, Recording
from behaviour.bench.channels import capture_of
from behaviour.bench.lines import Part
from behaviour.bench.reading_csv import read_csv
from behaviour.bench.reading_trace import is_trace, read_trace
from behaviour.bench.reading_vcd import read_vcd
from behaviour.model import Model

SUFFIXES = (".vcd", ".csv", ".tsv", ".txt", ".log", ".trace")
"""What the names of recordings end in, where a story could be meant as well."""


def read_captures(
    model: Model, name: str, text: str, maps: Mapping[str, Part]
) -> tuple[Capture, ...]:
    """Read a recording; of a trace each power-up is one of its own. Raises CaptureError."""
    return tuple(capture_of(model, each, maps) for each in _recordings(name, text))


def _recordings(name: str, text: str) -> tuple[Recording, ...]:
    suffix = PurePath(name).suffix.lower()
    begins = text.lstrip()
    if not begins:
        raise CaptureError("this file is empty")
    if suffix == ".vcd" or (suffix != ".csv" and begins.startswith("$")):
        return (read_vcd(text),)
    if suffix in (".csv", ".tsv") or not is_trace(text):
        return (read_csv(text),)
    return read_trace(text)
