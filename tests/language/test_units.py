"""Times, counts and figures as they are written."""

import pytest

from behaviour.units import Dimension, Figure, Unreadable, read_figure, read_time, read_whole


@pytest.mark.parametrize(
    ("text", "micros"),
    [
        ("20 ms", 20_000),
        ("1.5 s", 1_500_000),
        ("2 min", 120_000_000),
        ("0 ms", 0),
        ("0.001 ms", 1),
        ("0.1 s", 100_000),
        ("1.005 s", 1_005_000),
        ("999999999 min", 59_999_999_940_000_000),
    ],
)
def test_a_time_is_read_exactly_in_whole_microseconds(text: str, micros: int) -> None:
    assert read_time(text) == micros


@pytest.mark.parametrize(
    ("text", "why", "hint"),
    [
        ("20", "`20` has no unit", "a time has a unit: `20 ms` or `20 s`"),
        ("20ms", "`20ms` lacks a space before its unit", "write `20 ms`"),
        ("3 Seconds", "`Seconds` is not a unit of time", "write `3 s`"),
        ("5 minutes", "`minutes` is not a unit of time", "write `5 min`"),
        ("5 h", "`h` is not a unit of time", "a time is written `20 ms`, `1.5 s`, or `2 min`"),
        ("5 us", "`us` is not a unit of time", "a time is written `20 ms`, `1.5 s`, or `2 min`"),
        ("1,5 s", "`1,5 s` has a comma", "write `1.5 s`"),
        ("5:30", "`5:30` is not how a time is written", "write `330 s`"),
    ],
)
def test_a_wrong_time_is_told_how_it_is_written(text: str, why: str, hint: str) -> None:
    assert read_time(text) == Unreadable(why, hint)


@pytest.mark.parametrize("text", ["", "ms", "soon", "1.2.3 s", ".5 s", "5. s", "1e3 ms", "٣ ms"])
def test_what_is_no_time_is_refused(text: str) -> None:
    assert isinstance(read_time(text), Unreadable)


def test_whole_numbers_are_plain_digits_from_nought_up() -> None:
    assert read_whole("0") == 0
    assert read_whole("007") == 7
    for text in ("-1", "1.0", "", "1e3", "١", "1234567890"):
        assert isinstance(read_whole(text), Unreadable)


@pytest.mark.parametrize(
    ("text", "figure", "dimension"),
    [
        ("4.5", Figure(4.5, ""), Dimension.NUMBER),
        ("20 deg", Figure(20.0, "deg"), Dimension.ANGLE),
        ("30 %", Figure(30.0, "%"), Dimension.SHARE),
        ("30%", Figure(30.0, "%"), Dimension.SHARE),
        ("0.02 kg m2", Figure(0.02, "kg m2"), Dimension.INERTIA),
        ("0.3  N   m", Figure(0.3, "N m"), Dimension.TORQUE),
        ("150 rpm/s", Figure(150.0, "rpm/s"), Dimension.RAMP),
        ("-3 V", Figure(-3.0, "V"), Dimension.VOLTAGE),
        ("20 ms", Figure(20.0, "ms"), Dimension.TIME),
    ],
)
def test_a_figure_has_its_unit_and_measures_something(
    text: str, figure: Figure, dimension: Dimension
) -> None:
    assert read_figure(text) == figure
    assert figure.dimension is dimension


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("3.8 mh", Unreadable("`mh` is not a unit", "write `3.8 mH`")),
        ("20deg", Unreadable("`20deg` lacks a space before its unit", "write `20 deg`")),
        ("3 horses", Unreadable("`horses` is not a unit", "")),
        ("plenty", Unreadable("`plenty` is not a figure", "write it as `3.8 mH`")),
    ],
)
def test_a_wrong_figure_is_told_what_is_wrong(text: str, wrong: Unreadable) -> None:
    assert read_figure(text) == wrong
