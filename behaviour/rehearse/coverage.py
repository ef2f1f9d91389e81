"""What walkthroughs have shown of a prop: its states, its transitions, and its rules at work.

It plays nothing: it looks at what was played. That something was shown says that it can happen,
and nothing of whether it is right.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from behaviour.check.awaiting import Awaited, awaited_by
from behaviour.check.emptiness import is_in
from behaviour.check.judging import Sights
from behaviour.model import Model, Rule, WayBack
from behaviour.rehearse.stage import Moment
from behaviour.story import LoopView


class Sort(Enum):
    STATE = "states"
    TRANSITION = "transitions"
    RULE = "rules"


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing that can be shown: a state or transition of a region by its number, or a rule."""

    sort: Sort
    name: str
    number: int = 0


@dataclass(frozen=True, slots=True)
class Coverage:
    """All that can be shown, in the order of the file, and what was."""

    marks: tuple[Mark, ...]
    shown: frozenset[Mark]

    def missing(self, sort: Sort | None = None) -> tuple[Mark, ...]:
        """List what was not shown, of one sort or of all."""
        return tuple(mark for mark in self.of(sort) if mark not in self.shown)

    def of(self, sort: Sort | None) -> tuple[Mark, ...]:
        return tuple(mark for mark in self.marks if sort in (None, mark.sort))

    def joined(self, shown: Iterable[Mark]) -> "Coverage":
        """Take in what something else has shown besides."""
        return Coverage(self.marks, self.shown | frozenset(shown))


def coverage(model: Model, played: Sequence[tuple[Moment, ...]]) -> Coverage:
    """Tell what was shown by all that was played, each from its power-up."""
    shown = frozenset(mark for moments in played for mark in shown_by(model, moments))
    return Coverage(tuple(all_of(model)), shown)


def shown_by(model: Model, moments: tuple[Moment, ...]) -> Iterator[Mark]:
    """List what one thing that was played has shown. A rule is at work once what it waits for was.

    Where a rule waits for several things, one walkthrough must have shown them all.
    """
    views = tuple(moment.view for moment in moments)
    for view in views:
        yield from shown_in(model, view)
    if views:
        sights = Sights(model, views)
        for rule in model.rules:
            if is_asked(rule, sights):
                yield Mark(Sort.RULE, rule.name)


def is_asked(rule: Rule, sights: Sights) -> bool:
    """Tell whether all that a rule waits for has come about in a run."""
    return all(is_in(sights, each) for each in waits_for(rule))


def shown_in(model: Model, view: LoopView) -> Iterator[Mark]:
    """List the states and transitions that one loop shows."""
    for region, now in zip(model.regions, view.state.regions, strict=True):
        yield Mark(Sort.STATE, region.name, now.leaf)
        if now.fired is not None and now.fired.transition is not None:
            yield Mark(Sort.TRANSITION, region.name, now.fired.transition.number)


def waits_for(rule: Rule) -> tuple[Awaited, ...]:
    """List what must come about for a rule to have been at work."""
    asked = rule.requirement
    if isinstance(asked, WayBack):
        return (Awaited(asked.condition, None),)
    return tuple(awaited_by(rule))


def all_of(model: Model) -> Iterator[Mark]:
    """List all that can be shown of a prop, in the order of the file."""
    for region in model.regions:
        for state in region.states:
            if not state.children:
                yield Mark(Sort.STATE, region.name, state.number)
        for way in region.transitions():
            yield Mark(Sort.TRANSITION, region.name, way.number)
    for rule in model.rules:
        yield Mark(Sort.RULE, rule.name)
