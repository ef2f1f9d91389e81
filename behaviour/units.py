"""Times, whole numbers and figures with units, as they are written in a file.

It knows nothing of where they stand, nor of settings.
"""

import re
from dataclasses import dataclass
from enum import Enum

from behaviour.model import Micros
from behaviour.suggest import nearest

MICROS = {"ms": 1000, "s": 1_000_000, "min": 60_000_000}
"""The units of time, each in microseconds."""

TIME_FORM = "a time is written `20 ms`, `1.5 s`, or `2 min`"

NUMBER_PATTERN = r"[0-9]+(?:\.[0-9]+)?"
_TIME = re.compile(rf"({NUMBER_PATTERN})(\s*)([^\W\d]+)")
_DIGITS_WHOLE, _DIGITS_PART = 9, 6
_OTHER_WORDS = {
    "sec": "s",
    "secs": "s",
    "second": "s",
    "seconds": "s",
    "msec": "ms",
    "millisecond": "ms",
    "milliseconds": "ms",
    "mins": "min",
    "minute": "min",
    "minutes": "min",
}


@dataclass(frozen=True, slots=True)
class Unreadable:
    """What is wrong with a text, as half a sentence on its own, and what would be right."""

    why: str
    hint: str = ""


def read_time(text: str) -> Micros | Unreadable:
    """Read a duration such as `1.5 s` into whole microseconds."""
    parts = _TIME.fullmatch(text)
    if parts is None:
        return _not_a_time(text)
    number, space, unit = str(parts[1]), parts[2], str(parts[3])
    if unit not in MICROS:
        meant = _OTHER_WORDS.get(unit.lower())
        hint = f"write `{number} {meant}`" if meant else TIME_FORM
        return Unreadable(f"`{unit}` is not a unit of time", hint)
    if not space:
        return Unreadable(f"`{text}` lacks a space before its unit", f"write `{number} {unit}`")
    whole, _, part = number.partition(".")
    if len(whole) > _DIGITS_WHOLE or len(part) > _DIGITS_PART:
        return Unreadable(f"`{text}` has too many digits for a time", TIME_FORM)
    finest: int = 10 ** len(part)
    micros: int = int(whole + part) * MICROS[unit]
    if micros % finest:
        return Unreadable(f"`{text}` is finer than a microsecond", TIME_FORM)
    return micros // finest


def _not_a_time(text: str) -> Unreadable:
    if re.fullmatch(NUMBER_PATTERN, text):
        return Unreadable(f"`{text}` has no unit", f"a time has a unit: `{text} ms` or `{text} s`")
    if text.startswith("-"):
        return Unreadable(f"`{text}` is negative, and a time is not", TIME_FORM)
    comma = re.fullmatch(r"([0-9]+),([0-9]+)\s*(ms|s|min)", text)
    if comma:
        whole, part, unit = comma.groups()
        return Unreadable(f"`{text}` has a comma", f"write `{whole}.{part} {unit}`")
    clock = re.fullmatch(r"([0-9]{1,4}):([0-9]{2})", text)
    if clock:
        seconds = int(clock[1]) * 60 + int(clock[2])
        return Unreadable(f"`{text}` is not how a time is written", f"write `{seconds} s`")
    return Unreadable(f"`{shortened(text)}` is not a time", TIME_FORM)


def read_whole(text: str) -> int | Unreadable:
    """Read a whole number from 0 up."""
    if not re.fullmatch(r"[0-9]+", text):
        return Unreadable(
            f"`{shortened(text)}` is not a whole number from 0 up",
            "write it in digits, such as `3`",
        )
    if len(text) > _DIGITS_WHOLE:
        return Unreadable(f"`{shortened(text)}` is too large a number", "nine digits at most")
    return int(text)


