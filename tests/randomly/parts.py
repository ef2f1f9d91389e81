"""Random inputs, outputs and counters of a small prop."""

from dataclasses import replace
from typing import Literal

from behaviour.model import (
    Counter,
    Input,
    InputWiring,
    Output,
    OutputKind,
    Role,
)
from tests.randomly.dice import Dice

PULLS: tuple[Literal["up", "down"], ...] = ("up", "down")


def _wired(dice: Dice, item: Input) -> Input:
    """Now and then say how an input of two values is wired, and what it reads with a cut wire."""
    if len(item.values) != 2 or not dice.one_in_hundred(80 if item.is_protective else 50):
        return item
    wiring = InputWiring(pull=dice.one_of(PULLS), low=dice.one_of(item.values))
    return replace(item, wiring=wiring, unplugged=dice.one_of(item.values))


def inputs_for(dice: Dice, mechanisms: int, regions: int) -> tuple[Input, ...]:
    most = dice.weighted((75, 2), (25, 3)) if regions < 3 else 2
    count = dice.number(mechanisms, most) if dice.one_in_hundred(25) else most
    count = max(count, 1)
    if count == mechanisms and dice.one_in_hundred(80):
        count += 1
    return tuple(_wired(dice, _input(dice, f"i{at}", at < mechanisms)) for at in range(count))


def _input(dice: Dice, name: str, is_forced: bool) -> Input:
    if is_forced:
        return _steady(dice, Input(name=name, kind="sensor", values=("clear", "made"), steady=()))
    match dice.weighted(
        (32, "switch"), (26, "button"), (10, "selector"), (24, "guard"), (8, "run")
    ):
        case "button":
            role = dice.weighted((50, None), (38, Role.START), (12, Role.RESET))
            item = Input(
                name=name, kind="button", values=("released", "pressed"), steady=(), role=role
            )
        case "run":
            item = Input(
                name=name,
                kind="button",
                values=("released", "pressed"),
                steady=(),
                role=Role.HOLD_TO_RUN,
            )
        case "selector":
            item = Input(name=name, kind="selector", values=("low", "mid", "high"), steady=())
        case "guard":
            role = dice.one_of((Role.GUARD, Role.STOP))
            item = Input(
                name=name,
                kind="switch",
                values=("off", "on"),
                steady=(),
                role=role,
                safe=dice.one_of(("off", "on")),
            )
        case _:
            item = Input(name=name, kind="switch", values=("off", "on"), steady=())
    return _steady(dice, item)


def _steady(dice: Dice, item: Input) -> Input:
    if len(item.values) == 3 or not dice.one_in_hundred(50 if item.is_protective else 32):
        return replace(item, steady=(0,) * len(item.values))
    longest = dice.weighted((60, 1), (25, 2), (15, 3))
    if dice.one_in_hundred(15):
        return replace(item, steady=(dice.one_of((4_000, 5_000)),) * len(item.values))
    return replace(item, steady=tuple(dice.loops(0, longest) for _ in item.values))


def outputs_for(dice: Dice, machine: bool) -> tuple[Output, ...]:
    pause = dice.loops(0, 5) if dice.one_in_hundred(90) else None
    motor = Output(
        name="motor",
        kind="motor",
        values=("stopped", "forward", "reverse"),
        rest="stopped",
        hazard=True,
        pause=pause,
        keeps=not machine and dice.one_in_hundred(12),
        least=_least(dice),
    )
    found = [motor]
    if dice.one_in_hundred(45):
        kind: OutputKind = "valve" if dice.one_in_hundred(50) else "lamp"
        found.append(
            Output(
                name="other",
                kind=kind,
                values=("dark", "lit"),
                rest="dark",
                hazard=kind == "valve",
                keeps=dice.one_in_hundred(25),
                least=_least(dice),
            )
        )
    return tuple(found)


def _least(dice: Dice) -> int | None:
    return dice.loops(1, 3) if dice.one_in_hundred(45) else None


def counters_for(dice: Dice, regions: int) -> tuple[Counter, ...]:
    if not dice.one_in_hundred(45 if regions < 3 else 20):
        return ()
    high = dice.number(1, 2)
    return (Counter(name="count", low=0, high=high, begins=dice.number(0, high)),)
