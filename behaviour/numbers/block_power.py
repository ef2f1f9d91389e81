"""The pack: its voltage, the driver's limit, currents and fuse, brown-out, runs of a charge."""

from behaviour.model import Drive, Model
from behaviour.numbers.cells import CELLS
from behaviour.numbers.figures import Figures, Missing, combined, figures_of, known
from behaviour.numbers.results import (
    COMMON,
    HEAVY,
    MOVED,
    Block,
    Given,
    Lacking,
    Result,
    assumed,
    from_file,
    result,
    taken,
    worked_out,
)
from behaviour.numbers.stopping import turning_energy
from behaviour.numbers.supply import (
    BULK,
    DRIVER_PULSE,
    FUSE_SHARE,
    USED,
    ampacity,
    braked_volts,
    headroom,
    least_fuse,
    most_current,
    pack_volts,
    runs,
    sagging,
    wire_resistance,
)

OHM = "Ohm"
_SPIKES = "long leads make spikes over its limit, even at 12 V (a driver maker's notes)"
CAUTION = "charge it attended, on a fireproof base, and never a swollen one"


def pack_of(model: Model) -> tuple[float, float, float] | Missing:
    """Give the pack's volts empty, nominal and full."""
    if model.power is None:
        return Missing(("power",))
    return pack_volts(model.power.cells, CELLS[model.power.chemistry])


def power_block(model: Model) -> Block:
    """Work out what the pack gives and what the leads and the fuse must bear."""
    figures = Figures("power", ()) if model.power is None else figures_of(model.power)
    volts = _volts(model)
    peak = _peak(model, figures)
    results = [*volts, *_limits(model, figures, volts), peak, *_fuse(figures, peak)]
    results += [*_sag(model, figures, volts, peak), *_charge(figures, peak)]
    return Block(
        name="power",
        about="the pack and what hangs on it",
        results=tuple(results),
        remarks=(
            f"the pack: {CAUTION}",
            f"beside each driver {BULK * 1e6:g} uF at least: {_SPIKES}",
            f"a common driver wants a step pulse of {DRIVER_PULSE * 1e6:g} us at least",
            "a fuse holds its rating, and opens only some time after about a third more",
        ),
    )


def _volts(model: Model) -> list[Result | Lacking]:
    if model.power is None:
        return [Lacking("voltage of the pack", ("power",))]
    cell = CELLS[model.power.chemistry]
    cells = assumed("n", float(model.power.cells), "", "cells", "the file")
    return [
        result(
            f"the pack {name}",
            value,
            "V",
            "n * u",
            [cells, assumed("u", one, "V", f"one cell {name}", cell.source)],
            cell.source,
        )
        for name, value, one in zip(
            ("empty", "nominal", "full"),
            pack_volts(model.power.cells, cell),
            (cell.empty, cell.nominal, cell.full),
            strict=True,
        )
    ]


def _limits(
    model: Model, figures: Figures, volts: list[Result | Lacking]
) -> list[Result | Lacking]:
    limit = from_file(figures, "driver_limit", "V", "D", "the driver's limit")
    full = taken(volts[-1], "V")
    left = combined(lambda most, pack: headroom(most.value, pack.value), limit, full)
    breaks = not isinstance(left, Missing) and left < 0
    found = [
        result(
            "what the driver's limit leaves above a full pack",
            left,
            "V",
            "D - V",
            [limit, full],
            "the driver's sheet",
            advice="a full pack breaks the driver" if breaks else "",
            weight="doubtful" if breaks else "plain",
        )
    ]
    return found + [
        _braked(drive, figures, full, limit)
        for drive in model.drives
        if figures.quantity("capacitor")
    ]


def _braked(
    drive: Drive, figures: Figures, full: Given | Missing, limit: Given | Missing
) -> Result | Lacking:
    capacitor = from_file(figures, "capacitor", "F", "C", "capacitor at the drivers")
    energy = combined(
        lambda joules: worked_out(
            "E",
            joules,
            "J",
            f"energy of {drive.output} at speed",
            figures_of(drive),
            *HEAVY,
            *MOVED,
        ),
        turning_energy(drive),
    )
    value = combined(
        lambda v, e, c: braked_volts(v.value, e.value, c.value), full, energy, capacitor
    )
    over = not isinstance(value, Missing) and not isinstance(limit, Missing) and value > limit.value
    return result(
        f"supply when {drive.output} is braked and no battery takes it",
        value,
        "V",
        "sqrt(V * V + 2 * E / C)",
        [full, energy, capacitor],
        "energy balance",
        advice="over the driver's limit: a larger capacitor, a brake resistor, or a slower stop"
        if over
        else "",
        weight="doubtful" if over else "plain",
    )


# --- Currents -----------------------------------------------------------------------------------


