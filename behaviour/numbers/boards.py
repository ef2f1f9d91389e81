"""What a controller's timer can make of steps. It knows no drive."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Board:
    """The shortest interval, in microseconds, at which a step can be worked out and made."""

    says: str
    least: float


AVR = Board("an 8 bit board at 16 MHz", 70.0)
"""On a simulated ATmega328P a step took 908 clocks at most, which is 57 us; the interrupt takes
some 100 more, and the loop wants its share."""

FAST = Board("a 32 bit board", 10.0)
"""From memory: a division takes some tens of clocks, an interrupt a microsecond or two."""

_BOARDS = {"uno": AVR, "nano": AVR, "mega": AVR, "esp32": FAST, "pico": FAST}


def board_of(controller: str | None) -> Board:
    """Look a controller up; the slowest where the file names none."""
    return _BOARDS.get(controller or "", AVR)