class Dimension(Enum):
    """What a figure measures. The value says it for a message, with an example."""

    NUMBER = "a number without a unit, such as `4.5`"
    ANGLE = "an angle, such as `20 deg`"
    SPEED = "a speed, such as `40 rpm`"
    RAMP = "a change of speed, such as `150 rpm/s`"
    CURRENT = "a current, such as `2.8 A`"
    VOLTAGE = "a voltage, such as `36 V`"
    INDUCTANCE = "an inductance, such as `3.8 mH`"
    RESISTANCE = "a resistance, such as `1.1 ohm`"
    INERTIA = "an inertia, such as `0.02 kg m2`"
    TORQUE = "a torque, such as `0.3 N m`"
    SHARE = "a share, such as `15 %`"
    TEETH = "a number of teeth, such as `20 teeth`"
    STEPS = "a number of steps, such as `35 steps`"
    STATIONS = "a number of stations, such as `1 station`"
    MASS = "a mass, such as `1.2 kg`"
    LENGTH = "a length, such as `400 mm`"
    CAPACITANCE = "a capacitance, such as `470 uF`"
    GAUGE = "a gauge of wire, such as `18 AWG`"
    CHARGE = "a charge, such as `2500 mAh`"
    FREQUENCY = "a frequency, such as `440 Hz`"
    TIME = "a time, such as `20 ms`"


UNITS = {
    "deg": Dimension.ANGLE,
    "rad": Dimension.ANGLE,
    "turn": Dimension.ANGLE,
    "turns": Dimension.ANGLE,
    "rpm": Dimension.SPEED,
    "deg/s": Dimension.SPEED,
    "rad/s": Dimension.SPEED,
    "steps/s": Dimension.SPEED,
    "rpm/s": Dimension.RAMP,
    "deg/s2": Dimension.RAMP,
    "rad/s2": Dimension.RAMP,
    "steps/s2": Dimension.RAMP,
    "A": Dimension.CURRENT,
    "mA": Dimension.CURRENT,
    "V": Dimension.VOLTAGE,
    "mV": Dimension.VOLTAGE,
    "H": Dimension.INDUCTANCE,
    "mH": Dimension.INDUCTANCE,
    "uH": Dimension.INDUCTANCE,
    "ohm": Dimension.RESISTANCE,
    "mohm": Dimension.RESISTANCE,
    "kg m2": Dimension.INERTIA,
    "kg cm2": Dimension.INERTIA,
    "g cm2": Dimension.INERTIA,
    "N m": Dimension.TORQUE,
    "N cm": Dimension.TORQUE,
    "mN m": Dimension.TORQUE,
    "%": Dimension.SHARE,
    "tooth": Dimension.TEETH,
    "teeth": Dimension.TEETH,
    "step": Dimension.STEPS,
    "steps": Dimension.STEPS,
    "station": Dimension.STATIONS,
    "stations": Dimension.STATIONS,
    "kg": Dimension.MASS,
    "g": Dimension.MASS,
    "m": Dimension.LENGTH,
    "cm": Dimension.LENGTH,
    "mm": Dimension.LENGTH,
    "F": Dimension.CAPACITANCE,
    "mF": Dimension.CAPACITANCE,
    "uF": Dimension.CAPACITANCE,
    "AWG": Dimension.GAUGE,
    "Ah": Dimension.CHARGE,
    "mAh": Dimension.CHARGE,
    "Hz": Dimension.FREQUENCY,
    "kHz": Dimension.FREQUENCY,
    "ms": Dimension.TIME,
    "s": Dimension.TIME,
    "min": Dimension.TIME,
}
"""Every unit that a figure may have, and what it measures."""

_FIGURE = re.compile(r"(-?[0-9]{1,12}(?:\.[0-9]{1,12})?)(\s*)(\S.*)?", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Figure:
    """A number and the unit as written; a bare number has the unit ``""``."""

    number: float
    unit: str

    @property
    def dimension(self) -> Dimension:
        return UNITS[self.unit] if self.unit else Dimension.NUMBER


def read_figure(text: str) -> Figure | Unreadable:
    """Read a number with its unit, such as `0.3 N m`, or a bare number."""
    parts = _FIGURE.fullmatch(text)
    if parts is None:
        return Unreadable(f"`{shortened(text)}` is not a figure", "write it as `3.8 mH`")
    number, space, unit = parts[1], parts[2], " ".join((parts[3] or "").split())
    if unit and unit not in UNITS:
        near = nearest(unit, UNITS, most=1)
        hint = f"write `{number} {near[0]}`" if near else ""
        return Unreadable(f"`{shortened(unit)}` is not a unit", hint)
    if unit and not space and unit != "%":
        return Unreadable(f"`{text}` lacks a space before its unit", f"write `{number} {unit}`")
    return Figure(float(number), unit)


def shortened(text: str, most: int = 60) -> str:
    """Put a text on one line and cut it to what fits a message."""
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 3]}..."
