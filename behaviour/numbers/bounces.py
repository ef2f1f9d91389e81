"""How long the contacts of switches were seen to bounce, each with its source.

Figures for a first guess; a switch on the bench is measured. Ganssle is read as others quote him.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bounce:
    """A kind of switch, the least and most milliseconds of bounce, and who measured it."""

    kind: str
    least: float
    most: float
    source: str


_GANSSLE = "Ganssle, A Guide to Debouncing, 2008"
_OPEN = "bouncy-button-data, the worst of each"
_SHEET = "a maker's sheet, from memory"

BOUNCES = (
    Bounce("sixteen kinds, on average", 1.557, 1.557, _GANSSLE),
    Bounce("sixteen kinds, the worst", 6.2, 6.2, _GANSSLE),
    Bounce("keyboard switch", 5.0, 5.0, "documentation of keyberon"),
    Bounce("snap-action switch", 1.0, 5.0, _SHEET),
    Bounce("metal push button", 0.32, 0.32, _OPEN),
    Bounce("rocker", 1.1, 1.8, _OPEN),
    Bounce("toggle", 1.3, 2.4, _OPEN),
    Bounce("tactile button", 9.3, 14.0, _OPEN),
    Bounce("key lock", 23.7, 23.7, _OPEN),
    Bounce("kick pedal", 11.0, 40.0, _OPEN),
    Bounce("worn push button, the worst", 69.0, 973.0, _OPEN),
    Bounce("mushroom button, its normally closed side", 465.0, 465.0, _OPEN),
    Bounce("old stop button, normally closed", 660.0, 660.0, _OPEN),
)
