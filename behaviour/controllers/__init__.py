"""The controllers that a prop can have, each a data file beside this one, read into types.

It knows no model and no C: what a pin can do, and nothing of what is asked of it.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Core = Literal["host", "avr", "esp32", "rp2040", "pi"]
"""By what a program reaches the pins."""

NAMES = ("host", "uno", "nano", "mega", "esp32", "pico", "pi")

_RANGE = re.compile(r"([A-Z]*)(\d+)-\1(\d+)")


class UnknownControllerError(ValueError):
    """There is no such controller, or nothing is emitted for it; the message says which are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A pin: `name` as the maker prints it, `number` as a program calls it.

    `taken`, `strapped` and `restless` are empty, or say in words what hangs on the pin, what it
    must read while the controller starts, and what it does by itself then.
    """

    name: str
    number: int
    reads: bool
    drives: bool
    pull_up: bool
    pull_down: bool
    interrupt: bool
    pwm: bool
    analogue: bool
    serial: bool
    taken: str
    strapped: str
    restless: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Pins that share what they may give together, or take where on is low, in milliampere."""

    pins: frozenset[str]
    give: int | None
    take: int | None


@dataclass(frozen=True, kw_only=True)
class Controller:
    """A controller. `called` maps every name of a pin to the pin.

    `servo_takes_pwm` names the pins that lose their PWM where a servo is driven; pins `pwm_shared`
    numbers apart get the same PWM. `watchdog_ms` lists the times that its watchdog can be set to,
    in their order; where it is empty any whole number up to `watchdog_most_ms` will do.
    """

    name: str
    about: str
    core: Core
    pins: tuple[Pin, ...]
    called: Mapping[str, Pin]
    analogue_full: int
    servo_takes_pwm: frozenset[str]
    pwm_shared: int | None
    watchdog_ms: tuple[int, ...]
    watchdog_most_ms: int
    pin_milliamps: int
    all_milliamps: int
    groups: tuple[Group, ...]
    cautions: tuple[str, ...]

    @property
    def has_pins(self) -> bool:
        return bool(self.pins)

    def pin(self, text: str) -> Pin | None:
        """Give the pin that a file calls `text`; None if there is none."""
        return self.called.get(str(int(text)) if text.isdecimal() else text.upper())

    def watchdog(self, milliseconds: int) -> int | None:
        """Give the longest time of the watchdog that is not longer; None if all are."""
        if not self.watchdog_ms:
            return min(milliseconds, self.watchdog_most_ms) or None
        return max((time for time in self.watchdog_ms if time <= milliseconds), default=None)


@cache
def controller(name: str) -> Controller:
    """Look a controller up. Raises UnknownControllerError where there is none of that name."""
    if name not in NAMES:
        known = ", ".join(f"`{each}`" for each in NAMES)
        raise UnknownControllerError(f"there is no controller `{name}`: the names are {known}")
    import yaml

    text = files(__name__).joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    return _controller(_Data(yaml.load(text, Loader=yaml.CSafeLoader)))


class _Data:
    """What stands in a data file, by key; what is left out is empty."""

    def __init__(self, data: Mapping[str, object]) -> None:
        self._data = data

    def text(self, key: str) -> str:
        return str(self._data[key])

    def whole(self, key: str) -> int:
        found = self._data.get(key, 0)
        assert isinstance(found, int)  # noqa: S101 (our own data)
        return found

    def texts(self, key: str) -> tuple[str, ...]:
        found = self._data.get(key, [])
        assert isinstance(found, list)  # noqa: S101 (our own data)
        return tuple(map(str, found))

    def pins(self, key: str) -> tuple[str, ...]:
        """List pins written singly or as `A0-A5`."""
        return tuple(pin for text in self.texts(key) for pin in _span(text))

    def words(self, key: str) -> dict[str, str]:
        """Map each pin to the words beside it."""
        found = self._mapping(key)
        return {pin: str(words) for pins, words in found.items() for pin in _span(str(pins))}

    def inner(self, key: str) -> "_Data":
        return _Data(self._mapping(key))

    def each(self, key: str) -> Iterator["_Data"]:
        found = self._data.get(key, [])
        assert isinstance(found, list)  # noqa: S101 (our own data)
        return map(_Data, found)

    def first(self, key: str) -> tuple[str, int] | None:
        """Give the one pair of a mapping of a name to a number."""
        return next(((name, int(str(at))) for name, at in self._mapping(key).items()), None)

    def _mapping(self, key: str) -> Mapping[str, object]:
        found = self._data.get(key, {})
        assert isinstance(found, dict)  # noqa: S101 (our own data)
        return found


