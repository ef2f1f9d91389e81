"""Reads sentences on inputs, outputs and counts, and how they are wired, back into their parts."""

import re
from dataclasses import replace

from behaviour.model import (
    HAZARD_KINDS,
    Counter,
    Input,
    InputWiring,
    Level,
    Output,
    OutputWiring,
    PinName,
    Quantity,
    Role,
    Unknown,
)
from tests.tell.clauses import QUOTE, THING, TIME, time_in, unquoted

ROLES = {
    "guards people": Role.GUARD,
    "is for stopping": Role.STOP,
    "is for starting": Role.START,
    "is for resetting": Role.RESET,
    "is for running only while it is held": Role.HOLD_TO_RUN,
    "is for choosing how it runs": Role.MODE,
}
PIN = r"(pin \w+|an unknown pin \(`[^`]*`\))"


def names_in(text: str) -> tuple[str, ...]:
    return tuple(re.split(r", | and | or ", text))


def read_input(lines: list[str]) -> tuple[Input, ...]:
    """Read every input; each begins with the sentence that says what it is."""
    found: dict[str, Input] = {}
    for line in lines:
        if new := re.fullmatch(r"`(\w+)` is an? (\w+), and reads (.*)\.", line):
            values = names_in(new[3])
            times = (0,) * len(values)
            found[new[1]] = Input(name=new[1], kind=new[2], values=values, steady=times)  # type: ignore[arg-type]
            continue
        name = re.search(rf"{THING}", line)
        assert name, line
        found[name[1]] = _more_of_input(found[name[1]], line)
    return tuple(found.values())


def _more_of_input(item: Input, line: str) -> Input:
    roles = "|".join(ROLES)
    if role := re.fullmatch(rf"{THING} ({roles})(?:, and is safe when (\w+))?\.", line):
        return replace(item, role=ROLES[role[2]], safe=role[3])
    if re.fullmatch(rf"What {THING} reads counts at once\.", line):
        return replace(item, steady=(0,) * len(item.values))
    if same := re.fullmatch(rf"To count, {THING} must have read the same for ({TIME})\.", line):
        return replace(item, steady=(time_in(same[2]),) * len(item.values))
    if re.match(rf"To count, {THING} must have read ", line):
        times = dict(re.findall(rf"(\w+) for ({TIME})", line))
        return replace(item, steady=tuple(time_in(times[value]) for value in item.values))
    if cut := re.fullmatch(rf"With its wire cut {THING} reads (\w+)\.", line):
        return replace(item, unplugged=cut[2])
    about = re.fullmatch(rf"A word on {THING}: {QUOTE}", line)
    assert about, line
    return replace(item, about=unquoted(about[2]))


def read_output(lines: list[str]) -> tuple[Output, ...]:
    found: dict[str, Output] = {}
    for line in lines:
        if new := re.fullmatch(r"`(\w+)` is an? (\w+), and can be (.*)\.", line):
            values = names_in(new[3])
            kind, hazard = new[2], new[2] in HAZARD_KINDS
            found[new[1]] = Output(
                name=new[1],
                kind=kind,  # type: ignore[arg-type]
                values=values,
                rest="",
                hazard=hazard,
            )
            continue
        name = re.search(rf"{THING}", line)
        assert name, line
        found[name[1]] = _more_of_output(found[name[1]], line)
    return tuple(found.values())


def _more_of_output(item: Output, line: str) -> Output:
    if rest := re.fullmatch(rf"{THING} is (\w+) whenever no state says otherwise\.", line):
        return replace(item, rest=rest[2])
    if kept := re.fullmatch(
        rf"{THING} begins (\w+), and then keeps what it was last given\.", line
    ):
        return replace(item, rest=kept[2], keeps=True)
    if hurts := re.fullmatch(rf"{THING} can hurt somebody when it is not (\w+)\.", line):
        assert hurts[2] == item.rest
        return replace(item, hazard=True)
    if re.fullmatch(rf"{THING} can hurt nobody\.", line):
        return replace(item, hazard=False)
    pause = re.fullmatch(rf"{THING} needs ({TIME}) of rest before it turns the other way\.", line)
    if pause:
        return replace(item, pause=time_in(pause[2]))
    if least := re.fullmatch(rf"What {THING} is given must last at least ({TIME})\.", line):
        return replace(item, least=time_in(least[2]))
    about = re.fullmatch(rf"A word on {THING}: {QUOTE}", line)
    assert about, line
    return replace(item, about=unquoted(about[2]))


