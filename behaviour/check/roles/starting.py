"""Whether a hazard may start by itself: after a turned input, a cleared interlock, a held start.

What is told never to be is never, for all that is written; what may be need not be possible.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import product
from math import prod

from behaviour.check.hands import Hands, Names, Since, Stop, longest_filter
from behaviour.check.roles.quiet import MOST_READ, At, Quiet, TooManyError, at_rest
from behaviour.explore.guards import atoms
from behaviour.explore.places import Place, Way
from behaviour.model import (
    Compare,
    Input,
    InState,
    Is,
    Or,
    Transition,
)


def may_turn_on(
    here: Quiet, item: Input, values: tuple[str, str], released: Mapping[str, str], quiet: Names
) -> bool:
    """Tell whether turning an input from one value to another may start a hazard, all else still.

    `released` are inputs known to be let go; `quiet` those that do not change by themselves. Where
    nothing starts from any place that looks at the input, whoever came there, no more is asked.
    """
    before, after = values
    steadily = item.name in quiet
    at_first = Hands({item.name: before} if steadily else {})
    still = Hands({**released, **at_first.read}, quiet)
    turned = Hands({**released, **({item.name: after} if steadily else {})}, quiet - {item.name})
    try:
        if item.safe is None and not _may_go_on(here, item, turned):
            return False
        waiting = at_rest(here.onward(here.resting(at_first), still))
        then = at_rest(here.onward(waiting, turned))
        apart = [at for at in then if here.asks(at.places, item.name)]
        return any(at.is_away for at in here.onward(apart, turned))
    except TooManyError:
        return True


def _may_go_on(here: Quiet, item: Input, hands: Hands) -> bool:
    """Tell whether a hazard may start from any place at all that looks at an input."""
    looking = [at for at in at_rest(here.everywhere()) if here.asks(at.places, item.name)]
    return any(at.is_away for at in here.onward(looking, hands))


def may_start_after(here: Quiet, interlock: Transition, hands: Hands) -> bool:
    """Tell whether a hazard may start once an interlock has stopped it."""
    try:
        every = here.everywhere()
        stops = [
            (before, read)
            for read in _while_true(here, interlock, hands.quiet)
            for before in every
            if before.is_away and here.judge(interlock.when, before.places, read) is not False
        ]
        held_back = frozenset(n for n in hands.quiet if longest_filter(here.model, n) > 0)
        begins = {
            at._replace(told=_of(read.read, hands.quiet), untold=held_back)
            for before, read in stops
            for at in at_rest(here.loops(before, read))
            if _leads(here, before, at, interlock)
        }
        then = replace(hands, since=_since(here, interlock, [read.read for _, read in stops]))
        return any(at.is_away for at in here.onward(begins, then))
    except TooManyError:
        return True


def _of(read: Mapping[str, str], names: Names) -> tuple[tuple[str, str], ...]:
    return tuple((name, value) for name, value in sorted(read.items()) if name in names)


def _since(here: Quiet, interlock: Transition, told: Iterable[Mapping[str, str]]) -> Since | None:
    if not isinstance(interlock.target, int):
        return None
    changed = _changed(interlock)
    if changed and not _is_at_once(here, interlock):
        changed = {}
    stops = tuple(
        Stop(read, frozenset(n for n, value in read.items() if value in changed.get(n, ())))
        for read in told
    )
    depth = len(here.model.regions[here.number].path(interlock.target)) - 1
    return Since(here.model, stops, here.number, depth)


def _changed(interlock: Transition) -> dict[str, Names]:
    """Map inputs to values that they have just come to when an interlock has just come true."""
    when = interlock.when
    parts = when.parts if isinstance(when, Or) else (when,)
    if not all(isinstance(part, Is) and not part.negated for part in parts):
        return {}
    found: dict[str, Names] = {}
    for part in parts:
        if isinstance(part, Is):
            found[part.name] = found.get(part.name, frozenset()) | frozenset(part.values)
    return found


def _is_at_once(here: Quiet, interlock: Transition) -> bool:
    """Tell whether no loop in which an interlock holds ends with the hazard away and it to take.

    So it has just come to hold in any loop in which it stops the hazard.
    """
    for read in _while_true(here, interlock, frozenset()):
        if read.judge(interlock.when) is False:
            continue
        after = {to for at in here.everywhere() for to in here.loops(at, read)}
        if any(at.is_away and _may_take(here, at, interlock) for at in after | here.begins(read)):
            return False
    return True


def _may_take(here: Quiet, at: At, interlock: Transition) -> bool:
    return any(
        _takes(way, interlock)
        for course in here.spot(here.number, at.places[here.number]).courses
        for way in course.ways
    )


def _takes(way: Way, interlock: Transition) -> bool:
    return way.transition is not None and way.transition.number == interlock.number


def _leads(here: Quiet, before: At, after: At, interlock: Transition) -> bool:
    return before.is_away and any(
        _takes(way, interlock) and way.to == after.places[here.number]
        for course in here.spot(here.number, before.places[here.number]).courses
        for way in course.ways
    )


def _while_true(here: Quiet, interlock: Transition, others: Names) -> list[Hands]:
    """List what the inputs that an interlock names may read as it is taken.

    `others` are read too, if they are few.
    """
    names = {atom.name for atom in atoms(interlock.when) if not isinstance(atom, InState | Compare)}
    named = [item for item in here.model.inputs if item.name in names]
    items = [item for item in here.model.inputs if item.name in names | others]
    if prod(len(item.values) for item in items) > MOST_READ:
        items = named
    read = product(*(item.values for item in items))
    return [Hands({i.name: v for i, v in zip(items, values, strict=True)}) for values in read]


def may_count_held(here: Quiet, start: Input) -> bool:
    """Tell whether a hazard may start because a start was held, or let go and not pressed again.

    It counts where something asks for it otherwise than whether it becomes something: while it is
    held it becomes nothing, and one that has long been released does not either.
    """
    is_plain = len(start.values) == 2  # noqa: PLR2004
    hands = Hands({}, let_go={start.name: start.values[0]} if is_plain else {})
    try:
        begin = tuple(Place(region.leaf(region.begins)) for region in here.model.regions)
        every = {*here.everywhere(), here.at(begin, was_away=False)}
        apart = [at for at in every if here.asks(at.places, start.name, held=start)]
        then = at_rest(here.onward(apart, hands, past_starts=True))
        starts = (to.is_away for at in then for to in here.loops(at, hands))
        return any(starts) or any(at.is_away for at in here.begins(hands))
    except TooManyError:
        return True