def _peak(model: Model, figures: Figures) -> Result | Lacking:
    """Give the largest current: as the file has it, or two windings of each drive."""
    says = "largest current from the pack"
    if figures.quantity("peak") is not None:
        given = from_file(figures, "peak", "A", "I", "largest current")
        return result(says, figures.measured("peak", "A"), "A", "I", [given], "the file")
    windings = [
        from_file(
            figures_of(drive), "winding.current", "A", f"I{number}", f"winding of {drive.output}"
        )
        for number, drive in enumerate(model.drives, 1)
    ]
    if not windings:
        return Lacking(says, ("power.peak",))
    total: float | Missing = 0.0
    for each in windings:
        total = combined(lambda sum_, given: sum_ + 2 * given.value, total, each)
    formula = " + ".join(f"2 * I{number}" for number in range(1, len(windings) + 1))
    return result(
        says,
        total,
        "A",
        formula,
        windings,
        "both windings at once, the most that a driver could take",
        advice="a bound, and motors alone: `peak` in the file takes its place",
    )


def _fuse(figures: Figures, peak: Result | Lacking) -> list[Result | Lacking]:
    current, share = (
        taken(peak, "I"),
        assumed("k", FUSE_SHARE, "", "rating over lasting current", "a fuse maker's guide"),
    )
    least = combined(lambda given: least_fuse(given.value), current)
    fuse, gauge = figures.measured("fuse", "A"), figures.measured("leads.gauge", "AWG")
    carries = None if isinstance(gauge, Missing) else ampacity(gauge)
    advice = []
    if not isinstance(fuse, Missing) and not isinstance(least, Missing) and fuse < least:
        advice.append("the file's fuse is smaller")
    if not isinstance(fuse, Missing) and carries is not None and fuse > carries:
        advice.append(f"the file's fuse is larger than its leads may carry: {carries:g} A")
    return [
        result(
            "smallest fuse",
            least,
            "A",
            "k * I",
            [share, current],
            "1.25 times the largest lasting current, and no more than the wire may carry",
            advice="; ".join(advice),
            weight="doubtful" if advice else "plain",
        )
    ]


def _leads(figures: Figures) -> Given | Missing:
    resistance = from_file(figures, "leads.resistance", "ohm", "Rl", "leads, there and back")
    worked_out = combined(
        lambda gauge, length: assumed(
            "Rl",
            2 * wire_resistance(gauge, length),
            "ohm",
            "leads, there and back",
            "copper at 20 degrees, AWG by ASTM B258",
        ),
        figures.measured("leads.gauge", "AWG"),
        figures.measured("leads.length", "m"),
    )
    return worked_out if isinstance(resistance, Missing) else resistance


def _sag(
    model: Model, figures: Figures, volts: list[Result | Lacking], peak: Result | Lacking
) -> list[Result | Lacking]:
    """Give the voltage at the largest current, and whether everything still runs on it."""
    inner = from_file(figures, "cell_resistance", "ohm", "Rc", "one cell")
    leads, current = _leads(figures), taken(peak, "I")
    cells = float(model.power.cells) if model.power else 0.0
    count = assumed("n", cells, "", "cells", "the file")
    stop = figures.measured("stop_at", "V")
    lowest = taken(volts[0], "V")
    if not isinstance(stop, Missing):
        lowest = assumed("V", stop * cells, "V", "the pack when it is to be changed", "the file")
    resistance = combined(lambda cell, wire: cells * cell.value + wire.value, inner, leads)
    value = combined(lambda v, i, r: sagging(v.value, i.value, r), lowest, current, resistance)
    advice = [
        f"less than {says} needs: {least:g} V"
        for path, says in (
            ("controller_least", "the controller's regulator"),
            ("driver_least", "the driver"),
        )
        if not isinstance(value, Missing)
        and value < (least := known(figures.measured(path, "V"), 0.0))
    ]
    return [
        result(
            "voltage behind the leads at the largest current, pack at its lowest",
            value,
            "V",
            "V - I * (n * Rc + Rl)",
            [lowest, current, count, inner, leads],
            OHM,
            advice="; ".join(advice),
            weight="doubtful" if advice else "plain",
        )
    ]


def _charge(figures: Figures, peak: Result | Lacking) -> list[Result | Lacking]:
    capacity = from_file(figures, "capacity", "Ah", "Q", "charge of the pack")
    found: list[Result | Lacking] = []
    if figures.quantity("rating") is not None:
        rating = from_file(figures, "rating", "", "c", "C rating")
        most = combined(lambda q, c: most_current(q.value, c.value), capacity, rating)
        over = not isinstance(most, Missing) and isinstance(peak, Result) and peak.value > most
        found.append(
            result(
                "current that the pack may give",
                most,
                "A",
                "Q * c",
                [capacity, rating],
                "what a C rating means",
                advice="the largest current is more" if over else "",
                weight="doubtful" if over else "plain",
            )
        )
    if figures.quantity("run.current") is not None or figures.quantity("run.time") is not None:
        current = from_file(figures, "run.current", "A", "I", "current of a run")
        time = from_file(figures, "run.time", "s", "t", "time of a run")
        share = assumed("b", USED, "", "share of the charge to count on", COMMON)
        value = combined(lambda q, i, t: runs(q.value, i.value, t.value), capacity, current, time)
        found.append(
            result(
                "runs of a charge",
                value,
                "runs",
                "b * Q * 3600 / (I * t)",
                [share, capacity, current, time],
                COMMON,
            )
        )
    return found
