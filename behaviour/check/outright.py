"""Rules that the transitions of one region keep by themselves, as the file shows.

It searches nothing. Strategy: a rule asks how a region drives or where it is, beside what inputs
are and where mechanisms stand. In that loop the controller is told what the inputs are, and once it
has lasted for the time allowed also what those mechanisms force. So it is looked where the region
may go in that loop, from wherever it may be.

With one thing wrong it goes as well by what is told all the same (`hearing.py`), and how mechanisms
move, or how they drive whom nobody asks for, makes no difference. Where the controller may be off,
what must never be must not be with all outputs at rest, and not where it starts again.
"""

from collections.abc import Collection, Iterator
from itertools import product
from math import prod

from behaviour.check.felt import named
from behaviour.check.hands import Hands
from behaviour.check.hearing import hears, is_of_line
from behaviour.check.left_side import Left, left_side
from behaviour.check.placing import Told, placings
from behaviour.check.watches import slowest_sensing
from behaviour.explore.guards import alternatives, atoms, count
from behaviour.faults import Backwards, ControllerFault, Fault, Hangs, Late, Welded
from behaviour.model import (
    Always,
    And,
    Condition,
    InState,
    Model,
    Never,
    Not,
    Rule,
    Time,
    Whenever,
)
from behaviour.semantics import filter_loops

MOST_READ = 32
"""In no more ways it is told apart what inputs are."""


def is_kept_outright(model: Model, rule: Rule, fault: Fault | None = None) -> bool:
    """Tell whether a region keeps a rule by itself with a fault, or none; if not, it says nothing.

    The file must leave nothing open.
    """
    if rule.scope is not None or _is_felt(rule, fault):
        return False
    if fault is not None and not _is_usual(model, rule):
        return False
    match rule.requirement:
        case Never(condition=condition, limit=limit):
            return _is_never(model, condition, limit, fault)
        case Always(condition=condition):
            return _is_never(model, Not(condition), None, fault)
        case Whenever(trigger=trigger, response=response, limit=limit) as whenever:
            if limit is not None and slowest_sensing(model, whenever) > count(model, limit):
                return False
            return not isinstance(fault, ControllerFault) and all(
                _is_answered(model, way, response, fault) for way in alternatives(trigger)
            )
        case _:
            return False


def _is_usual(model: Model, rule: Rule) -> bool:
    """Tell whether it is so with nothing wrong: else it is not with a fault, which tells less."""
    key = ("kept outright", id(rule))
    known: tuple[Rule, bool] | None = model.worked_out.get(key)
    if known is None:
        known = model.worked_out[key] = (rule, is_kept_outright(model, rule))
    return known[1]


def _is_felt(rule: Rule, fault: Fault | None) -> bool:
    """Tell whether loops may pass by unseen, or an output is asked for that is not as it is set."""
    match fault:
        case Late() | Hangs():
            return True
        case Welded(output=name) | Backwards(output=name):
            return name in named(rule.conditions())
        case _:
            return False


def _is_never(model: Model, forbidden: Condition, limit: Time | None, fault: Fault | None) -> bool:
    """Tell whether what is forbidden never lasts for longer than a time, or is never at all.

    Once it has lasted for a loop, the region was where it is forbidden in the one before.
    """
    left = left_side(model, forbidden)
    loops = 0 if limit is None else count(model, limit)
    if left is None or left.edges or left.rest is None:
        return False
    if limit is not None and left.slowest() > loops:
        return False
    stops = isinstance(fault, ControllerFault)
    if stops and Hands({o.name: o.rest for o in model.outputs}).judge(left.rest) is not False:
        return False
    told = list(_told(model, left, (), _forced(model, left.rest, loops, fault), fault))
    wanted = Not(left.rest)
    return bool(told) and any(
        place.leads(told, left.rest if loops else None, wanted)
        and ((loops > 0 and not stops) or place.begins(told, None, wanted))
        for place in placings(model, left.rest)
    )


def _is_answered(
    model: Model, trigger: Condition, response: Condition, fault: Fault | None
) -> bool:
    """Tell whether each loop in which a trigger comes true is an answer itself."""
    left = left_side(model, trigger)
    if left is None:
        return False
    names = {atom.name for atom in atoms(response) if not isinstance(atom, InState)}
    told = list(_told(model, left, names & model.input.keys(), {}, fault))
    return bool(told) and any(
        place.leads(told, left.rest, response)
        and (bool(left.edges) or place.begins(told, left.rest, response))
        for place in placings(model, response)
    )


# --- What is told -------------------------------------------------------------------------------


def _forced(model: Model, rest: Condition, loops: int, fault: Fault | None) -> dict[str, str]:
    """Give what inputs are told to be once mechanisms have stood for so many loops as is asked.

    With a line at fault, or where filters may begin anew, nothing is made of it.
    """
    if isinstance(fault, ControllerFault):
        return {}
    parts = rest.parts if isinstance(rest, And) else (rest,)
    return {
        name: value
        for part in parts
        if isinstance(part, InState) and not part.negated and part.region in model.mechanism_index
        for name, value in model.mechanisms[part.region].states[part.state].reads
        if filter_loops(model, model.input[name], value) <= loops and not is_of_line(fault, name)
    }


def _told(
    model: Model,
    left: Left,
    others: Collection[str],
    forced: dict[str, str],
    fault: Fault | None,
) -> Iterator[Told]:
    """List what may be told in a loop in which a left side holds; none if that is too much.

    What `others` are is told apart as well. A guard or stop may be presumed not safe all the same.
    What need not be told as it is, is not known to be told at all.
    """
    kinds = [*((edge,) for edge in left.edges), *(part.literals for part in left.sensed)]
    values = {name: model.input[name].values for name in others}
    fits = [{model.inputs[e.input].name: [v for v, _ in e.sensing] for e in kind} for kind in kinds]
    for kind in fits:
        values |= {name: model.input[name].values for name in kind}
    values |= {name: tuple(some) for kind in fits if len(kind) == 1 for name, some in kind.items()}
    if prod(map(len, values.values())) > MOST_READ:
        return
    came = frozenset(
        name for edge in left.edges if not is_of_line(fault, name := model.inputs[edge.input].name)
    )
    protective = [name for name in values if model.input[name].presumed is not None]
    for row in product(*values.values()):
        truly = dict(zip(values, row, strict=True))
        if all(any(truly[name] in some for name, some in kind.items()) for kind in fits):
            for is_presumed in product((False, True), repeat=len(protective)):
                presumed = frozenset(n for n, so in zip(protective, is_presumed, strict=True) if so)
                told = {name: model.input[name].presumed or "" for name in presumed}
                heard = {n: v for n, v in truly.items() if hears(model, fault, n, v)}
                read = {**forced, **heard, **told}
                yield Told(Hands(read, became=came - presumed), truly, presumed)
