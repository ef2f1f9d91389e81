"""What regions and mechanisms meet, with a run to each mark; what has none is never met.

A short walk tells most of it. What it leaves open of a region is looked for in one search, which
judges nothing else; so is what it leaves open of a mechanism that the same part of the prop is
about.
"""

from collections.abc import Collection, Container, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial

from behaviour.check.asking import Asking
from behaviour.check.glancing import Glance, glance_of
from behaviour.check.in_time import is_never_met
from behaviour.check.marking import Marks, MechanismMarks, Name, all_marks
from behaviour.check.walks import walked
from behaviour.explore.detail import times_of
from behaviour.explore.meeting import Covered, Wanted, cover, cover_by
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question
from behaviour.explore.walking.later import Runs
from behaviour.explore.walking.marks import marks_of
from behaviour.explore.walking.trying import Walked
from behaviour.findings import Run
from behaviour.model import Mechanism, Region


def covered_healthy(asking: Asking, region: Region) -> Covered:
    """Find a run to all that is worth knowing of a region in the healthy world."""
    lookout = asking.lookout(Question(), regions=(region.name,))
    walks, runs = walked(asking, lookout.model, may_stall=False), Runs()
    tell = partial(asking.whole, lookout.model)
    runs.put_all(walks, tell)
    left = {
        mark: None
        for mark in all_marks(asking.model, region)
        if mark not in walks and not is_never_met(asking.model, mark)
    }
    if not left:
        return Covered(runs)
    drawn = _drawn(asking, Question(), region, left)
    beside = [] if drawn else list(_alike(asking, lookout))
    covered = _covered(asking, Marks(asking.model, region, left), lookout, drawn, walks, beside)
    for mechanism in beside:
        asking.known[_as_known(mechanism)] = covered
    stands = {mark for each in beside for mark in _left((), lookout, each)}
    runs.put_all({name: run for name, run in covered.runs.items() if name not in stands}, tell)
    return Covered(runs, {name: why for name, why in covered.open.items() if name not in stands})


def covered_stalled(asking: Asking, region: Region, healthy: Mapping[object, Run]) -> Covered:
    """Find a run to all that a region may meet itself with a stall; begin with those without."""
    glance, runs = glance_of(asking, region), Runs()
    runs.put_all(healthy, lambda run: run)
    if not any(_unmet(glance, runs, at_once=True)):
        return Covered(runs)
    question = Question(may_stall=True)
    lookout = asking.lookout(question, regions=(region.name,))
    tell = partial(asking.whole, lookout.model)
    walks = walked(asking, lookout.model, may_stall=True)
    runs.put_all(walks, tell)
    runs.put_all(_tried(_unmet(glance, runs), walks), tell)
    left = dict.fromkeys(_unmet(glance, runs))
    if not left:
        return Covered(runs)
    drawn = _drawn(asking, question, region, left)
    covered = _covered(asking, Marks(asking.model, region, left), lookout, drawn, walks, ())
    runs.put_all(covered.runs, tell)
    return Covered(runs, covered.open)


def _covered(
    asking: Asking,
    marks: Marks,
    lookout: Lookout,
    drawn: Iterable[Lookout],
    walks: Walked,
    beside: Iterable[Mechanism],
) -> Covered:
    """Look for the marks that are wanted of a region, and for all of the mechanisms `beside`."""
    glance = glance_of(asking, marks.region)
    standing = frozenset(mark for each in beside for mark in _left(walks, lookout, each))

    def watched(part: Lookout) -> Lookout:
        observers = (marks, MechanismMarks(part.model, standing)) if standing else (marks,)
        looked_at = marks.looked_at(part.model)
        question = replace(part.question, observers=observers, looked_at=looked_at)
        return replace(part, question=question)

    def is_wanted(name: object) -> bool:
        if name in standing:
            return True
        if not isinstance(name, tuple) or not _is_in(name, marks.wanted):
            return False
        return name[0] != "beyond" or not glance.is_never(name)

    def may_be_long(name: object) -> bool:
        is_plain = isinstance(name, tuple) and name[0] in ("state", "cue", "taken")
        is_told = name not in standing and (lookout.question.may_stall or not is_plain)
        return bool(rough) or not is_told

    rough = [watched(each) for each in drawn]
    detail = times_of((rough[0] if rough else lookout).model, marks.region.name)
    wanted = Wanted(is_wanted, may_be_long, walks.attempt, detail)
    if rough:
        return cover_by(rough, watched(lookout), wanted)
    return cover(watched(lookout), wanted)


def _is_in(name: Name, marks: Collection[Name]) -> bool:
    """Tell whether a mark is among some, which do not say to which change a state is deaf."""
    return name in marks or (name[0] == "deaf" and name[:3] in marks)


def _drawn(
    asking: Asking, question: Question, region: Region, marks: Iterable[Name]
) -> list[Lookout]:
    """Draw the prop roughly, without counters too unless it is asked how far they come."""
    uncounting = all(mark[0] != "beyond" for mark in marks)
    names = (region.name,)
    return list(asking.sketches(question, regions=names, moving=True, uncounting=uncounting))


def _unmet(glance: Glance, runs: Container[object], *, at_once: bool = False) -> Iterator[Name]:
    """List what a region may meet itself, as far as a glance tells, and has not met."""
    for mark in glance.marks.wanted:
        if mark not in runs and not glance.is_never(mark, at_once=at_once):
            yield mark


def _tried(marks: Iterable[Name], walks: Walked) -> dict[object, Run]:
    """Try for what a walk has not met."""
    runs = ((mark, walks.attempt(mark)) for mark in marks)
    return {mark: run for mark, run in runs if run is not None}


# --- Mechanisms ---------------------------------------------------------------------------------


def met(asking: Asking, mechanism: Mechanism) -> Collection[object]:
    """Give what a mechanism meets, or may meet as far as a limit let it be seen.

    With a stall it does all that it does without one, and there is far more to look through: so
    that is asked for what is then left.
    """
    lookout = asking.lookout(Question(), mechanisms=(mechanism.name,))
    walks = walked(asking, lookout.model, may_stall=False)
    found: set[object] = {*walks}
    open_ones: set[object] = set()
    for may_stall in (False, True):
        left = frozenset(_left(found, lookout, mechanism))
        if not left:
            break
        covered = asking.known.get(_as_known(mechanism))
        if may_stall or not isinstance(covered, Covered):
            watching = (MechanismMarks(lookout.model, left),)
            question = Question(observers=watching, looked_at=frozenset(), may_stall=may_stall)
            wanted = Wanted(left.__contains__, lambda _: True, walks.attempt)
            covered = cover(replace(lookout, question=question), wanted)
        found |= covered.runs.keys()
        open_ones = {*covered.open}
    return found | open_ones


def _alike(asking: Asking, lookout: Lookout) -> Iterator[Mechanism]:
    """List the mechanisms that depend on the same part of the prop."""
    for mechanism in asking.model.written_mechanism:
        if asking.lookout(Question(), mechanisms=(mechanism.name,)).model is lookout.model:
            yield mechanism


def _left(met: Container[object], lookout: Lookout, mechanism: Mechanism) -> Iterator[Name]:
    for mark in marks_of(lookout.model):
        if mark[0] in ("stands", "ended") and mark[1] == mechanism.name and mark not in met:
            yield mark


def _as_known(mechanism: Mechanism) -> str:
    return f"healthy {mechanism.name}"
