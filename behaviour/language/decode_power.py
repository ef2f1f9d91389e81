"""Reads `power`: the pack that feeds the motors, its leads, and what they feed.

It knows nothing of what is worked out from them.
"""

from behaviour.language.decode_figures import FoundFigures, figures_of
from behaviour.language.fields import Fields, Owner, fields_at
from behaviour.language.nodes import Node
from behaviour.language.reading import Reading
from behaviour.language.shapes import WHOLE, Choice, Group
from behaviour.language.values import whole_of
from behaviour.model import Power
from behaviour.numbers.cells import CELLS
from behaviour.source import Span
from behaviour.units import Dimension

POWER_FORM = "power: {cells: 6, chemistry: li-ion, driver_limit: 36 V}"

CHEMISTRIES = tuple(CELLS)

_FIGURES = {
    "driver_limit": Dimension.VOLTAGE,
    "driver_least": Dimension.VOLTAGE,
    "controller_least": Dimension.VOLTAGE,
    "stop_at": Dimension.VOLTAGE,
    "capacity": Dimension.CHARGE,
    "rating": Dimension.NUMBER,
    "cell_resistance": Dimension.RESISTANCE,
    "peak": Dimension.CURRENT,
    "fuse": Dimension.CURRENT,
    "capacitor": Dimension.CAPACITANCE,
}
_GROUPS = {
    "leads": {
        "length": Dimension.LENGTH,
        "gauge": Dimension.GAUGE,
        "resistance": Dimension.RESISTANCE,
    },
    "run": {"current": Dimension.CURRENT, "time": Dimension.TIME},
}
_MORE_THAN_NOTHING = frozenset({"capacity", "rating", "fuse", "capacitor"})
POWER = Group(
    "power supply",
    {
        "cells": WHOLE,
        "chemistry": Choice(CHEMISTRIES),
        **figures_of(_FIGURES),
        **{key: Group(key, figures_of(group)) for key, group in _GROUPS.items()},
    },
    needed=("cells", "chemistry"),
)


def decode_power(reading: Reading, node: Node, at: Span) -> Power | None:
    """Read what feeds the motors; `at` is the place of its key."""
    owner = Owner("`power`", at, "power supply")
    fields = fields_at(reading, node, owner, POWER.keys, POWER_FORM)
    if fields is None:
        return None
    figures = FoundFigures(reading, "power")
    chemistry = None
    if fields.needed("chemistry", "chemistry: li-ion") is not None:
        chemistry = fields.choice("chemistry", CHEMISTRIES)
    cells = _cells(fields)
    for key, entry in fields.entries.items():
        if key in _FIGURES:
            is_more = key in _MORE_THAN_NOTHING
            figures.take(key, entry.value, _FIGURES[key], is_more=is_more)
        elif key in _GROUPS:
            figures.take_group(fields, key, _GROUPS[key])
    if chemistry is None or cells is None:
        return None
    return Power(chemistry=chemistry, cells=cells, figures=tuple(figures.found), span=at)


def _cells(fields: Fields) -> int | None:
    if fields.needed("cells", "cells: 6") is None:
        return None
    word = fields.word("cells", "a whole number")
    cells = None if word is None else whole_of(fields.reading, word)
    if word is not None and cells == 0:
        message = "a pack has one cell or more"
        fields.reading.mistakes.add(word.span, message, hint="write `cells: 6`")
        return None
    return cells
