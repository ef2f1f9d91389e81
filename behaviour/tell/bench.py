"""Sentences for the bench: how things are wired, the numbers of drives and power, the settings."""

from collections.abc import Iterator

from behaviour.model import InputWiring, Model, OutputWiring, PinName, Quantity, Unknown
from behaviour.tell.clauses import thing, time
from behaviour.tell.sheet import Section, marked, quoted
from behaviour.wording import times


def wiring(model: Model) -> Section:
    """Say how each input and output is wired."""
    found: list[tuple[str, Iterator[str]]] = []
    found += [(each.name, _input(each.wiring)) for each in model.inputs]
    found += [(each.name, _output(each.wiring)) for each in model.outputs]
    lines = tuple(
        f"The wiring of {thing(model, name)}: {'; '.join(words)}."
        for name, parts in found
        if (words := tuple(parts))
    )
    return Section("How it is wired", lines)


def numbers(model: Model) -> Section:
    """Say the figures of drives and power, and which values have a name in the file."""
    lines = [
        f"The noise of {thing(model, each.name)}: {'; '.join(_figures(each.noise))}."
        for each in model.inputs
        if each.noise
    ]
    for drive in model.drives:
        parts = [*_figures(drive.figures)]
        if drive.torque:
            points = (f"{_figure(force)} at {_figure(speed)}" for speed, force in drive.torque)
            parts.append(f"torque {', '.join(points)}")
        if drive.ramp_down:
            parts.append("it slows down before it rests")
        name = thing(model, drive.output)
        lines.append(f"The drive of {name} is a {drive.kind}: {'; '.join(parts)}.")
    if model.power is not None:
        parts = [f"{model.power.cells} cells", *_figures(model.power.figures)]
        lines.append(f"The power is {model.power.chemistry}: {'; '.join(parts)}.")
    return Section("Its numbers", tuple(lines))


def names(model: Model) -> Section:
    """Say what the file calls by a name of its own."""
    lines = [
        f"{marked(each.name)} stands for {quoted(each.text)}, and is used {_uses(each.uses)}."
        for each in model.settings
    ]
    if model.firmware_name:
        lines.append(f"The names of its C begin with {marked(model.firmware_name)}.")
    return Section("Names in the file", tuple(lines))


def _uses(count: int) -> str:
    return times(count) if count else "nowhere"


def _pin(pin: PinName | Unknown) -> str:
    return f"an unknown pin ({marked(pin.what)})" if isinstance(pin, Unknown) else f"pin {pin}"


def _input(wired: InputWiring) -> Iterator[str]:
    if wired.pin is not None:
        yield _pin(wired.pin)
    for value, pin in wired.pins:
        yield f"{_pin(pin)} for {value}"
    if wired.pull is not None:
        yield "no pull" if wired.pull == "none" else f"pulled {wired.pull}"
    if wired.contact is not None:
        yield f"a {wired.contact} contact"
    if wired.pushed is not None:
        yield f"pushed when {wired.pushed}"
    if wired.low is not None:
        yield f"electrically low when {wired.low}"
    for level in wired.levels:
        yield f"{level.value} {level.side} {level.count}"
    if wired.silent is not None:
        yield f"unplugged after {time(wired.silent)} without news"


def _output(wired: OutputWiring) -> Iterator[str]:
    if wired.pin is not None:
        yield _pin(wired.pin)
    for value, pin in wired.pins:
        yield f"{_pin(pin)} for {value}"
    if wired.on_when == "low":
        yield "switched on by a low level"
    if wired.turns == "other way":
        yield "turns the other way"
    for value, figure in wired.gives:
        yield f"{value} means {_figure(figure)}"
    if wired.fade is not None:
        yield f"fades in {time(wired.fade)}"
    if wired.pulse is not None:
        yield f"pulses of {time(wired.pulse)}"
    if wired.gap is not None:
        yield f"{time(wired.gap)} between pulses"
    match wired.draws:
        case Quantity():
            yield f"draws {_figure(wired.draws)} at each pin"
        case Unknown(what=what):
            yield f"draws an unknown current ({marked(what)})"
        case None:
            pass


def _figures(figures: tuple[tuple[str, Quantity], ...]) -> Iterator[str]:
    for path, figure in figures:
        yield f"{marked(path)} {_figure(figure)}"


def _figure(figure: Quantity) -> str:
    """Write a figure exactly, with its unit and where it comes from."""
    number = int(figure.number) if figure.number == int(figure.number) else figure.number
    unit = f" {figure.unit}" if figure.unit else ""
    known = {None: "", "guess": " (a guess)", "maker": " (by its maker)"}
    return f"{number}{unit}{known.get(figure.known, f' ({figure.known})')}"
