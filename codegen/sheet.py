"""Writes NAME.md: the wiring, the states, what was checked, and the cautions."""

import re
from collections.abc import Iterable, Iterator, Sequence

from behaviour.cautions import CAUTIONS
from behaviour.controllers import Controller
from behaviour.fingerprint import fingerprint
from behaviour.model import Input, Model, Output, Region, State
from behaviour.wires import Wire, wires
from behaviour.wording import full_name, setting_words
from codegen.banner import sealed_page
from codegen.cwriter import safe_words


def sheet(model: Model, source_name: str, verdicts: Sequence[str], controller: Controller) -> str:
    """Give the text of the page; `verdicts` are lines on what was checked."""
    parts = [
        [f"# {_plain(model.prop)}"],
        [_plain(model.about)] if model.about else [],
        [f"From {_plain(source_name)}, fingerprint `{fingerprint(model)}`."],
        ["## Wiring", "", *_board(controller), *_wiring(model, controller)],
        *(_states(region) for region in model.regions),
        ["## Checked", "", *_checked(verdicts)],
        ["## Cautions", ""] + [f"- {each}" for each in (*CAUTIONS, *_cautions(controller))],
    ]
    return sealed_page("\n\n".join("\n".join(part) for part in parts if part) + "\n\n")


def _board(controller: Controller) -> list[str]:
    if not controller.has_pins:
        return []
    return [f"Controller: {_plain(controller.about)}. Pins are called as on its board.", ""]


def _cautions(controller: Controller) -> tuple[str, ...]:
    return tuple(f"{_plain(each)}." for each in controller.cautions)


def _wiring(model: Model, controller: Controller) -> list[str]:
    items: tuple[Input | Output, ...] = (*model.inputs, *model.outputs)
    rows = [row for item in items for row in _rows(item, model, controller)]
    return _table(("name", "what", "pin", "wired", "at rest", "values"), rows)


def _rows(item: Input | Output, model: Model, controller: Controller) -> Iterator[tuple[str, ...]]:
    """Give a row for each wire of an input or output, or one where it has none."""
    own: list[Wire | None] = [wire for wire in wires(model) if wire.item is item]
    for wire in own or [None]:
        pin = "" if wire is None else _pin(wire, controller)
        notes = "" if wire is None else _note(wire, controller)
        yield (
            _input_row(item, pin, notes)
            if isinstance(item, Input)
            else _output_row(item, pin, notes, wire)
        )


def _pin(wire: Wire, controller: Controller) -> str:
    """Call a pin as the controller's maker does, and say what it is for where there are several."""
    text = str(wire.pin)
    pin = controller.pin(text) if isinstance(wire.pin, str) else None
    name = text if pin is None else pin.name
    return f"{name} ({wire.what})" if wire.what else name


def _note(wire: Wire, controller: Controller) -> str:
    """Say what a pin does by itself while the controller starts."""
    pin = controller.pin(wire.pin) if isinstance(wire.pin, str) else None
    return "" if pin is None else ", ".join(each for each in (pin.strapped, pin.restless) if each)


def _input_row(item: Input, pin: str, note: str) -> tuple[str, ...]:
    wired = item.wiring
    notes = [f"pull {wired.pull}"] if wired.pull else []
    notes += [f"low reads {wired.low}"] if wired.low else []
    notes += [f"contact {wired.contact}"] if wired.contact else []
    notes += [f"unplugged reads {item.unplugged}"] if item.unplugged else []
    notes += [f"{level.value} {level.side} {level.count}" for level in wired.levels]
    notes += [note] if note else []
    role = f", {item.role.value.replace('_', ' ')}" if item.role else ""
    return (item.name, item.kind + role, pin, ", ".join(notes), "", ", ".join(item.values))


def _output_row(item: Output, pin: str, note: str, wire: Wire | None) -> tuple[str, ...]:
    wired = item.wiring
    notes = [f"on when {wired.on_when}"] if pin else []
    notes += ["turns the other way"] if wired.turns == "other way" else []
    notes += ["hazard"] if item.hazard else []
    notes += [f"{value} {given.number:g} {given.unit}" for value, given in wired.gives]
    notes += [note] if note else []
    values = (f"{value} (rest)" if value == item.rest else value for value in item.values)
    rest = "" if wire is None else _rest(item, wire)
    return (item.name, item.kind, pin, ", ".join(notes), rest, ", ".join(values))


def _rest(item: Output, wire: Wire) -> str:
    """Give the level of an output's wire while the output rests."""
    if item.kind == "servo":
        return "pulses"
    is_on = wire.what == item.rest and item.wiring.pulse is None
    return "high" if is_on == (item.wiring.on_when == "high") else "low"


def _states(region: Region) -> list[str]:
    rows = [_state_row(region, state) for state in region.states]
    about = [_plain(region.about), ""] if region.about else []
    return [f"## Region {_plain(region.name)}", "", *about, *_table(_STATE_HEADS, rows)]


_STATE_HEADS = ("state", "sets", "the operator is told", "about")


def _state_row(region: Region, state: State) -> tuple[str, ...]:
    sets = [setting_words(setting) for setting in state.sets]
    sets += [f"then {setting_words(setting)}" for cue in state.cues for setting in cue.sets]
    name = full_name(region, state.number) + (" (lockout)" if state.lockout else "")
    return (name, ", ".join(sets), state.operator, state.about)


def _checked(verdicts: Sequence[str]) -> list[str]:
    if not verdicts:
        return ["Nothing was checked when these files were written."]
    return [f"- {_plain(verdict)}" for verdict in verdicts]


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    lines = [heads, ["---"] * len(heads)]
    cells = [[_plain(cell) for cell in row] for row in rows]
    return ["| " + " | ".join(line) + " |" for line in (*lines, *cells)]


def _plain(text: str) -> str:
    """Put text from a file so that Markdown and HTML leave it as it is, on one line."""
    kept = safe_words(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return re.sub(r"[`*\[\]|#!]|(?<![A-Za-z0-9])_", r"\\\g<0>", kept)
