"""A file with some of its values written otherwise, and which values there are to be tried.

It replaces text where a value stands and looks at nothing else: reading says what comes of it.
"""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal

from behaviour.model import Model
from behaviour.source import Source, Span
from behaviour.suggest import nearest

MOST_VALUES = 500
FORM = "write `200 ms, 300 ms, 500 ms` or `200 ms to 500 ms by 50 ms`"
_END = r"(-?[0-9]{1,9}(?:\.[0-9]{1,6})?)\s*(\S.*?)?"
_RANGE = re.compile(rf"{_END}\s+to\s+{_END}\s+by\s+{_END}")


class CannotTryError(Exception):
    """There is no such value, or no such values to try; the message says what there is."""


def written_otherwise(source: Source, model: Model, texts: Mapping[str, str]) -> Source:
    """Write other texts where some values stand. Raises CannotTryError where one does not."""
    places = dict(_places(model))
    spans = {place_of(places, name): text for name, text in texts.items()}
    lines = source.text.split("\n")
    for span in sorted(spans, reverse=True):
        first, last = lines[span.line - 1], lines[span.end_line - 1]
        joined = first[: span.column - 1] + spans[span] + last[span.end_column - 1 :]
        lines[span.line - 1 : span.end_line] = [joined]
    return Source(source.name, "\n".join(lines))


def place_of(places: Mapping[str, Span], name: str) -> Span:
    """Find where a value stands. Raises CannotTryError."""
    if name not in places:
        near = nearest(name, places, most=1) or tuple(places)[:5]
        there = f"there is {', '.join(f'`{each}`' for each in near)}" if near else "it has none"
        raise CannotTryError(f"the file has no setting or figure `{name}`: {there}")
    return places[name]


def text_of(source: Source, model: Model, name: str) -> str:
    """Give what is written for a value. Raises CannotTryError where there is no such value."""
    span = place_of(dict(_places(model)), name)
    return source.line(span.line)[span.column - 1 : span.end_column - 1]


def values_of(text: str) -> tuple[str, ...]:
    """List the values that a text names, one by one or from one to another by steps.

    Raises CannotTryError where it names none, or too many.
    """
    steps = _RANGE.fullmatch(text.strip())
    if steps is None:
        found = tuple(dict.fromkeys(each.strip() for each in text.split(",") if each.strip()))
        if not found or " by " in text:
            raise CannotTryError(f"`{text.strip()}` names no values: {FORM}")
        return found
    low, unit, high, other, by, third = steps.groups()
    units = {each for each in (unit, other, third) if each}
    if len(units) > 1 or (units and third is None):
        raise CannotTryError(f"`{text.strip()}` is in several units: {FORM}")
    numbers = tuple(_numbers(Decimal(low), Decimal(high), Decimal(by)))
    if not numbers:
        raise CannotTryError(f"`{text.strip()}` names no values: {FORM}")
    return tuple(f"{number.normalize():f} {third or ''}".strip() for number in numbers)


def _numbers(low: Decimal, high: Decimal, by: Decimal) -> Iterator[Decimal]:
    if by <= 0:
        return
    if (high - low) / by > MOST_VALUES:
        raise CannotTryError(f"that are more than {MOST_VALUES} values: take larger steps")
    now = low
    while now <= high:
        yield now
        now += by


def _places(model: Model) -> Iterator[tuple[str, Span]]:
    """List every setting and figure by its name, with where it stands."""
    for setting in model.settings:
        yield setting.name, setting.at
    for drive in model.drives:
        for path, quantity in drive.figures:
            yield f"{drive.output}.{path}", quantity.span
    for path, quantity in () if model.power is None else model.power.figures:
        yield f"power.{path}", quantity.span
