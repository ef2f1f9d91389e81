"""Names in C: what may be one, and a different one for each thing. It knows nothing of models."""

import re
from collections.abc import Iterable

IDENTIFIER = re.compile(r"[A-Za-z][A-Za-z0-9_]*")
PIN = re.compile(r"[A-Za-z][A-Za-z0-9_]*|[0-9]+")

KEYWORDS = frozenset(
    """
    alignas alignof and and_eq asm auto bitand bitor bool break case catch char char16_t char32_t
    char8_t class co_await co_return co_yield compl concept const const_cast consteval constexpr
    constinit continue decltype default delete do double dynamic_cast else enum explicit export
    extern false float for friend goto if inline int long mutable namespace new noexcept not not_eq
    nullptr operator or or_eq private protected public register reinterpret_cast requires restrict
    return short signed sizeof static static_assert static_cast struct switch template this
    thread_local throw true try typedef typeid typename typeof union unsigned using virtual void
    volatile wchar_t while xor xor_eq
    """.split()  # noqa: SIM905 (words read better so)
)
"""The reserved words of C (to C11) and C++ (to C++20)."""

MACROS = frozenset(
    """
    EOF FILE NULL stderr stdin stdout unix linux i386 errno
    CHANGE DEC DEFAULT DISPLAY EULER EXTERNAL FALLING HEX HIGH INPUT INPUT_PULLUP INTERNAL
    LED_BUILTIN LOW LSBFIRST MSBFIRST OCT OUTPUT PI RISING SERIAL SP SREG TRUE FALSE
    """.split()  # noqa: SIM905 (words read better so)
)
"""Macros without arguments of headers that a board may include (C library, Arduino core)."""


TAKEN = frozenset(
    """
    arduino binary boolean byte client eeprom hardwareserial ipaddress new print printable server
    servo softwareserial spi std stream string udp usbapi wire word wstring
    assert complex ctype errno fenv float inttypes iso646 limits locale math setjmp signal stdalign
    stdarg stdatomic stdbool stddef stdint stdio stdlib stdnoreturn tgmath threads time uchar wchar
    wctype
    """.split()  # noqa: SIM905 (words read better so)
)
"""Headers of the C library and of Arduino cores, and types there; some disks see no capitals."""


def can_begin_names(prefix: str) -> bool:
    """Tell whether names and files may begin so: capitals alone may be a macro of some chip."""
    return is_identifier(prefix) and not prefix.isupper() and prefix.lower() not in TAKEN


def is_identifier(name: str) -> bool:
    """Tell whether C and C++ both take `name` as a name of the user's own."""
    return IDENTIFIER.fullmatch(name) is not None and name not in KEYWORDS


def is_pin(name: str) -> bool:
    """Tell whether `name` can stand for a pin in C: a number, or a name such as `A0`."""
    return PIN.fullmatch(name) is not None


class Names:
    """Gives out names, no name twice: the second `lid_open` becomes `lid_open_2`."""

    def __init__(self, reserved: Iterable[str] = ()) -> None:
        self._taken = set(reserved) | KEYWORDS | MACROS

    def take(self, wanted: str, ending: str = "") -> str:
        """Give `wanted` and `ending` as one name, with a number between them if it is taken."""
        name, number = wanted + ending, 1
        while name in self._taken:
            number += 1
            name = f"{wanted}_{number}{ending}"
        self._taken.add(name)
        return name


def joined(*parts: str) -> str:
    """Join the parts of a name that are not empty."""
    return "_".join(part for part in parts if part)


def shouted(*parts: str) -> str:
    """Join the parts of a macro's or enumerator's name, in capitals."""
    return joined(*parts).upper()


def identifier_from(text: str) -> str:
    """Make an identifier of any text, such as a file's name without its ending."""
    cleaned = re.sub(r"[^A-Za-z0-9]+", "_", text).strip("_")
    if not cleaned:
        return "prop"
    return cleaned if is_identifier(cleaned) else f"prop_{cleaned}"
