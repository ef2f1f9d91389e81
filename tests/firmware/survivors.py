"""Reads the table of mutants that do just the same: `survivors.txt`, each under its reason."""

from functools import cache
from pathlib import Path

TABLE = Path(__file__).with_suffix(".txt")


@cache
def table() -> dict[str, tuple[tuple[str, str], ...]]:
    """Map each reason to the (prop, mutant) that it is given for."""
    found: dict[str, list[tuple[str, str]]] = {}
    reason = ""
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            reason = line.removeprefix("## ")
            found[reason] = []
        elif line.startswith("- "):
            prop, _, mutant = line.removeprefix("- ").partition(": ")
            found[reason].append((prop, mutant))
    return {reason: tuple(rows) for reason, rows in found.items()}


def alike(prop: str) -> set[str]:
    """Name the mutants of a prop that do just the same as the right program."""
    return {mutant for rows in table().values() for name, mutant in rows if name == prop}
