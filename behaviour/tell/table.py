"""The table of a region: each state by each thing that can happen, every cell filled or blank."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from behaviour.explore.guards import atoms
from behaviour.model import HeldFor, Model, Part, Region, State, Transition, Unknown
from behaviour.semantics import settings
from behaviour.tell.happenings import (
    ALWAYS,
    Answer,
    Happening,
    answers,
    by_themselves,
    changes,
    happenings,
    is_ignored,
    is_left_otherwise,
    is_locked,
    is_there_already,
    leaves,
)
from behaviour.wording import (
    action_words,
    after_words,
    condition_words,
    full_name,
    setting_words,
    time_words,
)


class Filling(Enum):
    """What stands in a cell."""

    ANSWERED = "answered"
    IGNORED = "ignored, and that is meant"
    THERE = "stays"
    ELSEWHERE = "left at once while the input is anything else"
    LOCKED = "nothing leaves it but switching off"
    WAITS = "waits"
    BLANK = "blank"


@dataclass(frozen=True, slots=True)
class Cell:
    filling: Filling
    lines: tuple[str, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        return self.lines or (self.filling.value,)


@dataclass(frozen=True, slots=True)
class Row:
    """A state, what it drives, and its cells: one a column, and what comes by itself last."""

    state: str
    drives: tuple[str, ...]
    cells: tuple[Cell, ...]
    by_itself: Cell


@dataclass(frozen=True, slots=True)
class Table:
    """A region's table; `never` lists the changes that no state of it answers."""

    region: str
    columns: tuple[Happening, ...]
    rows: tuple[Row, ...]
    never: tuple[Happening, ...]


def tables(model: Model) -> tuple[Table, ...]:
    """Give the table of each region."""
    return tuple(_table(model, region) for region in model.regions)


def happening_words(happening: Happening) -> str:
    return f"{happening.input} becomes {happening.value}"


def _table(model: Model, region: Region) -> Table:
    columns = happenings(model, region)
    every = [each for item in model.inputs for each in changes(item)]
    return Table(
        region=region.name,
        columns=columns,
        rows=tuple(_row(model, region, leaf, columns) for leaf in leaves(region)),
        never=tuple(each for each in every if each not in columns),
    )


def _row(model: Model, region: Region, leaf: State, columns: tuple[Happening, ...]) -> Row:
    return Row(
        state=full_name(region, leaf.number),
        drives=tuple(f"{name} {value}" for name, value in settings(region, leaf.number, 0).items()),
        cells=tuple(_cell(model, region, leaf.number, each) for each in columns),
        by_itself=_by_itself(model, region, leaf),
    )


def _cell(model: Model, region: Region, leaf: int, happening: Happening) -> Cell:
    found = answers(model, region, leaf, happening)
    if found:
        lines = [_answer(model, region, each) for each in found]
        if _leaves_a_gap(found[-1]):
            lines.append("otherwise blank")
        return Cell(Filling.ANSWERED, tuple(lines))
    if is_there_already(model, region, leaf, happening):
        return Cell(Filling.THERE)
    if is_locked(region, leaf):
        return Cell(Filling.LOCKED)
    if is_ignored(region, leaf, happening.input):
        return Cell(Filling.IGNORED)
    if is_left_otherwise(model, region, leaf, happening):
        words = f"left while {happening.input} is not {happening.value}"
        return Cell(Filling.ELSEWHERE, (words,))
    return Cell(Filling.BLANK)


def _leaves_a_gap(last: Answer) -> bool:
    """Tell whether a change can go unanswered for another reason than that its time is to come."""
    return any(not isinstance(atom, HeldFor) for atom in atoms(last.also))


def _answer(model: Model, region: Region, answer: Answer) -> str:
    conditions = [] if answer.also == ALWAYS else [condition_words(model, answer.also)]
    return way_words(region, answer.way, conditions)


def _by_itself(model: Model, region: Region, leaf: State) -> Cell:
    lines = list(_cues(leaf))
    for way in by_themselves(model, region, leaf.number):
        if way.part is Part.END:
            reasons = [f"at {time_words(leaf.cues[-1].at)}"]
        else:
            reasons = [] if way.when is None else [condition_words(model, way.when)]
        lines.append(way_words(region, way, reasons))
    if lines:
        return Cell(Filling.ANSWERED, tuple(lines))
    return Cell(Filling.LOCKED if is_locked(region, leaf.number) else Filling.WAITS)


def _cues(leaf: State) -> Iterator[str]:
    for cue in leaf.cues:
        if cue.sets:
            yield f"at {time_words(cue.at)}: {', '.join(map(setting_words, cue.sets))}"


def way_words(region: Region, way: Transition, reasons: list[str]) -> str:
    """Write a transition: what it waits for, besides its time, what it does, where it goes."""
    if way.after is not None:
        reasons = [*reasons, after_words(way.after)]
    match way.target:
        case None:
            goes = "stay"
        case Unknown():
            goes = "go unknown"
        case number:
            goes = f"go {region.states[number].name}"
    does = ", ".join([*map(action_words, way.does), goes])
    return f"{', '.join(reasons)}: {does}" if reasons else does
