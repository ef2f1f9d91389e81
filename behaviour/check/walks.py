"""Short walks of the prop and of its parts, each made once and only for what is left to be met.

A part that a region or mechanism depends on is exact for it. So what such a part can meet is
looked for in its own walk, and the walk of a larger part tells those runs and looks for the rest.
"""

from collections.abc import Iterator
from functools import partial

from behaviour.check.asking import Asking
from behaviour.check.counting import kept_within
from behaviour.check.glancing import glance_of
from behaviour.check.in_time import is_never_met
from behaviour.check.seeking import sought
from behaviour.explore.cone import cone
from behaviour.explore.forgetting import counted_by
from behaviour.explore.walk import walk
from behaviour.explore.walking.marks import Mark, marks_of
from behaviour.explore.walking.trying import Walked
from behaviour.explore.whole import whole
from behaviour.findings import Run
from behaviour.model import Model

STEPS = 1500
IDLE = 30
"""How far a short walk goes in all, and for each mark in vain: steps, not time, so that a slow
machine is told the same."""


GLANCED_AT = ("state", "cue", "taken", "beyond", "order")
"""The marks of which a glance tells something, whether a movement may stall or not."""


def walked(asking: Asking, part: Model, *, may_stall: bool) -> Walked:
    """Give the runs of a part of the prop that short walks find, by what each ends in.

    With a stall they are those without one, and what only a stall brings.
    """
    key = (_names(part), may_stall)
    if key not in asking.walks:
        asking.walks[key] = _walked(asking, part, may_stall=may_stall)
    return asking.walks[key]


def _walked(asking: Asking, part: Model, *, may_stall: bool) -> Walked:
    within = tuple(_within(asking.model, part))
    known = [(each, walked(asking, each, may_stall=may_stall)) for each in within]
    settled = {mark for each in within for mark in marks_of(each)}
    seen = {region.name for each in within for region in each.regions}
    own = [region.name for region in part.regions if region.name not in seen]
    healthy = None
    if may_stall:
        healthy = walked(asking, part, may_stall=False)
        known.append((part, healthy))
        settled |= {mark for mark in marks_of(part) if mark in healthy}
    wanted = {
        mark
        for mark in marks_of(part)
        if mark not in settled
        and not _is_told_never(asking.model, part, mark, may_stall=may_stall)
        and not (may_stall and _is_never(asking, part, mark))
    }
    races = () if may_stall else sought(asking.model, part, own)

    def is_never(mark: Mark) -> bool:
        if may_stall:
            return False
        return is_never_met(asking.model, mark) or (
            mark[0] in GLANCED_AT and _is_never(asking, part, mark)
        )

    found = walk(
        part,
        seed=1,
        steps=STEPS,
        seconds=asking.budget.seconds,
        may_stall=may_stall,
        wanted=wanted,
        sought=[
            each
            for each in races
            if not _is_told_never(asking.model, part, each.mark, may_stall=False)
        ],
        idle=IDLE,
        after=healthy,
        is_never=is_never,
    )
    for each, runs in known:
        found.put_all(runs, partial(_told, part, each))
    return found


def _within(model: Model, part: Model) -> Iterator[Model]:
    """Give the smaller parts that regions and mechanisms of a part depend on, each once."""
    seen = {_names(part)}
    cones = [cone(model, regions=(each.name,)) for each in part.regions]
    cones += [cone(model, mechanisms=(each.name,)) for each in part.mechanism]
    for each in cones:
        if _names(each.model) not in seen:
            seen.add(_names(each.model))
            yield each.model


def _names(part: Model) -> tuple[str, ...]:
    return (*part.region_index, *part.mechanism_index)


def _told(part: Model, smaller: Model, run: Run) -> Run:
    return whole(part, run, tuple(item.name for item in smaller.mechanism))


def _is_told_never(model: Model, part: Model, mark: Mark, *, may_stall: bool) -> bool:
    """Tell whether the file itself shows a race, or a count past its bounds, never to come.

    It is not gone for at all. Where no region that counts ever overdoes it, no count comes so far.
    What else is never is gone for once, for what is met on the way.
    """
    kind, name = mark[:2]
    if kind == "beyond":
        counting = [each for each in part.regions if name in counted_by(each)]
        return all(name in kept_within(model, each) for each in counting)
    return not may_stall and kind == "order" and is_never_met(model, mark)


def _is_never(asking: Asking, part: Model, mark: Mark) -> bool:
    """Tell whether the first glance shows a mark never to come true, whatever stalls.

    Of where mechanisms stand a glance tells nothing; nobody asks for that where one may stall.
    """
    kind, name = mark[:2]
    match kind:
        case "stands" | "ended":
            return True
        case "beyond":
            counting = (each for each in part.regions if name in counted_by(each))
            return all(glance_of(asking, each).is_never(mark, at_once=True) for each in counting)
        case _:
            return glance_of(asking, part.region[name]).is_never(mark, at_once=True)