def read_counters(lines: list[str]) -> tuple[Counter, ...]:
    found: dict[str, Counter] = {}
    for line in lines:
        new = re.fullmatch(r"`(\w+)` is a count from (\d+) to (\d+), and begins at (-?\d+)\.", line)
        if new:
            low, high, begins = (int(new[at]) for at in (2, 3, 4))
            found[new[1]] = Counter(name=new[1], low=low, high=high, begins=begins)
            continue
        about = re.fullmatch(rf"A word on the count `(\w+)`: {QUOTE}", line)
        assert about, line
        found[about[1]] = replace(found[about[1]], about=unquoted(about[2]))
    return tuple(found.values())


# --- Wiring -------------------------------------------------------------------------------------


def wired(line: str) -> tuple[str, list[str]]:
    found = re.fullmatch(rf"The wiring of {THING}: (.*)\.", line)
    assert found, line
    return found[1], found[2].split("; ")


def wired_input(words: list[str]) -> InputWiring:
    wiring = InputWiring()
    for each in words:
        if each in ("no pull", "pulled up", "pulled down"):
            pull = "none" if each == "no pull" else each.removeprefix("pulled ")
            wiring = replace(wiring, pull=pull)
        elif found := re.fullmatch(r"a (normally \w+) contact", each):
            wiring = replace(wiring, contact=found[1])
        elif found := re.fullmatch(r"pushed when (\w+)", each):
            wiring = replace(wiring, pushed=found[1])
        elif found := re.fullmatch(r"electrically low when (\w+)", each):
            wiring = replace(wiring, low=found[1])
        elif found := re.fullmatch(r"(\w+) (below|above) (\d+)", each):
            level = Level(value=found[1], side=found[2], count=int(found[3]))  # type: ignore[arg-type]
            wiring = replace(wiring, levels=(*wiring.levels, level))
        elif found := re.fullmatch(rf"unplugged after ({TIME}) without news", each):
            wiring = replace(wiring, silent=time_in(found[1]))
        else:
            pin, pins = _pins(each)
            wiring = replace(wiring, pin=pin or wiring.pin, pins=(*wiring.pins, *pins))
    return wiring


def wired_output(words: list[str]) -> OutputWiring:
    wiring = OutputWiring()
    for each in words:
        if each == "switched on by a low level":
            wiring = replace(wiring, on_when="low")
        elif each == "turns the other way":
            wiring = replace(wiring, turns="other way")
        elif found := re.fullmatch(r"(\w+) means (.*)", each):
            wiring = replace(wiring, gives=(*wiring.gives, (found[1], quantity(found[2]))))
        elif found := re.fullmatch(rf"fades in ({TIME})", each):
            wiring = replace(wiring, fade=time_in(found[1]))
        elif found := re.fullmatch(rf"pulses of ({TIME})", each):
            wiring = replace(wiring, pulse=time_in(found[1]))
        elif found := re.fullmatch(rf"({TIME}) between pulses", each):
            wiring = replace(wiring, gap=time_in(found[1]))
        elif found := re.fullmatch(r"draws an unknown current \(`(.*)`\)", each):
            wiring = replace(wiring, draws=Unknown(found[1]))
        elif found := re.fullmatch(r"draws (.*) at each pin", each):
            wiring = replace(wiring, draws=quantity(found[1]))
        else:
            pin, pins = _pins(each)
            wiring = replace(wiring, pin=pin or wiring.pin, pins=(*wiring.pins, *pins))
    return wiring


def quantity(text: str) -> Quantity:
    """Read a figure with its unit, and where it comes from."""
    found = re.fullmatch(r"(-?[0-9.e+-]+)(?: ([^(]+?))?(?: \(([^)]*)\))?", text)
    assert found, text
    known = {"a guess": "guess", "by its maker": "maker"}.get(found[3], found[3])
    return Quantity(number=float(found[1]), unit=found[2] or "", known=known)


def _pins(
    text: str,
) -> tuple[PinName | Unknown | None, tuple[tuple[str, PinName | Unknown], ...]]:
    found = re.fullmatch(rf"{PIN}(?: for (\w+))?", text)
    assert found, text
    unknown = re.fullmatch(r"an unknown pin \(`(.*)`\)", found[1])
    pin = Unknown(unknown[1]) if unknown else found[1].removeprefix("pin ")
    return (None, ((found[2], pin),)) if found[2] else (pin, ())
