"""Single conditions on random values."""

from behaviour.model import (
    Compare,
    Comparison,
    Counter,
    Input,
    Is,
    Output,
)
from tests.randomly.dice import Dice


def valued(dice: Dice, item: Input | Output) -> Is:
    negated = dice.one_in_hundred(25)
    if len(item.values) > 2 and dice.one_in_hundred(30):
        first = dice.number(0, len(item.values) - 2)
        return Is(item.name, (item.values[first], item.values[first + 1]), negated)
    return Is(item.name, (dice.one_of(item.values),), negated)


SIGNS: tuple[Comparison, ...] = ("=", "!=", "<", "<=", ">", ">=")


def compared(dice: Dice, counter: Counter) -> Compare:
    return Compare(counter.name, dice.one_of(SIGNS), dice.number(counter.low, counter.high))
