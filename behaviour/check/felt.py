"""Which of the things that are wrong a part of a prop, or a sketch of it, can feel at all.

It knows conditions and faults, and no search. What a part cannot feel is left out of its questions,
so that one answer does for the healthy prop and for every fault that the part does not feel.
"""

from collections.abc import Collection, Iterable, Sequence

from behaviour.explore.guards import atoms
from behaviour.faults import (
    Backwards,
    Chatters,
    Fault,
    Hangs,
    Late,
    Restart,
    Slow,
    Stalls,
    Stuck,
    Swapped,
    Unplugged,
    Welded,
    directions,
    touched,
)
from behaviour.model import Becomes, Condition, HeldFor, InState, Is, Model, Output


def felt(
    part: Model,
    faults: Sequence[Fault],
    asked: Iterable[Condition | None],
    outputs: Iterable[str] = (),
    *,
    stays_possible: bool = False,
    free: Collection[str] = (),
) -> tuple[Fault, ...]:
    """Give the faults that a part feels of which `asked` is judged, and which `outputs` are seen.

    What people alone move they can move as if its line were at fault. So where nothing speaks of
    what is truly there, no run of the part is new, and what every run keeps is kept. A mechanism
    that is not there neither stalls nor is slow, and an output that nobody looks at is as good as
    any. Where something `stays_possible`, a line that stays at a value takes away what people may
    do, but for what they do not move on purpose anyway (`free`).
    """
    asked = tuple(asked)
    during = [m.during for mechanism in part.mechanism for m in mechanism.movements()]
    ways = [way.when for region in part.regions for way in region.transitions()]
    true, told = {*named((*asked, *during)), *outputs}, named(ways)
    moved = {*part.moved, *part.mechanism_index}
    if stays_possible:
        told -= set(free)
    return tuple(
        each
        for each in faults
        if (_concerns(each, true, told, moved) or (stays_possible and _holds_back(each, told)))
        and not (isinstance(each, Backwards) and _is_turned_unseen(part, each, (*asked, *during)))
    )


def at_will(
    part: Model, faults: Sequence[Fault], asked: Iterable[Condition | None]
) -> frozenset[int]:
    """Give the inputs of a part, by number, that may as well read anything where it stays possible.

    Whatever a faulty line reads, it is one of the ways in which an input may go on that nobody
    holds. What the others bring about in spite of all of them, they do under each such fault. Not
    so where something speaks of what is truly there.
    """
    during = [m.during for mechanism in part.mechanism for m in mechanism.movements()]
    true = named((*asked, *during))
    names = {
        name
        for each in faults
        if isinstance(each, Stuck | Unplugged | Chatters | Swapped)
        for name in touched(each)
    }
    return frozenset(
        part.input_index[name] for name in names - true if not names & true and name in part.input
    )


def stays_read(
    model: Model, faults: Sequence[Fault], asked: Iterable[Condition | None]
) -> dict[str, str] | None:
    """Give what a line reads for good where a prop may go on as with nothing wrong; else None.

    Nothing where what is wrong may be over at any time, or is how long a movement takes. A line
    that stays at a value is read as if people held it so, where nothing speaks of what is truly
    there.
    """
    if len(faults) != 1:
        return None
    (fault,) = faults
    match fault:
        case Late() | Restart() | Chatters() | Stalls() | Slow():
            return {}
        case Hangs() if model.watchdog is not None:
            return {}
        case Stuck(input=name, value=value) | Unplugged(input=name, value=value):
            during = (m.during for each in model.mechanism for m in each.movements())
            is_peoples = name not in model.moved and name not in named((*asked, *during))
            return {name: value} if is_peoples else None
        case _:
            return None


def alike(model: Model, fault: Fault) -> Fault:
    """Give the first fault that does just the same.

    A cut wire stays at a value. An output stays as well at one value as at another where nobody
    tells the two apart: no condition of a rule or of the hardware, and not whether it is at rest.
    """
    match fault:
        case Unplugged(input=name, value=value):
            return Stuck(name, value)
        case Welded(output=name, value=value):
            output = model.output[name]
            movements = (m for mechanism in model.mechanism for m in mechanism.movements())
            asked = [c for rule in model.rules for c in rule.conditions()]
            asked += [movement.during for movement in movements if movement.during is not None]
            kinds = (_kind(output, each, asked) for each in output.values)
            mine = _kind(output, value, asked)
            return Welded(
                name, next(v for v, k in zip(output.values, kinds, strict=True) if k == mine)
            )
        case _:
            return fault


def wider_than(fault: Fault) -> Fault | None:
    """Give a fault under which a prop has every run that it has under this one, if there is any.

    What interference of any length makes of a line is all that the line can read at all: as well
    what stands on it as any other value, in each loop. So a line that stays at a value from some
    loop on, or is disturbed for less, reads nothing that could not be read so, and whatever every
    run keeps then is kept.
    """
    match fault:
        case Stuck(input=name) | Unplugged(input=name) | Chatters(input=name, longer=False):
            return Chatters(name, longer=True)
        case _:
            return None


def _kind(output: Output, value: str, asked: Iterable[Condition | None]) -> object:
    """Give all that some conditions say of a value of an output."""
    found = [
        (value in atom.values) if isinstance(atom, Is) else value == atom.value
        for condition in asked
        for atom in atoms(condition)
        if isinstance(atom, Is | Becomes | HeldFor) and atom.name == output.name
    ]
    return (value == output.rest, *found)


def _is_turned_unseen(part: Model, fault: Backwards, asked: Sequence[Condition | None]) -> bool:
    """Tell whether no condition, of rules or of the hardware, tells a motor's directions apart."""
    output = part.output[fault.output]
    both = directions(output)
    return both is not None and _kind(output, both[0], asked) == _kind(output, both[1], asked)


def _holds_back(fault: Fault, told: set[str]) -> bool:
    return isinstance(fault, Stuck | Unplugged) and fault.input in told


def _concerns(fault: Fault, true: set[str], told: set[str], moved: set[str]) -> bool:
    """Tell whether a fault can matter where these names are asked for, told, and moved."""
    names = set(touched(fault))
    match fault:
        case Stuck() | Unplugged() | Chatters() | Swapped():
            return bool(names & true) or (bool(names & told) and bool(names & moved))
        case Stalls() | Slow():
            return bool(names & moved)
        case Backwards() | Welded():
            return bool(names & true)
        case _:
            return True


def named(asked: Iterable[Condition | None]) -> set[str]:
    """Name what some conditions ask for."""
    return {
        atom.region if isinstance(atom, InState) else atom.name
        for condition in asked
        for atom in atoms(condition)
    }
