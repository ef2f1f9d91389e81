"""Times, windows, numbers, pins and figures where a file gives them, by themselves or by a setting.

It knows nothing of the part that they belong to.
"""

import re
from dataclasses import dataclass

from behaviour.findings import Label
from behaviour.language.phrases import there_is
from behaviour.language.reading import Reading
from behaviour.language.syntax import Word
from behaviour.model import PinName, Quantity, Time, Unknown
from behaviour.source import Span
from behaviour.units import (
    TIME_FORM,
    Dimension,
    Figure,
    Unreadable,
    read_figure,
    read_time,
    read_whole,
    shortened,
)

UNKNOWN = "unknown"

_IDENTIFIER = re.compile(r"[^\W\d]\w*")
_RANGE = re.compile(r"(\S.*?)(\s+to\s+)(\S.*)", re.DOTALL)
PIN_PATTERN = r"[A-Za-z]{0,8}[0-9]{1,3}"
_PIN = re.compile(PIN_PATTERN)

PIN_FORM = "a pin is named as on the board, such as `3`, `A0`, or `GP15`"


@dataclass(frozen=True, slots=True)
class Given:
    """A value as written, or as the `setting` holds it that was named instead."""

    text: str
    span: Span
    setting: str | None


def given(reading: Reading, word: Word) -> Given | None:
    """Look a value up among the settings; None where its setting could not be read."""
    if word.text not in reading.settings.values:
        return Given(word.text, word.span, None)
    reading.settings.uses[word.text] += 1
    held = reading.settings.values[word.text]
    return None if held is None else Given(held.text, word.span, word.text)


def time_of(reading: Reading, word: Word, what: str) -> Time | None:
    """Read a time; where it is `unknown`, `what` names it."""
    value = given(reading, word)
    return None if value is None else _time_in(reading, value, what)


def _time_in(reading: Reading, value: Given, what: str) -> Time | None:
    if value.text == UNKNOWN:
        return _unknown(reading, value, what)
    time = read_time(value.text)
    if isinstance(time, Unreadable):
        report(reading, value, time, "a time", TIME_FORM)
        return None
    return time


def window_of(reading: Reading, word: Word, what: str) -> tuple[Time, Time] | None:
    """Read a time or a range such as `250 ms to 400 ms`, whose ends may be settings."""
    value = given(reading, word)
    if value is None:
        return None
    parts = _RANGE.fullmatch(value.text)
    if parts is None:
        time = _time_in(reading, value, what)
        return None if time is None else (time, time)
    low = time_of(reading, _part(value, parts.span(1)), what)
    high = time_of(reading, _part(value, parts.span(3)), what)
    if low is None or high is None:
        return None
    if isinstance(low, int) and isinstance(high, int) and low > high:
        reading.mistakes.add(
            value.span,
            f"`{shortened(value.text)}` ends before it begins",
            label="the longer time stands first",
            hint=f"write `{shortened(parts[3])} to {shortened(parts[1])}`",
        )
        return None
    return low, high


def _part(value: Given, stretch: tuple[int, int]) -> Word:
    return part_of(Word(value.text, value.span), stretch)


def part_of(value: Word, stretch: tuple[int, int]) -> Word:
    """Give a stretch of a value with its own place, where the value stands plainly in one line."""
    start, end = stretch
    at = value.span
    if at.line == at.end_line and at.end_column - at.column == len(value.text):
        at = Span(at.line, at.column + start, at.line, at.column + end)
    return Word(value.text[start:end], at)


def whole_of(reading: Reading, word: Word) -> int | None:
    """Read a whole number from 0 up."""
    value = given(reading, word)
    if value is None:
        return None
    if value.text == UNKNOWN:
        reading.mistakes.add(
            value.span,
            "this release does not leave a count open yet",
            label="a whole number is needed here",
            hint="write the number that you expect, and say so in `about`",
        )
        return None
    number = read_whole(value.text)
    if isinstance(number, Unreadable):
        report(reading, value, number, "a whole number", "write it in digits, such as `3`")
        return None
    return number


def pin_of(reading: Reading, word: Word, what: str) -> PinName | Unknown | None:
    """Read a pin; where it is `unknown`, `what` names it."""
    value = given(reading, word)
    if value is None:
        return None
    if value.text == UNKNOWN:
        return _unknown(reading, value, what)
    if not is_pin(value.text):
        wrong = Unreadable(f"`{shortened(value.text)}` is not a pin", PIN_FORM)
        report(reading, value, wrong, "a pin", PIN_FORM)
        return None
    return value.text


def is_pin(text: str) -> bool:
    """Tell whether a text can name a pin; whether a board has it is another matter."""
    return _PIN.fullmatch(text) is not None


def figure_of(
    reading: Reading, word: Word, dimensions: tuple[Dimension, ...], what: str
) -> Quantity | Unknown | None:
    """Read a figure that must measure one of `dimensions`, the likeliest first."""
    value = given(reading, word)
    if value is None:
        return None
    if value.text == UNKNOWN:
        return _unknown(reading, value, what)
    figure = read_figure(value.text)
    if isinstance(figure, Unreadable):
        report(reading, value, figure, dimensions[0].value, f"here stands {dimensions[0].value}")
        return None
    if figure.dimension not in dimensions:
        _report_dimension(reading, value, figure, dimensions[0])
        return None
    return Quantity(number=figure.number, unit=figure.unit, span=value.span)


DISTANCES = (Dimension.ANGLE, Dimension.STATIONS, Dimension.STEPS)
"""What may say how far a motor turns."""


def distance_of(reading: Reading, word: Word, what: str) -> Quantity | Unknown | None:
    """Read how far a motor turns: an angle, stations, or steps, and not nothing."""
    distance = figure_of(reading, word, DISTANCES, what)
    if isinstance(distance, Quantity) and distance.number <= 0:
        message = f"`{shortened(word.text)}` is no distance: the direction says which way"
        reading.mistakes.add(word.span, message, hint="write it as `90 deg`, more than nothing")
        return None
    return distance


def report(reading: Reading, value: Given, wrong: Unreadable, thing: str, form: str) -> None:
    """Report a value that is not the `thing` that belongs in its place, written as in `form`."""
    if value.setting is not None:
        held = reading.settings.values[value.setting]
        related = () if held is None else (Label(held.span, "its value"),)
        reading.mistakes.add(
            value.span,
            f"the setting `{value.setting}` holds `{shortened(value.text)}`, and here stands "
            f"{thing}",
            label=f"not {thing}",
            hint=wrong.hint or form,
            related=related,
        )
        return
    if _IDENTIFIER.fullmatch(value.text):
        near = reading.near(value.text, reading.settings.names)
        plain_thing = thing.partition(",")[0]
        reading.mistakes.add_once(
            ("setting", value.text, thing),
            value.span,
            f"`{shortened(value.text)}` is neither {plain_thing} nor the name of a setting",
            hint=there_is("setting", near) or form,
        )
        return
    label = f"not {thing.partition(',')[0]}"
    reading.mistakes.add(value.span, wrong.why, label=label, hint=wrong.hint or form)


def _report_dimension(reading: Reading, value: Given, figure: Figure, dimension: Dimension) -> None:
    found = figure.dimension.value.partition(",")[0]
    if not figure.unit:
        found = "a number without a unit"
    message = f"`{shortened(value.text)}` is {found}, and here stands {dimension.value}"
    report(reading, value, Unreadable(message), dimension.value, "")


def _unknown(reading: Reading, value: Given, what: str) -> Unknown:
    if value.setting is not None:
        return Unknown(value.setting, value.span)
    return reading.unknown(what, value.span)
