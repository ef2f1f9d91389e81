"""Figures with units put in another unit, by pint; loaded when the first one is asked for.

It knows the spelling of our units, and no drive.
"""

import re
from fractions import Fraction
from functools import cache
from typing import Any

from behaviour.model import Quantity

_POWER = re.compile(r"(?<=[a-z])([0-9])")


def measured(quantity: Quantity, unit: str) -> float:
    """Give a figure in `unit`, which measures the same; both are spelled as in a file."""
    return quantity.number * factor(quantity.unit, unit)


def exact(quantity: Quantity) -> Fraction:
    """Give the number of a figure exactly as it was written, whatever its unit."""
    return Fraction(str(quantity.number))


@cache
def factor(unit: str, into: str) -> float:
    """Give what a figure in `unit` is multiplied by to be one in `into`."""
    if unit == into:
        return 1.0
    return float(_registry().Quantity(1, _spelled(unit)).to(_spelled(into)).magnitude)


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def _spelled(unit: str) -> str:
    """Spell one of our units as pint reads it: `kg m2` is `kg*m**2` there."""
    if unit == "%":
        return "percent"
    return _POWER.sub(r"**\1", unit.replace(" ", "*"))
