"""The operator's card: what whoever runs the show must know, taken from what the file says.

It tells what lamps and sounds mean, what each button does, and what is to be done when it stops.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.model import HeldFor, Model, Output, Region, State, Unknown
from behaviour.semantics import settings
from behaviour.tell.clauses import action, clause, lasting, time
from behaviour.tell.happenings import (
    ALWAYS,
    Answer,
    Happening,
    answers,
    happenings,
    leaves,
    moved_by_hardware,
)
from behaviour.tell.sheet import listed

SHOWS = ("lamp", "light", "sound", "signal")
"""The kinds of outputs by which a prop tells people where it is."""

MOST_STATES = 4
"""More states than these are not listed for the value that an output rests at."""


@dataclass(frozen=True, slots=True)
class Sign:
    """What one value of a lamp, light, sound or signal means."""

    output: str
    value: str
    means: str


@dataclass(frozen=True, slots=True)
class Deed:
    """What somebody can do, and what comes of it, line by line."""

    what: str
    comes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """What the prop shows in a state, and what whoever runs the show is told to do."""

    state: str
    looks: str
    says: str


@dataclass(frozen=True, slots=True)
class Card:
    prop: str
    about: str
    switch_on: str
    make_safe: str
    call: str
    signs: tuple[Sign, ...]
    deeds: tuple[Deed, ...]
    stops: tuple[Stop, ...]


def card_of(model: Model) -> Card:
    """Make the card of a prop."""
    show = dict(model.show)
    return Card(
        prop=model.prop,
        about=model.about,
        switch_on=show.get("switch_on", ""),
        make_safe=show.get("make_safe", ""),
        call=show.get("call", ""),
        signs=tuple(sign for output in model.outputs for sign in _signs(model, output)),
        deeds=tuple(_deeds(model)),
        stops=tuple(stop for region in model.regions for stop in _stops(model, region)),
    )


# --- Lamps and sounds ---------------------------------------------------------------------------


def _signs(model: Model, output: Output) -> Iterator[Sign]:
    """Say of each value in which states an output has it at some moment."""
    owner = model.owner.get(output.name)
    if output.kind not in SHOWS or owner is None:
        return
    region = model.region[owner]
    for value in output.values:
        shown = frozenset(
            leaf.number for leaf in leaves(region) if value in _has(output, region, leaf)
        )
        names = _names(region, shown)
        if not names:
            continue
        if value == output.rest and len(names) > MOST_STATES:
            names = ("anything else",)
        yield Sign(output.name, value, listed(names, "or"))


def _has(output: Output, region: Region, leaf: State) -> set[str | None]:
    """List the values that an output has in a state; None where it keeps what it had."""
    otherwise = None if output.keeps else output.rest
    return {
        settings(region, leaf.number, done).get(output.name, otherwise)
        for done in range(len(leaf.cues) + 1)
    }


def _names(region: Region, inside: frozenset[int]) -> tuple[str, ...]:
    """Name states as one says them; where all of a state are meant, by that state's name."""

    def named(state: State) -> Iterator[str]:
        all_of = {
            leaf.number for leaf in leaves(region) if region.contains(state.number, leaf.number)
        }
        if all_of <= inside:
            yield spoken(state.name)
            return
        for child in state.children:
            yield from named(region.states[child])

    tops = [state for state in region.states if state.parent is None]
    return tuple(name for state in tops for name in named(state))


def spoken(name: str) -> str:
    """Write a name as one says it."""
    return name.replace("_", " ")


# --- Buttons ------------------------------------------------------------------------------------


def _deeds(model: Model) -> Iterator[Deed]:
    moved = moved_by_hardware(model)
    for item in model.inputs:
        if item.name in moved:
            continue
        for value in item.values:
            happening = Happening(item.name, value)
            lines = [
                line
                for region in model.regions
                if happening in happenings(model, region)
                for line in _comes(model, region, happening)
            ]
            if lines:
                yield Deed(_deed_words(item.kind, happening), tuple(lines))


def _deed_words(kind: str, happening: Happening) -> str:
    name = spoken(happening.input)
    match kind, happening.value:
        case "button", "pressed":
            return f"press {name}"
        case "button", "released":
            return f"let go of {name}"
        case "selector", value:
            return f"turn {name} to {spoken(value)}"
        case _, value:
            return f"{name} {spoken(value)}"


def _comes(model: Model, region: Region, happening: Happening) -> Iterator[str]:
    """Say what a change brings about in a region, once for all the states where it is the same."""
    found: dict[str, set[int]] = {}
    for leaf in leaves(region):
        brought = answers(model, region, leaf.number, happening)
        if brought:
            words = ", else ".join(_leads(model, region, each, happening) for each in brought)
            found.setdefault(words, set()).add(leaf.number)
    for words, inside in found.items():
        names = _names(region, frozenset(inside))
        where = listed(names, "or") if len(names) <= MOST_STATES else "anywhere else"
        yield f"{where}: {words}"


def _leads(model: Model, region: Region, answer: Answer, happening: Happening) -> str:
    """Say where a transition leads, and what else it waits for."""
    match answer.way.target:
        case None:
            goes = f"stays, and {listed(map(action, answer.way.does))}"
        case Unknown():
            goes = "nobody knows yet where"
        case number:
            goes = f"to {spoken(region.states[number].name)}"
    after = answer.way.after
    asked = answer.also
    if isinstance(asked, HeldFor) and asked.name == happening.input:
        goes = f"{goes} when kept so for {time(asked.time)}"
        after = None if after is not None and after.high == asked.time else after
    elif asked != ALWAYS:
        goes = f"{goes} if {clause(model, asked)}"
    return goes if after is None else f"{goes}, but only after {lasting(after)} there"


# --- When it stops ------------------------------------------------------------------------------


def _stops(model: Model, region: Region) -> Iterator[Stop]:
    for state in region.states:
        if not state.operator:
            continue
        shown = settings(region, region.leaf(state.number), 0)
        looks = [
            f"{spoken(output.name)} {spoken(value)}"
            for output in model.outputs
            if output.kind in SHOWS
            and model.owner.get(output.name) == region.name
            and (value := shown.get(output.name, output.rest)) != output.rest
        ]
        yield Stop(spoken(state.name), ", ".join(looks), state.operator)
