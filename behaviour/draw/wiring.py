"""The wiring as a line drawing: the controller, a terminal strip, what is plugged into it, a list.

It draws what the file says and nothing else: no driver, no supply and no cut-off is in a file, so
none is drawn, and the cautions below say what must be added.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.cautions import CAUTIONS
from behaviour.draw.lettering import LINE, UNDER, widest, wrapped
from behaviour.draw.shapes import (
    Box,
    Dash,
    Group,
    Line,
    Look,
    Picture,
    Shape,
    Side,
    Tone,
    Words,
    moved,
)
from behaviour.fingerprint import fingerprint
from behaviour.model import Input, InputWiring, Model, Output, OutputWiring, PinName, Unknown

MARGIN, GAP, PAD = 16.0, 14.0, 7.0
TITLE, NAME, TEXT = 17.0, 11.0, 10.0
ROW = 22.0
CONTROLLER, STRIP, WIRE = 120.0, 34.0, 60.0
NOT_KNOWN = "not known yet"

FRAME = Look(thick=1.8)
THING = Look(thick=1.2, fill=Tone.PAPER)
HAZARD = Look(thick=2.4, fill=Tone.SHADE)
OPEN = Look(thick=1.2, dash=Dash.DASHED)


@dataclass(frozen=True, slots=True)
class Terminal:
    """One place of the strip: its number, the pin it leads to, and what the wire is for."""

    number: int
    pin: str
    wire: str


@dataclass(frozen=True, slots=True)
class Plug:
    """What is plugged in at some terminals, and what the file says of it.

    `rail` is what the other side of its contact leads to, empty where the file does not say.
    """

    name: str
    lines: tuple[str, ...]
    terminals: tuple[Terminal, ...]
    rail: str = ""
    is_hazard: bool = False

    @property
    def height(self) -> float:
        words = NAME * LINE + TEXT * LINE * len(self.lines) + 2 * PAD
        return max(words, ROW * len(self.terminals))


def wiring(model: Model) -> Picture:
    """Draw the wiring that a file says."""
    plugs = plugs_of(model)
    things = max(
        [160.0, *(widest(each.lines, TEXT) + 2 * PAD + GAP for each in plugs)],
    )
    left = MARGIN + CONTROLLER + WIRE + STRIP + WIRE
    right = left + things + WIRE
    shapes = [Words((MARGIN, MARGIN + TITLE), f"{model.prop}: wiring", TITLE, bold=True)]
    head = MARGIN + TITLE + UNDER + TEXT * LINE
    mark = f"fingerprint {fingerprint(model)}"
    drawn: list[Shape] = [*shapes, Words((MARGIN, head), mark, TEXT)]
    top = y = head + GAP + ROW
    for plug in plugs:
        drawn.append(Group(plug.name, "plug", tuple(_plug(plug, y, left, things))))
        y += plug.height + GAP
    drawn += _controller(model, top, y - GAP)
    y += GAP
    listed, high = _plug_list(plugs, right - MARGIN)
    drawn += [moved(each, MARGIN, y) for each in listed]
    y += high + GAP
    for line in _below(model, plugs, right - MARGIN):
        y += TEXT * LINE
        drawn.append(Words((MARGIN, y), line, TEXT))
    return Picture(f"{model.prop}: wiring", right + MARGIN + 30.0, y + MARGIN, tuple(drawn))


def plugs_of(model: Model) -> tuple[Plug, ...]:
    """List what is plugged in, inputs first; terminals are numbered through."""
    plugs: list[Plug] = []
    for item in model.inputs:
        if terminals := _terminals(item.wiring, plugs):
            plugs.append(Plug(item.name, tuple(_input_lines(item)), terminals, rail=_rail(item)))
    for output in model.outputs:
        if terminals := _terminals(output.wiring, plugs):
            lines = tuple(_output_lines(output))
            plugs.append(Plug(output.name, lines, terminals, is_hazard=output.hazard))
    return tuple(plugs)


def _terminals(wired: InputWiring | OutputWiring, before: list[Plug]) -> tuple[Terminal, ...]:
    first = 1 + sum(len(plug.terminals) for plug in before)
    return tuple(
        Terminal(number, NOT_KNOWN if isinstance(pin, Unknown) else f"pin {pin}", wire)
        for number, (wire, pin) in enumerate(_pins(wired), start=first)
    )


def _pins(wired: InputWiring | OutputWiring) -> Iterator[tuple[str, PinName | Unknown]]:
    if wired.pin is not None:
        yield "", wired.pin
    yield from wired.pins


def _input_lines(item: Input) -> Iterator[str]:
    wired = item.wiring
    yield item.kind if item.role is None else f"{item.kind}, {item.role.value.replace('_', ' ')}"
    if wired.contact is not None:
        pushed = "" if wired.pushed is None else f", pushed when {wired.pushed}"
        yield f"{wired.contact}{pushed}"
    if wired.pull in ("up", "down"):
        yield f"pulled {wired.pull} at the pin"
    if wired.low is not None:
        yield f"electrically low when {wired.low}"
    for level in wired.levels:
        yield f"{level.value} {level.side} {level.count}"
    if item.unplugged is not None:
        yield f"a cut wire reads {item.unplugged}"


def _output_lines(item: Output) -> Iterator[str]:
    wired = item.wiring
    yield f"{item.kind}, at rest {item.rest}"
    if wired.on_when == "low":
        yield "switched on by a low level"
    if wired.turns == "other way":
        yield "turns the other way"


def _rail(item: Input) -> str:
    """Say where the far side of a contact leads: against its pull. A sensor is no contact."""
    if item.kind == "sensor" or item.wiring.levels or item.wiring.silent is not None:
        return ""
    return {"up": "ground", "down": "supply"}.get(item.wiring.pull or "", "")


# --- Drawn --------------------------------------------------------------------------------------


def _plug(plug: Plug, top: float, left: float, wide: float) -> Iterator[Shape]:
    """Draw what is plugged in, its terminals, and the wires to it and to the controller."""
    edge, strip = MARGIN + CONTROLLER, MARGIN + CONTROLLER + WIRE
    yield Box(left, top, wide, plug.height, HAZARD if plug.is_hazard else THING)
    y = top + PAD + NAME
    yield Words((left + PAD, y), plug.name, NAME, bold=True)
    for line in plug.lines:
        y += TEXT * LINE
        yield Words((left + PAD, y), line, TEXT)
    first = top + (plug.height - ROW * len(plug.terminals)) / 2
    for place, terminal in enumerate(plug.terminals):
        middle = first + ROW * (place + 0.5)
        look = OPEN if terminal.pin == NOT_KNOWN else Look(thick=1.2)
        yield Line(((edge, middle), (strip, middle)), look)
        yield Line(((strip + STRIP, middle), (left, middle)), Look(thick=1.2))
        yield Box(strip, middle - ROW / 2, STRIP, ROW, THING)
        base = middle + 0.36 * TEXT
        yield Words((strip + STRIP / 2, base), str(terminal.number), TEXT, Side.MIDDLE, bold=True)
        yield Words((edge - PAD, base), terminal.pin, TEXT, Side.RIGHT)
        if terminal.wire:
            yield Words((strip + STRIP + 4, middle - 3), terminal.wire, TEXT)
    if plug.rail:
        middle, right = top + plug.height / 2, left + wide
        yield Line(((right, middle), (right + WIRE / 3, middle)), Look(thick=1.2))
        yield Words((right + WIRE / 3 + 4, middle + 0.36 * TEXT), plug.rail, TEXT)


def _controller(model: Model, top: float, bottom: float) -> Iterator[Shape]:
    """Draw the controller."""
    yield Box(MARGIN, top - ROW, CONTROLLER, bottom - top + 1.5 * ROW, FRAME)
    name = model.controller or "controller"
    yield Words((MARGIN + PAD, top - ROW + PAD + TEXT), name, TEXT, bold=True)


def _plug_list(plugs: tuple[Plug, ...], most: float) -> tuple[list[Shape], float]:
    """Write which terminal leads from which pin to what, in columns, and give their height."""
    rows = [
        (str(terminal.number), terminal.pin, f"{plug.name} {terminal.wire}".rstrip())
        for plug in plugs
        for terminal in plug.terminals
    ]
    number, pin, goes = (widest((row[at] for row in rows), TEXT) for at in range(3))
    wide = number + pin + goes + 4 * GAP
    columns = max(1, int((most + GAP) // wide))
    high = -(-len(rows) // columns)
    shapes: list[Shape] = [Words((0.0, TEXT), "Plug list", TEXT, bold=True)]
    for place, row in enumerate(rows):
        x, y = place // high * wide, TEXT + (place % high + 1) * TEXT * LINE
        shapes.append(Words((x + number, y), row[0], TEXT, Side.RIGHT))
        shapes.append(Words((x + number + GAP, y), row[1], TEXT))
        shapes.append(Words((x + number + pin + 2 * GAP, y), row[2], TEXT))
    return shapes, TEXT * LINE * (high + 1)


def _below(model: Model, plugs: tuple[Plug, ...], most: float) -> Iterator[str]:
    """Write what has no pin, and the cautions."""
    named = {plug.name for plug in plugs}
    bare = [item.name for item in model.inputs if item.name not in named]
    bare += [item.name for item in model.outputs if item.name not in named]
    if bare:
        yield from wrapped(f"Without a pin in the file: {', '.join(bare)}", most, TEXT)
        yield ""
    for caution in CAUTIONS:
        yield from wrapped(f"- {caution}", most, TEXT)
