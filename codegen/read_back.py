"""Reads NAME_settings.h back, as somebody may have edited it on the bench. It asks nobody.

Strategy: the comment before each line says what the behaviour file had there, so that a value from
the bench is told from one that the file has changed since. Only numbers and names are understood,
and nothing else is ever written back into code.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from codegen.banner import is_untouched
from codegen.module import Module
from codegen.settings import FILE_HAS, LOOP, all_settings, line_of

LINE = re.compile(
    r"^([ \t]*#[ \t]*define[ \t]+)(\w+)([ \t]+)(\S.*?)([ \t]*(?:/[/*].*)?)$", re.MULTILINE
)
BASE = re.compile(rf"{FILE_HAS}\s+(?:\*\s+)?(\w+)\s*\*/\s*\Z")
NUMBER = re.compile(r"\(*(0[xX][0-9a-fA-F]+|[0-9]+)[uUlL]*\)*")
NAME = re.compile(r"\(*([A-Za-z_]\w*)\)*")

PIN = "pin"
LONGEST = 600
"""No comment of a setting has more letters."""

MOST = 0xFFFFFFFF
"""The largest number that the firmware counts with."""

ZERO_OR_ONE = {"on_when": ("high", "low"), "turns": ("as wired", "other way")}
"""How the file says what stands as 0 or 1, by the first word of what it is for."""


@dataclass(frozen=True, slots=True)
class Differs:
    """A setting that is otherwise on the bench than in the file; `file` is None if it has gone.

    `name` is its macro, `line` where it stands in the file, `what` it in words; `file` and `bench`
    are values in the words of the file, and `put` the bench's as it stands in C.
    """

    name: str
    line: int
    what: str
    file: str | None
    bench: str
    put: str

    def __str__(self) -> str:
        file = "has no such thing" if self.file is None else self.file
        return f"{self.what}: file {file}, bench {self.bench}"


@dataclass(frozen=True, slots=True)
class ReadBack:
    """What the bench has otherwise, and lines of it that are neither a number nor a name."""

    differs: tuple[Differs, ...] = ()
    unclear: tuple[str, ...] = ()


def read_back(module: Module, found: str) -> ReadBack:
    """Compare the settings that were found with those that the file has now."""
    if is_untouched(found):
        return ReadBack()
    now, words = {define.name: define for define in all_settings(module)}, _words(module)
    differs: list[Differs] = []
    unclear: list[str] = []
    for name, value, base in _lines(found):
        if base is None or value == base:
            continue
        define, plain = now.get(name), _plain(value)
        what = name if define is None else define.what or name
        if plain is None or not _fits(what, plain, base, words):
            unclear.append(f"{name} {value}")
        elif define is None:
            differs.append(Differs(name, 0, what, None, _said(name, what, plain, words), plain))
        elif plain not in (_plain(base), _plain(define.value)):
            file = _said(name, what, str(_plain(define.value)), words)
            bench = _said(name, what, plain, words)
            differs.append(Differs(name, line_of(define), what, file, bench, _in_c(plain)))
    return ReadBack(tuple(differs), tuple(unclear))


def with_values(text: str, values: Mapping[str, str]) -> str:
    """Put other values into settings, whose checksum stays that of what the file has."""

    def put(line: re.Match[str]) -> str:
        lead, name, blank, _, rest = line.groups()
        return f"{lead}{name}{blank}{values[name]}{rest}" if name in values else line[0]

    return LINE.sub(put, text)


def is_edited_in_values_alone(text: str) -> bool:
    """Tell whether settings are as they were emitted once every value is put back."""
    bases = {name: base for name, _, base in _lines(text) if base is not None}
    restored = with_values(text.replace("\r\n", "\n"), bases)
    return not is_untouched(text) and is_untouched(restored)


def values(text: str) -> dict[str, str]:
    """Map each setting to its value, put as plainly as can be."""
    return {name: _plain(value) or value for name, value, base in _lines(text) if base}


def bench_values(text: str) -> dict[str, str]:
    """Map the settings that are others than the file had to their values."""
    return {
        name: _plain(value) or value for name, value, base in _lines(text) if base and value != base
    }


def _lines(text: str) -> Iterator[tuple[str, str, str | None]]:
    """List macros with their values, and what the comment before says that the file had."""
    lines = text.replace("\r\n", "\n")
    for line in LINE.finditer(lines):
        base = BASE.search(lines[max(line.start() - LONGEST, 0) : line.start()])
        yield line[2], line[4], None if base is None else base[1]


def _plain(value: str) -> str | None:
    """Give a number in decimals, or a name; None if it is neither."""
    number, name = NUMBER.fullmatch(value), NAME.fullmatch(value)
    if number is not None:
        digits = number[1]
        return str(int(digits, 16 if digits[:2].lower() == "0x" else 10))
    return None if name is None else name[1]


def _fits(what: str, plain: str, base: str, words: Mapping[str, str]) -> bool:
    """Tell whether a value may stand where the file had another; a pin is a number or a name."""
    first = what.partition(" ")[0]
    if plain.isdecimal():
        most = len(ZERO_OR_ONE[first]) - 1 if first in ZERO_OR_ONE else MOST
        least = 1 if what == LOOP else 0
        return (first == PIN or base[0].isdecimal()) and least <= int(plain) <= most
    return first == PIN or (not base[0].isdecimal() and plain in words)


def _said(name: str, what: str, plain: str, words: Mapping[str, str]) -> str:
    """Say a value as the file would."""
    first = what.partition(" ")[0]
    if first in ZERO_OR_ONE and plain in ("0", "1"):
        return ZERO_OR_ONE[first][int(plain)]
    unit = " ms" if name.endswith("_MS") else ""
    return words.get(plain, f"{plain}{unit}")


def _words(module: Module) -> dict[str, str]:
    """Map pulls and the values of inputs, as C names them, to their words in the file."""
    pulls = {f"{module.upper}_PULL_{pull.upper()}": pull for pull in ("none", "up", "down")}
    values = (each for item in module.inputs for each in item.type.enumerators)
    return pulls | {each.name: each.word for each in values}


def _in_c(plain: str) -> str:
    return f"{plain}u" if plain.isdecimal() else plain
