"""Recordings from the bench, as several commands read them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from behaviour.disk import read_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from behaviour.bench.capture import Capture
    from behaviour.model import Model


def captures_of(model: Model, name: str, maps: Sequence[str]) -> tuple[Capture, ...]:
    """Read a recording with its channels as `--map` names them. Raises CaptureError."""
    from behaviour.bench.channels import mapped
    from behaviour.bench.reading import read_captures

    return read_captures(model, name, read_text(name), mapped(model, maps))
