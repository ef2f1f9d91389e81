"""Packs, leads and fuses: formulas on plain numbers. It knows no file."""

from math import pi, sqrt

from behaviour.numbers.cells import Cell

COPPER = 1.7241e-8
"""Resistivity of annealed copper at 20 degrees, in ohm metres."""

FUSE_SHARE = 1.25
"""A fuse is rated at least so many times the largest lasting current."""

GIVEN_BACK = 0.9
"""What of the energy of a load that is braked comes back, after winding and switching."""

AMPACITY = ((18.0, 7.0), (16.0, 10.0), (14.0, 20.0))
"""Gauges of wire, each with the amperes that it may carry (NFPA 79, table 12.5.1, from memory)."""

USED = 0.8
"""The share of a pack's charge to count on; the rest is left in it, so that it lasts."""

BULK = 47e-6
"""The least capacitor, in farads, beside a stepper driver."""

DRIVER_PULSE = 1.9e-6
"""The longest pulse, in seconds, that a common stepper driver asks for."""


def pack_volts(cells: int, cell: Cell) -> tuple[float, float, float]:
    """Give a pack's volts empty, nominal and full."""
    return cells * cell.empty, cells * cell.nominal, cells * cell.full


def headroom(limit: float, full: float) -> float:
    """Give what a driver's limit leaves above a full pack; below 0 the driver breaks."""
    return limit - full


def sagging(volts: float, current: float, resistance: float) -> float:
    """Give what is left of a voltage behind a resistance."""
    return volts - current * resistance


def runs(capacity: float, current: float, time: float) -> float:
    """Count the runs of a charge: ampere hours, amperes and seconds."""
    return USED * capacity * 3600 / (current * time)


def most_current(capacity: float, rating: float) -> float:
    """Give the current that a pack of a C rating may give."""
    return capacity * rating


def least_fuse(current: float) -> float:
    return FUSE_SHARE * current


def braked_volts(volts: float, energy: float, capacitor: float) -> float:
    """Give where the supply rises to if a load's energy goes into a capacitor and nowhere else."""
    return sqrt(volts * volts + 2 * energy / capacitor)


def wire_diameter(gauge: float) -> float:
    """Give the diameter of a gauge of wire (AWG) in metres."""
    return 0.127e-3 * float(92 ** ((36 - gauge) / 39))


def wire_area(gauge: float) -> float:
    """Give the cross-section of a gauge of wire in square metres."""
    return pi / 4 * wire_diameter(gauge) ** 2


def wire_resistance(gauge: float, length: float) -> float:
    """Give the ohms of a length of copper wire, one way."""
    return COPPER * length / wire_area(gauge)


def ampacity(gauge: float) -> float | None:
    """Give what a gauge may carry, or None where the table does not have it."""
    return next((amperes for known, amperes in AMPACITY if known == gauge), None)
