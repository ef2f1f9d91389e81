"""Moves by distance put into a random prop: how long they take, who waits for their end, rules."""

from dataclasses import replace

from behaviour.language.motions import is_moving, motion_of
from behaviour.model import (
    And,
    AtMost,
    Becomes,
    Condition,
    Done,
    Model,
    Move,
    Never,
    Not,
    Or,
    Output,
    Part,
    Quantity,
    Region,
    Rule,
    Setting,
    State,
    Transition,
    Whenever,
)
from behaviour.source import NOWHERE
from tests.randomly.dice import LOOP, Dice

MOTOR = "motor"


def with_moves(dice: Dice, model: Model) -> Model:
    """Let some states turn the motor so far, and now and then the other output too."""
    names = (MOTOR, "other") if dice.one_in_hundred(35) else (MOTOR,)
    for output in model.outputs:
        if output.name in names and output.name in model.owner and not output.keeps:
            model = _with_moves_of(dice, model, output)
    return model


def _with_moves_of(dice: Dice, model: Model, motor: Output) -> Model:
    owner = model.owner[motor.name]
    region = _with_moves(dice, model.region[owner], motor)
    if not any(s.move and s.output == motor.name for state in region.states for s in state.sets):
        return model
    moved = replace(
        model, regions=tuple(region if each.name == owner else each for each in model.regions)
    )
    if dice.one_in_hundred(60):
        stop = dice.weighted((40, 0), (30, 2 * LOOP), (30, 25_000))
        moved = replace(moved, mechanism=(*moved.mechanism, motion_of(motor, LOOP, stop)))
    return replace(moved, rules=_rules(dice, moved, motor))


def _with_moves(dice: Dice, region: Region, motor: Output) -> Region:
    numbers = [way.number for way in region.transitions()]
    numbers += [s.move.number for each in region.states for s in each.sets if s.move is not None]
    number = 1 + max(numbers, default=-1)
    states: list[State] = []
    for state in region.states:
        sets = []
        for setting in state.sets:
            driven = setting.output == motor.name and setting.value != motor.rest
            if driven and _is_alone(region, state, motor) and dice.one_in_hundred(85):
                sets.append(_moved(dice, setting, number))
                number += 1
            else:
                sets.append(setting)
        states.append(replace(state, sets=tuple(sets)))
    return replace(
        region,
        interlocks=tuple(_way(dice, motor, way, 12) for way in region.interlocks),
        states=tuple(_asking(dice, motor, state) for state in states),
    )


def _is_alone(region: Region, state: State, motor: Output) -> bool:
    """Tell whether nothing inside a state sets the motor too."""
    inside = [each for each in region.states if region.contains(state.number, each.number)]
    others = [s for each in inside if each is not state for s in each.sets]
    others += [s for each in inside for cue in each.cues for s in cue.sets]
    return not any(setting.output == motor.name for setting in others)


def _moved(dice: Dice, setting: Setting, number: int) -> Setting:
    low = dice.weighted((30, 5_000), (30, LOOP), (20, 2 * LOOP), (20, 25_000))
    high = low + dice.weighted((35, 0), (35, LOOP), (20, 5_000), (10, 2 * LOOP))
    amount = Quantity(number=1, unit="station")
    move = Move(number=number, amount=amount, low=low, high=high, steps=100 + number)
    return replace(setting, move=move)


def _asking(dice: Dice, motor: Output, state: State) -> State:
    moves = any(s.move is not None and s.output == motor.name for s in state.sets)
    often = 45 if moves else 8
    return replace(
        state,
        leave=tuple(_way(dice, motor, way, often) for way in state.leave),
        interlocks=tuple(_way(dice, motor, way, 12) for way in state.interlocks),
    )


def _way(dice: Dice, motor: Output, way: Transition, often: int) -> Transition:
    """Let a transition ask for the end of a move."""
    if not dice.one_in_hundred(often):
        return way
    done: Condition = Done(motor.name, dice.one_in_hundred(12))
    if dice.one_in_hundred(8):
        done = Not(done)
    if way.when is None or dice.one_in_hundred(55):
        keeps_time = way.part is Part.INTERLOCK or dice.one_in_hundred(25)
        return replace(way, when=done, after=way.after if keeps_time else None)
    match way.when:
        case Becomes() | Or() if dice.one_in_hundred(30):
            return replace(way, when=Or((way.when, done)))
        case _:
            return replace(way, when=And((way.when, done)))


def _rules(dice: Dice, model: Model, motor: Output) -> tuple[Rule, ...]:
    """Let some rules speak of the end of a move, or of whether the motor still turns."""
    found = list(model.rules)
    for at, rule in enumerate(found):
        if rule.scope is not None or not dice.one_in_hundred(50):
            continue
        asked: Condition = Done(motor.name, dice.one_in_hundred(20))
        if any(each.motion_of == motor.name for each in model.mechanism) and dice.one_in_hundred(
            65
        ):
            asked = is_moving(motor, NOWHERE, negated=dice.one_in_hundred(15))
        match rule.requirement:
            case Never(condition=condition, limit=limit):
                both = And((asked, condition)) if dice.one_in_hundred(60) else asked
                changed = replace(rule, requirement=Never(condition=both, limit=limit))
            case AtMost(limit=limit):
                changed = replace(rule, requirement=AtMost(condition=asked, limit=limit))
            case Whenever(response=response, limit=limit) if dice.one_in_hundred(50):
                new = Whenever(trigger=asked, response=response, limit=limit)
                changed = replace(rule, requirement=new)
            case Whenever(trigger=trigger, limit=limit):
                new = Whenever(trigger=trigger, response=asked, limit=limit)
                changed = replace(rule, requirement=new)
            case _:
                continue
        found[at] = changed
    return tuple(found)
