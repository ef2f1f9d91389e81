"""The pieces of the emitted module that are the same in each, and what they import."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

IMPORT = re.compile(r"^(?:from (\S+) import (.+)|import (\S+))$", re.MULTILINE)
BESIDES = frozenset({"gpiozero", "transitions"})
"""The packages that do not come with Python."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece: its title, what it imports as (module, name), and its code."""

    title: str
    imports: tuple[tuple[str, str], ...]
    code: str


@cache
def piece(name: str) -> Piece:
    """Give a piece by its name in `parts/`."""
    text = files("codegen.python.parts").joinpath(f"{name}.py").read_text(encoding="utf-8")
    title, rest = text.removeprefix('"""').split('"""\n', 1)
    imports = []
    for module, listed, whole in IMPORT.findall(rest):
        imports += [(module, each.strip()) for each in listed.split(",")] if module else []
        imports += [(whole, "")] if whole else []
    return Piece(title.rstrip("."), tuple(imports), IMPORT.sub("", rest).strip("\n"))


def import_lines(imports: Iterable[tuple[str, str]]) -> list[str]:
    """Lay imports out: those of Python itself, a blank line, the others."""
    found: dict[str, set[str]] = {}
    for module, name in imports:
        found.setdefault(module, set()).update({name} if name else ())
    own = [module for module in sorted(found) if module.split(".")[0] not in BESIDES]
    others = [module for module in sorted(found) if module not in own]
    return [
        *(_import(module, found[module]) for module in own),
        *([""] if own and others else []),
        *(_import(module, found[module]) for module in others),
    ]


def _import(module: str, names: set[str]) -> str:
    return f"from {module} import {', '.join(sorted(names))}" if names else f"import {module}"
