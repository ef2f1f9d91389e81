"""Random rules of every kind of this release, near what happens in a prop."""

from behaviour.explore.guards import atoms
from behaviour.model import (
    Always,
    And,
    AtLeast,
    AtMost,
    Becomes,
    Condition,
    Count,
    First,
    HeldFor,
    Input,
    InState,
    Is,
    Model,
    Never,
    Not,
    Or,
    Output,
    Rate,
    Requirement,
    Rule,
    Scope,
    ScopeKind,
    WayBack,
    Whenever,
)
from tests.randomly.conditions import compared, valued
from tests.randomly.dice import World


def rules_for(world: World, model: Model) -> tuple[Rule, ...]:
    count = world.dice.weighted((30, 2), (40, 3), (30, 4))
    return tuple(_rule(world, model, number) for number in range(count))


def _rule(world: World, model: Model, number: int) -> Rule:
    requirement = _requirement(world, model)
    scope = None
    if world.dice.one_in_hundred(35) and not isinstance(requirement, WayBack):
        kind = world.dice.one_of(tuple(ScopeKind))
        scope = Scope(kind=kind, condition=_seen(world, model))
    return Rule(name=f"rule {number}", requirement=requirement, scope=scope)


def _requirement(world: World, model: Model) -> Requirement:  # noqa: PLR0911
    dice = world.dice
    match dice.weighted(
        (6, "never"),
        (26, "never for"),
        (12, "always"),
        (15, "at most"),
        (24, "whenever"),
        (16, "some day"),
        (18, "at least"),
        (14, "first"),
        (24, "count"),
        (14, "rate"),
        (18, "way"),
    ):
        case "never":
            return Never(condition=_seen(world, model))
        case "never for":
            condition = _sensed(world, model)
            return Never(condition=condition, limit=dice.loops(0, 5))
        case "always":
            rarely = And((_one_seen(world, model), _one_seen(world, model)))
            if any(isinstance(atom, HeldFor) for atom in atoms(rarely)):
                return Never(condition=rarely)  # `for` may not stand under `not`
            return Always(condition=Not(rarely))
        case "at most":
            return AtMost(condition=_seen(world, model), limit=dice.loops(0, 5))
        case "whenever":
            return Whenever(
                trigger=_sensed(world, model),
                response=_seen(world, model),
                limit=dice.loops(0, 5),
            )
        case "some day":
            trigger = _sensed(world, model) if dice.one_in_hundred(50) else _seen(world, model)
            return Whenever(trigger=trigger, response=_seen(world, model))
        case "at least":
            return AtLeast(condition=_seen(world, model), limit=dice.loops(0, 4))
        case "first":
            return First(
                condition=_seen(world, model),
                before=_seen(world, model),
                since=_seen(world, model) if dice.one_in_hundred(50) else None,
            )
        case "count":
            return Count(
                condition=_seen(world, model),
                most=dice.number(0, 3),
                since=_seen(world, model) if dice.one_in_hundred(50) else None,
            )
        case "rate":
            return Rate(
                condition=_seen(world, model), most=dice.number(0, 2), limit=dice.loops(1, 10)
            )
        case _:
            return WayBack(condition=_way_back(world, model))


def _sensed(world: World, model: Model) -> Condition:
    """A condition that names an input, most often together with something else."""
    dice = world.dice
    item = dice.one_of(world.inputs)
    single: Condition
    match dice.weighted((52, "is"), (34, "becomes"), (14, "for")):
        case "becomes":
            single = Becomes(item.name, dice.one_of(item.values))
        case "for":
            single = HeldFor(item.name, dice.one_of(item.values), dice.loops(0, 3))
        case _:
            single = valued(dice, item)
    if dice.one_in_hundred(30):
        return single
    other = _one_seen(world, model)
    if dice.one_in_hundred(8):
        return Or((single, other))
    if dice.one_in_hundred(10):
        return And((single, Or((other, _one_seen(world, model)))))
    return And((single, other))


def _seen(world: World, model: Model) -> Condition:
    dice = world.dice
    match dice.weighted((45, "one"), (35, "and"), (20, "or")):
        case "and":
            return And((_one_seen(world, model), _one_seen(world, model)))
        case "or":
            return Or((_one_seen(world, model), _one_seen(world, model)))
        case _:
            return _one_seen(world, model)


def _one_seen(world: World, model: Model) -> Condition:
    dice = world.dice
    match dice.weighted(
        (34, "output"),
        (22, "input"),
        (20, "region"),
        (8 if model.mechanism else 0, "mechanism"),
        (8 if world.counters else 0, "counter"),
        (5, "becomes"),
        (3, "for"),
    ):
        case "output":
            output = dice.one_of(world.outputs)
            if dice.one_in_hundred(50):
                return Is(output.name, (output.rest,), negated=True)
            return valued(dice, output)
        case "region":
            region = dice.one_of(model.regions)
            return InState(
                region.name, dice.number(0, len(region.states) - 1), dice.one_in_hundred(20)
            )
        case "mechanism":
            each = dice.one_of(model.mechanism)
            return InState(each.name, dice.number(0, len(each.states) - 1), dice.one_in_hundred(20))
        case "counter":
            return compared(dice, dice.one_of(world.counters))
        case "becomes":
            changing: tuple[Input | Output, ...] = (*world.inputs, *world.outputs)
            item = dice.one_of(changing)
            return Becomes(item.name, dice.one_of(item.values))
        case "for":
            item = dice.one_of(world.inputs)
            return HeldFor(item.name, dice.one_of(item.values), dice.loops(0, 2))
        case _:
            return valued(dice, dice.one_of(world.inputs))


def _way_back(world: World, model: Model) -> Condition:
    dice = world.dice
    region = dice.one_of(model.regions)
    if dice.one_in_hundred(50):
        return InState(region.name, region.begins)
    return _one_seen(world, model)
