"""Numbers as people read them: four places that count, exponents only where they must be."""

from math import isinf

PLACES = 4
LARGEST = 1e9
SMALLEST = 1e-6


def plain(value: float) -> str:
    """Write a number with four places that count, such as `4800`, `0.05`, or `208.3`."""
    if isinf(value):
        return "without end"
    if value == 0:
        return "0"
    if not SMALLEST <= abs(value) < LARGEST:
        return f"{value:.{PLACES - 1}e}"
    text = f"{value:.{PLACES}g}"
    if "e" in text:
        text = f"{float(text):.12f}" if abs(value) < 1 else f"{float(text):.0f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_unit(value: float, unit: str) -> str:
    return f"{plain(value)} {unit}".rstrip()
