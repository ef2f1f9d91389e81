"""Random mechanism regions: what drives them, how long they take, what they force."""

from behaviour.model import (
    Condition,
    Is,
    Mechanism,
    MechanismState,
    Movement,
)
from tests.randomly.dice import LOOP, Dice, World


def mechanism_for(world: World, at: int) -> Mechanism:
    dice = world.dice
    name = world.forced[at]
    values = next(each.values for each in world.inputs if each.name == name)
    plain = at == 0 and world.machine and dice.one_in_hundred(80)
    watched = "motor" if plain else dice.one_of([each.name for each in world.outputs])
    world.moved_by[name] = watched
    count = dice.weighted((75, 2), (25, 3)) if at == 0 and not plain else 2
    always_reads = plain or dice.one_in_hundred(75)
    states, movement = [], 0
    for number in range(count):
        as_named = plain or dice.one_in_hundred(85)
        value = values[min(number, 1)] if as_named else dice.one_of(values)
        reads = ((name, value),) if always_reads or dice.one_in_hundred(65) else ()
        goes = [n for n in range(count) if n != number]
        targets = [(number + 1) % count] if plain or dice.one_in_hundred(90) else []
        if not plain and dice.one_in_hundred(22):
            targets.append(dice.one_of(goes))
        movements = []
        for target in targets:
            low, high = _window(dice, plain)
            during = _during(world, watched)
            if plain and number == 1 and dice.one_in_hundred(60):
                low, high = LOOP, LOOP
                if dice.one_in_hundred(60):
                    during = Is("motor", ("stopped",))
            movements.append(
                Movement(
                    number=movement,
                    source=number,
                    during=during,
                    low=low,
                    high=high,
                    target=target,
                )
            )
            movement += 1
        states.append(
            MechanismState(
                number=number, name=f"p{number}", reads=reads, movements=tuple(movements)
            )
        )
    begins = None if dice.one_in_hundred(15 if plain else 30) else 0
    return Mechanism(name=f"mech{at}", begins=begins, states=tuple(states))


def _window(dice: Dice, plain: bool) -> tuple[int, int]:
    if plain:
        low = dice.weighted((45, LOOP), (35, 2 * LOOP), (20, 3 * LOOP))
    else:
        low = dice.weighted((42, LOOP), (14, 2 * LOOP), (26, LOOP // 2), (6, 15_000), (12, 0))
    return low, max(low + dice.weighted((40, 0), (40, LOOP), (20, 5_000)), 5_000)


def _during(world: World, watched: str) -> Condition | None:
    dice = world.dice
    if dice.one_in_hundred(10):
        return None
    output = next(each for each in world.outputs if each.name == watched)
    if dice.one_in_hundred(65):
        return Is(output.name, (output.rest,), negated=True)
    return Is(output.name, (dice.one_of(output.values),))
