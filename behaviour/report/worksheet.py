"""The failure worksheet as rows of words, from which text, JSON, CSV and HTML are laid out.

Its columns are those of a failure mode and effects analysis (compare IEC 60812).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.check.faulting import Cell, Effect, Row, Worksheet
from behaviour.check.noticing import notices
from behaviour.faulting_words import effect_words, item_words, mode_words
from behaviour.model import Model

COLUMNS = (
    "item",
    "failure mode",
    "effect",
    "verdict",
    "what it breaks",
    "how the prop notices",
    "what the file does",
)
UNNOTICED = ("it does not",)
"""How a prop notices what it does not notice."""


@dataclass(frozen=True, slots=True)
class Words:
    """One row in words; several things stand in one cell as several lines."""

    item: str
    mode: str
    effect: str
    verdict: str
    breaks: tuple[str, ...]
    notices: tuple[str, ...]
    does: tuple[str, ...]

    @property
    def cells(self) -> tuple[str, ...]:
        """Give the cells in the order of `COLUMNS`."""
        many = ("\n".join(cell) for cell in (self.breaks, self.notices, self.does))
        return (self.item, self.mode, self.effect, self.verdict, *many)


def row_words(model: Model, row: Row) -> Words:
    """Put a row in words."""
    seen = [each for fault in row.faults for each in notices(model, fault)]
    return Words(
        item=" and ".join(item_words(fault) for fault in row.faults),
        mode=" and ".join(mode_words(model, fault) for fault in row.faults),
        effect="; ".join(effect_words(model, fault) for fault in row.faults),
        verdict=row.cell.value,
        breaks=tuple(_broken_words(effect) for effect in row.effects if _is_told(effect)),
        notices=tuple(each.how for each in seen) or UNNOTICED,
        does=tuple(each.does for each in seen) or ("nothing",),
    )


def stories(sheet: Worksheet) -> Iterator[tuple[Row, Effect]]:
    """List what is told with a story: what a fault newly breaks and could have been caught."""
    for row in sheet.rows:
        for effect in row.effects:
            if effect.cell is Cell.BROKEN and not effect.anyway and effect.finding is not None:
                yield row, effect


def counted(sheet: Worksheet) -> dict[Cell, int]:
    """Count the rows of each verdict."""
    return {cell: sum(row.cell is cell for row in sheet.rows) for cell in Cell}


def _is_told(effect: Effect) -> bool:
    return effect.cell is not Cell.CAUGHT


def _broken_words(effect: Effect) -> str:
    if effect.anyway:
        return f"{effect.name} (broken anyway)"
    if effect.cell is Cell.NOT_DECIDED:
        return f"{effect.name} (not decided: {effect.why})"
    return f"{effect.name} ({effect.cell.value})"
