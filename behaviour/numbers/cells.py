"""What one cell of a pack gives, by its chemistry. It knows no pack."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cell:
    """Volts of one cell empty, nominal and full, and where they are from."""

    empty: float
    nominal: float
    full: float
    source: str


FROM_MEMORY = "common figures, from memory: the maker's sheet has better ones"

CELLS = {
    "li-ion": Cell(
        3.0, 3.6, 4.2, "makers' sheets of lithium-ion cells, such as NCR18650BK; often marked 3.7 V"
    ),
    "lifepo4": Cell(2.5, 3.2, 3.65, FROM_MEMORY),
    "nimh": Cell(1.0, 1.2, 1.45, FROM_MEMORY),
    "lead-acid": Cell(1.75, 2.0, 2.4, FROM_MEMORY),
    "alkaline": Cell(0.9, 1.5, 1.6, FROM_MEMORY),
}
"""Every chemistry that a file may name."""
