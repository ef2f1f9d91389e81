"""For how long a condition has lasted in a run, sensing counted in, as the page on rules has it.

It looks at one run whole, and knows no search.

Strategy: a condition is taken apart down to what asks one thing. For each part and each loop it is
kept since when the part has held, as if each input that made it true had changed so much earlier.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from behaviour.model import And, Becomes, Condition, HeldFor, Is, Model, Not, Or
from behaviour.semantics import Look, filter_loops


class Lasting(NamedTuple):
    """What a loop says of a condition.

    `since` is the loop in which it began to hold, sensing counted in, None where it does not hold;
    `really` the loop in which it did begin. `before` counts the loops for which it had held before
    this one, in the light of what changes in this loop.
    """

    since: int | None
    really: int | None
    before: int

    @property
    def holds(self) -> bool:
        return self.since is not None


def lasting(
    model: Model, condition: Condition, looks: Sequence[Look], *, negated: bool = False
) -> list[Lasting]:
    """Tell for each loop of a run since when a condition has held."""
    match condition:
        case Not(part=part):
            return lasting(model, part, looks, negated=not negated)
        case And(parts=parts) | Or(parts=parts):
            every = [lasting(model, part, looks, negated=negated) for part in parts]
            is_all = isinstance(condition, And) is not negated
            return _joined([list(at_once) for at_once in zip(*every, strict=True)], is_all=is_all)
        case _:
            return _single(model, condition, looks, negated=negated)


def holding(looks: Sequence[Look], condition: Condition) -> list[bool]:
    """Judge a condition in each loop of a run."""
    found: list[bool] = []
    last: Look | None = None
    is_so = False
    for look in looks:
        if look is not last:
            last, is_so = look, look.holds(condition)
        found.append(is_so)
    return found


def sensing(model: Model, name: str, value: str) -> int:
    """Count the loops from an input's real change to `value` until the prop can act on it."""
    return filter_loops(model, model.input[name], value) + 1


def shift_of_event(model: Model, condition: Condition, look: Look, *, negated: bool = False) -> int:
    """Give the sensing of each `x becomes v` that makes a condition true in this loop."""
    match condition:
        case Not(part=part):
            return shift_of_event(model, part, look, negated=not negated)
        case And(parts=parts) | Or(parts=parts):
            return max(
                shift_of_event(model, part, look, negated=negated)
                for part in parts
                if look.holds(part) is not negated
            )
        case Becomes(name=name, value=value) if not negated and name in model.input:
            return sensing(model, name, value)
        case _:
            return 0


def _single(
    model: Model, condition: Condition, looks: Sequence[Look], *, negated: bool
) -> list[Lasting]:
    def shift(loop: int) -> int:
        match condition:
            case Is(name=name) | HeldFor(name=name) if name in model.input:
                value = looks[loop].inputs[model.input_index[name]].steady
                return sensing(model, name, value)
            case _:
                return 0

    holds = [is_so is not negated for is_so in holding(looks, condition)]
    return _followed(
        holds,
        lambda loop: loop - shift(loop),
        lambda loop: shift(loop) if holds[loop] else 0,
    )


def _joined(loops: Sequence[Sequence[Lasting]], *, is_all: bool) -> list[Lasting]:
    def began(loop: int) -> int:
        begun = [part.since for part in loops[loop] if part.since is not None]
        return max(begun) if is_all else min(begun)

    def before(loop: int) -> int:
        counted = [part.before for part in loops[loop]]
        return min(counted) if is_all else max(counted)

    holding = all if is_all else any
    return _followed([holding(part.holds for part in parts) for parts in loops], began, before)


def _followed(
    holds: Sequence[bool], began: Callable[[int], int], before: Callable[[int], int]
) -> list[Lasting]:
    """Follow one part through a run. `began` and `before` are asked where it did not hold before.

    What is as if earlier never joins an earlier stretch, and nothing comes before loop 0.
    """
    found: list[Lasting] = []
    since = really = None
    last = -1
    for loop, is_held in enumerate(holds):
        counted = loop - since if since is not None else min(before(loop), loop - 1 - last)
        if not is_held:
            since = really = None
        elif since is None:
            since, really = max(began(loop), last + 1), loop
        if is_held:
            last = loop
        found.append(Lasting(since, really, max(counted, 0)))
    return found