def _span(text: str) -> Iterator[str]:
    match = _RANGE.fullmatch(text)
    if match is None:
        yield text
        return
    letters, first, last = match[1], int(match[2]), int(match[3])
    yield from (f"{letters}{number}" for number in range(first, last + 1))


def _controller(data: _Data) -> Controller:
    pins = _pins(data)
    milliamps = data.inner("milliamps")
    return Controller(
        name=data.text("controller"),
        about=data.text("about"),
        core=_core(data.text("core")),
        pins=pins,
        called=_called(pins, data.texts("prefixes")),
        analogue_full=data.whole("analogue_full"),
        servo_takes_pwm=frozenset(data.pins("servo_takes_pwm")),
        pwm_shared=data.whole("pwm_shared") or None,
        watchdog_ms=tuple(map(int, data.texts("watchdog_ms"))),
        watchdog_most_ms=data.whole("watchdog_most_ms"),
        pin_milliamps=milliamps.whole("pin"),
        all_milliamps=milliamps.whole("all"),
        groups=tuple(map(_group, milliamps.each("groups"))),
        cautions=data.texts("cautions"),
    )


def _core(text: str) -> Core:
    match text:
        case "host" | "avr" | "esp32" | "rp2040" | "pi":
            return text
        case _:
            raise ValueError(text)


def _pins(data: _Data) -> tuple[Pin, ...]:
    analogue_only, reads_only = set(data.pins("analogue_only")), set(data.pins("reads_only"))
    up, down = set(data.pins("pull_up")), set(data.pins("pull_down"))
    interrupt, pwm = set(data.pins("interrupt")), set(data.pins("pwm"))
    analogue, serial = set(data.pins("analogue")), set(data.pins("serial"))
    taken, strapped = data.words("taken"), data.words("strapped")
    restless, numbers = data.words("restless"), data.first("numbers")
    return tuple(
        Pin(
            name=name,
            number=_number(name, numbers),
            reads=name not in analogue_only,
            drives=name not in analogue_only | reads_only,
            pull_up=name in up,
            pull_down=name in down,
            interrupt=name in interrupt,
            pwm=name in pwm,
            analogue=name in analogue,
            serial=name in serial,
            taken=taken.get(name, ""),
            strapped=strapped.get(name, ""),
            restless=restless.get(name, ""),
        )
        for name in data.pins("pins")
    )


def _number(name: str, numbers: tuple[str, int] | None) -> int:
    """Give the number of a pin; those with letters are counted on from the first of them."""
    if name.isdecimal() or numbers is None:
        return int(name)
    first, at = numbers
    return at + _digits(name) - _digits(first)


def _digits(name: str) -> int:
    return int(re.sub(r"\D", "", name))


def _called(pins: tuple[Pin, ...], prefixes: tuple[str, ...]) -> dict[str, Pin]:
    """Map each name: as printed, by its number, and with the letters that makers put before."""
    called = {str(pin.number): pin for pin in pins} | {pin.name: pin for pin in pins}
    return called | {f"{letters}{pin.number}": pin for letters in prefixes for pin in pins}


def _group(data: _Data) -> Group:
    return Group(
        pins=frozenset(data.pins("pins")),
        give=data.whole("give") or None,
        take=data.whole("take") or None,
    )
