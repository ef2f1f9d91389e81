"""Writes NAME.md: the wiring, the states, what was checked, and the cautions."""

import re
from collections.abc import Iterable, Sequence

from behaviour.cautions import CAUTIONS
from behaviour.fingerprint import fingerprint
from behaviour.model import Input, Model, Output, Region, State
from behaviour.wording import full_name, setting_words
from codegen.banner import sealed_page
from codegen.cwriter import safe_words


def sheet(model: Model, source_name: str, verdicts: Sequence[str]) -> str:
    """Give the text of the page; `verdicts` are lines on what was checked."""
    parts = [
        [f"# {_plain(model.prop)}"],
        [_plain(model.about)] if model.about else [],
        [f"From {_plain(source_name)}, fingerprint `{fingerprint(model)}`."],
        ["## Wiring", "", *_wiring(model)],
        *(_states(region) for region in model.regions),
        ["## Checked", "", *_checked(verdicts)],
        ["## Cautions", ""] + [f"- {caution}" for caution in CAUTIONS],
    ]
    return sealed_page("\n\n".join("\n".join(part) for part in parts if part) + "\n\n")


def _wiring(model: Model) -> list[str]:
    rows = [_input_row(item, pin) for item in model.inputs for pin in _input_pins(item)]
    rows += [_output_row(item, pin) for item in model.outputs for pin in _output_pins(item)]
    return _table(("name", "what", "pin", "wired", "values"), rows)


def _input_pins(item: Input) -> list[str]:
    wired = item.wiring
    pins = [f"{pin} ({what})" for what, pin in wired.pins]
    return pins or ["" if wired.pin is None else str(wired.pin)]


def _output_pins(item: Output) -> list[str]:
    wired = item.wiring
    pins = [f"{pin} ({what})" for what, pin in wired.pins]
    return pins or ["" if wired.pin is None else str(wired.pin)]


def _input_row(item: Input, pin: str) -> tuple[str, ...]:
    wired = item.wiring
    notes = [f"pull {wired.pull}"] if wired.pull else []
    notes += [f"low reads {wired.low}"] if wired.low else []
    notes += [f"contact {wired.contact}"] if wired.contact else []
    notes += [f"unplugged reads {item.unplugged}"] if item.unplugged else []
    notes += [f"{level.value} {level.side} {level.count}" for level in wired.levels]
    role = f", {item.role.value.replace('_', ' ')}" if item.role else ""
    return (item.name, item.kind + role, pin, ", ".join(notes), ", ".join(item.values))


def _output_row(item: Output, pin: str) -> tuple[str, ...]:
    wired = item.wiring
    notes = [f"on when {wired.on_when}"] if pin else []
    notes += ["turns the other way"] if wired.turns == "other way" else []
    notes += ["hazard"] if item.hazard else []
    values = (f"{value} (rest)" if value == item.rest else value for value in item.values)
    return (item.name, item.kind, pin, ", ".join(notes), ", ".join(values))


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
