"""Published figures of cells, drivers, fuses, wire and braking, and of bounce.

Each check goes through a function or a table that `tablework numbers` uses.
"""

import pytest

from behaviour.numbers.bounces import BOUNCES
from behaviour.numbers.cells import CELLS
from behaviour.numbers.supply import (
    BULK,
    DRIVER_PULSE,
    GIVEN_BACK,
    ampacity,
    braked_volts,
    headroom,
    least_fuse,
    pack_volts,
    wire_area,
    wire_diameter,
    wire_resistance,
)

LI_ION = CELLS["li-ion"]


def test_a_lithium_cell():  # makers' sheets: 3.6 V nominal, 4.20 V full, 3.0 V empty
    assert (LI_ION.empty, LI_ION.nominal, LI_ION.full) == (3.0, 3.6, 4.2)


PACKS = ((2, 6.0, 8.4), (3, 9.0, 12.6), (4, 12.0, 16.8), (6, 18.0, 25.2), (8, 24.0, 33.6))


@pytest.mark.parametrize(("cells", "empty", "full"), PACKS)  # strokeforge elec-009; computed
def test_packs_empty_and_full(cells, empty, full):
    volts = pack_volts(cells, LI_ION)
    assert volts == (pytest.approx(empty), pytest.approx(3.6 * cells), pytest.approx(full))


def test_iron_phosphate_cells():  # from memory
    assert pack_volts(1, CELLS["lifepo4"]) == (2.5, 3.2, 3.65)


LIMITS = {"TMC2209": 29.0, "A4988": 35.0, "DRV8825": 45.0}  # applied-ee.github.io, nema17motor.com


def test_six_cells_suit_three_common_drivers_and_eight_do_not():
    _, _, six = pack_volts(6, LI_ION)
    _, _, eight = pack_volts(8, LI_ION)
    assert [headroom(limit, six) > 0 for limit in LIMITS.values()] == [True, True, True]
    assert headroom(LIMITS["TMC2209"], eight) < 0
    assert headroom(LIMITS["A4988"], eight) == pytest.approx(1.4)


def test_what_drivers_ask_for():  # nema17motor.com; Pololu's notes on manualshive
    assert DRIVER_PULSE == 1.9e-6
    assert BULK == 47e-6


def test_a_fuse_is_a_quarter_above_the_lasting_current():  # logicalproducts.co.nz
    assert least_fuse(100) == pytest.approx(125)


WIRES = (
    (14, 1.628, 2.081, 8.29),
    (16, 1.291, 1.309, 13.17),
    (18, 1.024, 0.823, 20.95),
    (20, 0.812, 0.518, 33.31),
    (22, 0.644, 0.326, 52.96),
)


@pytest.mark.parametrize(("gauge", "diameter", "area", "milliohms"), WIRES)  # ASTM B258, computed
def test_gauges_of_wire(gauge, diameter, area, milliohms):
    assert wire_diameter(gauge) * 1000 == pytest.approx(diameter, rel=1e-3)
    assert wire_area(gauge) * 1e6 == pytest.approx(area, rel=2e-3)
    assert wire_resistance(gauge, 1) * 1000 == pytest.approx(milliohms, rel=1e-3)


def test_what_wire_may_carry():  # NFPA 79 table 12.5.1, from memory
    assert [ampacity(gauge) for gauge in (18, 16, 14, 15)] == [7, 10, 20, None]


def test_braking_lifts_a_supply_that_nothing_takes_from():  # energy balance, computed
    speed = 300 / 60 * 6.283185307
    energy = 1e-4 * speed**2 / 2
    assert energy == pytest.approx(49.3e-3, rel=2e-3)
    assert braked_volts(25.2, energy, 470e-6) == pytest.approx(29.07, rel=1e-3)
    assert braked_volts(25.2, energy * 10, 1000e-6) == pytest.approx(40.3, rel=2e-3)


def test_nine_tenths_of_the_energy_come_back():  # Omron SmartStep2 manual, 4-4
    assert GIVEN_BACK == 0.9


def test_bounces_are_those_that_were_measured():
    # J. Ganssle, A Guide to Debouncing, quoted by uruvideo.com; open data bouncy-button-data
    found = {each.kind: (each.least, each.most) for each in BOUNCES}
    assert found["sixteen kinds, on average"][1] == 1.557
    assert found["sixteen kinds, the worst"][1] == 6.2
    assert found["keyboard switch"][1] == 5.0
    assert found["mushroom button, its normally closed side"][1] == 465.0
    assert found["old stop button, normally closed"][1] == 660.0
