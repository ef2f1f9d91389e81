"""Conditions, actions and times as clauses of plain English, such as `the switch `lid` is open`.

Each has one fixed form, so that what was said can be read back. No clause holds a comma, a colon
or a semicolon: those belong to the sentences that are made of clauses.
"""

from typing import assert_never

from behaviour.model import (
    Action,
    AddTo,
    After,
    And,
    Becomes,
    Compare,
    Comparison,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Mechanism,
    Model,
    Not,
    Or,
    Region,
    Setting,
    SetTo,
    Time,
    Unknown,
)
from behaviour.tell.sheet import listed, marked
from behaviour.wording import amount_words, duration

SIGNS: dict[Comparison, str] = {
    "=": "",
    "!=": "not ",
    "<": "less than ",
    "<=": "at most ",
    ">": "more than ",
    ">=": "at least ",
}


def thing(model: Model, name: str) -> str:
    """Name an input or output with what it is, but where its name says that already."""
    item = model.input.get(name) or model.output[name]
    return f"the {marked(name)}" if item.kind == name else f"the {item.kind} {marked(name)}"


def count(name: str) -> str:
    return f"the count {marked(name)}"


def time(value: Time) -> str:
    """Write a time; one that the file leaves open is named."""
    if isinstance(value, Unknown):
        return f"an unknown time ({marked(value.what)})"
    return duration(value)


def window(low: Time, high: Time) -> str:
    """Write a time between two bounds; one time where they are the same."""
    return time(low) if low == high else f"{time(low)} to {time(high)}"


def lasting(after: After) -> str:
    """Write the time that a state must have lasted."""
    if after.low == after.high:
        return time(after.low)
    return f"a time drawn at random from {window(after.low, after.high)}"


def clause(model: Model, condition: Condition) -> str:
    """Write a condition, with brackets only where they are needed."""
    match condition:
        case Is(name=name, values=values, negated=negated):
            return f"{thing(model, name)} {is_words(values, negated=negated)}"
        case Becomes(name=name, value=value):
            return f"{thing(model, name)} becomes {value}"
        case HeldFor(name=name, value=value, time=held):
            return f"{thing(model, name)} has been {value} for {time(held)}"
        case Compare(name=name, sign=sign, number=number):
            return f"{count(name)} is {SIGNS[sign]}{number}"
        case InState(region=region, state=state, negated=negated):
            where = marked(states_of(model, region).states[state].name)
            return f"{marked(region)} is {'not in' if negated else 'in'} {where}"
        case Done(name=name, negated=negated):
            return f"the move of {thing(model, name)} is {'not done' if negated else 'done'}"
        case And(says=says) | Or(says=says) if says:
            name, _, rest = says.partition(" ")
            return f"{thing(model, name)} {rest}"
        case Not(part=part):
            return f"it is not so that {_bracketed(model, part)}"
        case And(parts=parts):
            return " and ".join(_bracketed(model, part) for part in parts)
        case Or(parts=parts):
            return " or ".join(_bracketed(model, part) for part in parts)
        case _:
            assert_never(condition)


def is_words(values: tuple[str, ...], *, negated: bool) -> str:
    """Write which values something has, or has not."""
    if len(values) == 1:
        return f"is {'not ' if negated else ''}{values[0]}"
    if negated:
        return f"is neither {' nor '.join(values)}"
    return f"is either {' or '.join(values)}"


def action(does: Action) -> str:
    """Write one of the actions of `do`, as what a region does."""
    match does:
        case AddTo(counter=name, amount=amount) if amount < 0:
            return f"takes {-amount} from {count(name)}"
        case AddTo(counter=name, amount=amount):
            return f"adds {amount} to {count(name)}"
        case SetTo(counter=name, value=value):
            return f"sets {count(name)} to {value}"
        case _:
            assert_never(does)


def driven(model: Model, sets: tuple[Setting, ...]) -> str:
    """Write what outputs are in a state or from a cue on."""
    return listed(f"{thing(model, each.output)} {_turned(each)}" for each in sets)


def _turned(setting: Setting) -> str:
    move = setting.move
    if move is None:
        return f"is {setting.value}"
    takes = window(move.low, move.high)
    return f"turns {setting.value} by {amount_words(move.amount)} ({move.steps} steps) in {takes}"


def states_of(model: Model, region: str) -> Region | Mechanism:
    """Find a region or mechanism region by its name."""
    return model.region.get(region) or model.mechanisms[region]


def _bracketed(model: Model, part: Condition) -> str:
    words = clause(model, part)
    is_joined = isinstance(part, Not) or (isinstance(part, And | Or) and not part.says)
    return f"({words})" if is_joined else words
