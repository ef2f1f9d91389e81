"""Whether one condition holds whenever another does, worked out case by case.

It knows conditions and not how a prop gets to where they hold.
"""

from collections.abc import Iterable, Iterator
from itertools import product

from behaviour.explore.guards import atoms, count
from behaviour.model import (
    And,
    Atom,
    Becomes,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
    Part,
    Region,
    Transition,
)
from behaviour.semantics import compare


def implies(model: Model, region: Region, first: Transition, second: Transition) -> bool:
    """Tell whether the second holds whenever the first does: it is an 'otherwise'.

    The second stands in the same state or in one around it, whose time began no later. They are
    looked at after power-up, when what an input is it has become in this loop or in one before.
    """
    if _times(model, region, second)[1] > _times(model, region, first)[0]:
        return False
    given = _parts(first.when)
    return not any(
        _can_all_hold(model, (*given, Not(part)), later=True) for part in _parts(second.when)
    )


def exclude(model: Model, first: Condition | None, second: Condition | None) -> bool:
    """Tell whether two conditions never hold in the same loop."""
    return first is not None and not _can_all_hold(model, (*_parts(first), *_parts(second)))


def _parts(condition: Condition | None) -> tuple[Condition, ...]:
    """Give the conditions that must all hold for one to hold."""
    match condition:
        case None:
            return ()
        case And(parts=parts):
            return tuple(inner for part in parts for inner in _parts(part))
        case _:
            return (condition,)


def _can_all_hold(model: Model, several: Iterable[Condition], *, later: bool = False) -> bool:
    """Tell whether some conditions hold in any case at all, or in any after power-up.

    Those that share no name are looked at apart: what the one asks for the other leaves open.
    """
    apart: list[tuple[set[str], list[Condition]]] = []
    for condition in several:
        names, group = {_name(atom) for atom in atoms(condition)}, [condition]
        for other in [each for each in apart if each[0] & names]:
            apart.remove(other)
            names, group = names | other[0], [*other[1], *group]
        apart.append((names, group))
    return all(
        any(
            all(_judged(each, case) for each in group)
            for case in _cases(model, *group)
            if not later or _is_later(case)
        )
        for _, group in apart
    )


def _is_later(case: "Case") -> bool:
    """Tell whether each input that lasts does so for a loop at least, as after power-up."""
    return all(
        case[key] != 0 or bool(case["edge", key[1]])
        for key in case
        if isinstance(key, tuple) and key[0] == "age"
    )


def _name(atom: Atom) -> str:
    return f"in {atom.region}" if isinstance(atom, InState) else atom.name


def _times(model: Model, region: Region, way: Transition) -> tuple[int, int]:
    """Give the loops of its state from which the time of a transition may be, and surely is up."""
    if way.part is Part.END and way.source is not None:
        due = count(model, region.states[way.source].cues[-1].at)
        return due, due
    if way.after is None:
        return 0, 0
    return count(model, way.after.low), count(model, way.after.high)


Case = dict[object, object]


def _cases(model: Model, *conditions: Condition | None) -> Iterator[Case]:
    """List every case of the values, changes, counters and states that conditions name."""
    names: dict[object, list[object]] = {}
    held: dict[str, set[tuple[str, int]]] = {}
    for condition in conditions:
        for atom in atoms(condition):
            match atom:
                case Is(name=name) | Becomes(name=name):
                    names[name] = list(model.input[name].values)
                    names.setdefault(("edge", name), [False, True])
                case HeldFor(name=name, value=value, time=time):
                    names[name] = list(model.input[name].values)
                    names.setdefault(("edge", name), [False, True])
                    held.setdefault(name, set()).add((value, count(model, time)))
                case Done(name=name):
                    names[("done", name)] = [False, True]
                case InState(region=region):
                    names[("in", region)] = [
                        s.number for s in model.region[region].states if not s.children
                    ]
                case _:
                    counter = model.counter[atom.name]
                    names[atom.name] = list(range(counter.low, counter.high + 1))
    for held_name, times in held.items():
        marks = sorted({loops for _, loops in times})
        names["age", held_name] = [
            0,
            1,
            *(m for loops in marks if loops for m in (loops - 1, loops)),
        ]
    keys = list(names)
    for values in product(*names.values()):
        case: Case = dict(zip(keys, values, strict=True))
        case["model"] = model
        yield case


def _judged(condition: Condition | None, case: Case) -> bool:
    match condition:
        case None:
            return True
        case And(parts=parts):
            return all(_judged(part, case) for part in parts)
        case Or(parts=parts):
            return any(_judged(part, case) for part in parts)
        case Not(part=part):
            return not _judged(part, case)
        case Is(name=name, values=values, negated=negated):
            return (case[name] in values) != negated
        case Becomes(name=name, value=value):
            return case[name] == value and bool(case[("edge", name)])
        case HeldFor(name=name, value=value, time=time):
            model, age = case["model"], case[("age", name)]
            if case[("edge", name)]:
                age = 0
            return (
                isinstance(model, Model)
                and isinstance(age, int)
                and case[name] == value
                and age >= count(model, time)
            )
        case Done(name=name, negated=negated):
            return bool(case[("done", name)]) != negated
        case InState(region=region, state=state, negated=negated):
            model, leaf = case["model"], case[("in", region)]
            return (
                isinstance(model, Model)
                and isinstance(leaf, int)
                and model.region[region].contains(state, leaf) != negated
            )
        case _:
            number = case[condition.name]
            return isinstance(number, int) and compare(number, condition.sign, condition.number)


def can_hold(model: Model, when: Condition | None) -> bool:
    """Tell whether a condition holds in any case at all."""
    return _can_all_hold(model, _parts(when))


def holds_without(model: Model, when: Condition | None, edge: Becomes) -> bool:
    """Tell whether a condition can hold in a loop in which an input does not change so."""
    return any(
        _judged(when, case)
        for case in _cases(model, when)
        if not (case[("edge", edge.name)] and case[edge.name] == edge.value)
    )
