"""Durations and other quantities, and what a file leaves open."""

from dataclasses import dataclass, field

from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True)
class Unknown:
    """A value that the file leaves open with `unknown`; `what` names it, such as `turn.after`."""

    what: str
    span: Span = field(default=NOWHERE, compare=False)


Micros = int
"""A duration in whole microseconds."""

Time = Micros | Unknown


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A figure with its unit as written, and where it comes from if the file says so.

    `known` is `guess`, `maker` or `measured`; `on` is the day of that, as it was written.
    """

    number: float
    unit: str
    known: str | None = None
    on: str = field(default="", compare=False)
    span: Span = field(default=NOWHERE, compare=False)
