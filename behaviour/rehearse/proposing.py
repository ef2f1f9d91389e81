"""Walkthroughs proposed for what no walkthrough has shown yet.

Strategy: the ways that `wandering` finds to what is missing are performed once more as
walkthroughs, those that show most first, and each is kept only for what it shows then. What is
not found so may still be possible: what anybody can do is for `check` to say.
"""

from collections.abc import Container
from dataclasses import dataclass, replace

from behaviour.model import Model, Pause, WalkStep, Walkthrough
from behaviour.rehearse.coverage import Coverage, Mark, shown_by
from behaviour.rehearse.walking import perform
from behaviour.rehearse.wandering import Place, wander
from behaviour.semantics import NotKnownError

MOST_LOOPS = 100_000
"""Loops that are played to find proposals: some ten seconds."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A walkthrough that runs through, and what it shows that nothing before it does."""

    walkthrough: Walkthrough
    shows: tuple[Mark, ...]


def proposals(
    model: Model, known: Coverage, beyond: Container[Mark] = (), loops: int = MOST_LOOPS
) -> tuple[tuple[Proposal, ...], Coverage]:
    """Propose walkthroughs for what is missing, and give what is shown with them as well.

    Nothing is looked for that is `beyond` every walkthrough.
    """
    found: list[Proposal] = []
    wanted = frozenset(mark for mark in known.missing() if mark not in beyond)
    try:
        ways = wander(model, wanted, loops)
    except NotKnownError:
        return (), known
    while ways:
        best = max(ways, key=lambda way: (len(_new(way, known)), -way.moment.loop))
        ways = [way for way in ways if way is not best]
        if not _new(best, known):
            break
        told = Walkthrough(name=f"proposed {len(found) + 1}", steps=_joined(best.story()))
        told, shows = _shortened(model, told, frozenset(known.missing()))
        if shows:
            in_order = tuple(mark for mark in known.marks if mark in shows)
            found.append(Proposal(told, in_order))
            known = replace(known, shown=known.shown | shows)
    return tuple(found), known


def _joined(steps: tuple[WalkStep, ...]) -> tuple[WalkStep, ...]:
    """Make one pause of those that follow one another."""
    found: list[WalkStep] = []
    for step in steps:
        last = found[-1] if found else None
        if isinstance(step, Pause) and isinstance(last, Pause):
            found[-1] = Pause(time=last.time + step.time)
        else:
            found.append(step)
    return tuple(found)


def _shortened(
    model: Model, told: Walkthrough, missing: frozenset[Mark]
) -> tuple[Walkthrough, frozenset[Mark]]:
    """Leave out a pause at the end that shows nothing, and give what of the missing is shown."""
    shows = _shown(model, told, missing)
    if isinstance(told.steps[-1], Pause):
        shorter = replace(told, steps=told.steps[:-1])
        if _shown(model, shorter, missing) == shows:
            return shorter, shows
    return told, shows


def _shown(model: Model, told: Walkthrough, missing: frozenset[Mark]) -> frozenset[Mark]:
    """Give what of the missing a walkthrough shows; nothing if it does not run through."""
    performance = perform(model, told)
    if performance.failure is not None:
        return frozenset()
    return missing & frozenset(shown_by(model, performance.moments))


def _new(way: Place, known: Coverage) -> frozenset[Mark]:
    return way.shows - known.shown
