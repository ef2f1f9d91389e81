"""For how long regions may yet ask that an input has kept its value, by where they are.

Strategy: as long as an input is seen at one value a region only goes ways whose conditions may hold
with that. A leaf from which none of them leads to `is VALUE for` does not ask how long the input
has been so: before anybody does, it changes, and its clock starts again. From the others the most
that is asked on any of these ways is enough, as with bounds that hang on the location (Behrmann,
Bouyer, Fleury and Larsen, Static Guard Analysis in Timed Automata Verification, TACAS 2003).
Whatever else a condition looks at may be anything.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from behaviour.explore.guards import atoms, count
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Not,
    Or,
    Region,
    Transition,
    Unknown,
)
from behaviour.semantics import NextCue, candidates, is_open

ByLeaf = Mapping[int, int]
"""Loops by the leaf that a region is in; 0 is none."""


@dataclass(eq=False)
class KeptFor:
    """What the regions of one model ask; where `restarts`, each may begin anew at any time."""

    model: Model
    restarts: bool
    _asked: dict[tuple[int, str], tuple[int, ...]] = field(default_factory=dict, init=False)
    """The regions that ask anywhere that an input has kept a value."""
    _known: dict[tuple[int, str], tuple[tuple[int, ByLeaf], ...]] = field(
        default_factory=dict, init=False
    )

    def __post_init__(self) -> None:
        for number, region in enumerate(self.model.regions):
            for way in region.transitions():
                for atom in atoms(way.when):
                    if isinstance(atom, HeldFor):
                        key = (self.model.input_index[atom.name], atom.value)
                        self._asked[key] = tuple({*self._asked.get(key, ()), number})

    def by_leaf(self, number: int, value: str) -> tuple[tuple[int, ByLeaf], ...]:
        """Give for each region that asks it the most loops for which an input is to be so."""
        key = (number, value)
        if key not in self._known:
            self._known[key] = tuple(
                (at, self._most(self.model.regions[at], *key)) for at in self._asked.get(key, ())
            )
        return self._known[key]

    def _most(self, region: Region, number: int, value: str) -> ByLeaf:
        name = self.model.inputs[number].name
        most: dict[int, int] = {}
        onward: dict[int, set[int]] = {}
        for state in region.states:
            if state.children:
                continue
            most[state.number], onward[state.number] = 0, set()
            if self.restarts:
                onward[state.number].add(region.leaf(region.begins))
            for way in _ways(region, state.number):
                if _may_hold(way.when, name, value):
                    asked = max(self._held(way.when, name, value), default=0)
                    most[state.number] = max(most[state.number], asked)
                    if isinstance(way.target, int):
                        onward[state.number].add(region.leaf(way.target))
        is_new = True
        while is_new:
            is_new = False
            for leaf, targets in onward.items():
                later = max((most[to] for to in targets), default=0)
                if later > most[leaf]:
                    most[leaf], is_new = later, True
        return most

    def _held(self, condition: Condition | None, name: str, value: str) -> Iterator[int]:
        for atom in atoms(condition):
            if isinstance(atom, HeldFor) and (atom.name, atom.value) == (name, value):
                yield count(self.model, atom.time)


def _ways(region: Region, leaf: int) -> Iterator[Transition]:
    """List the transitions that may be taken from a leaf, whatever cues it has fired.

    What goes nobody knows where is left out: a search that comes to its leaf ends there.
    """
    for cue in range(len(region.states[leaf].cues) + 1):
        for candidate in candidates(region, leaf, cue):
            if isinstance(candidate, NextCue) or isinstance(candidate.target, Unknown):
                continue
            if is_open(region, leaf, candidate):
                yield candidate


def _may_hold(condition: Condition | None, name: str, value: str) -> bool:
    return condition is None or _judged(condition, name, value) is not False


def _judged(condition: Condition, name: str, value: str) -> bool | None:
    """Tell whether a condition holds while an input is kept at a value; None if it may or not."""
    match condition:
        case And(parts=parts):
            return _all(_judged(part, name, value) for part in parts)
        case Or(parts=parts):
            none_holds = _all(_denied(_judged(part, name, value)) for part in parts)
            return _denied(none_holds)
        case Not(part=part):
            return _denied(_judged(part, name, value))
        case Is(name=asked, values=values, negated=negated) if asked == name:
            return (value in values) != negated
        case Becomes(name=asked) if asked == name:
            return False
        case HeldFor(name=asked, value=held) if asked == name and held != value:
            return False
        case _:
            return None


def _all(parts: Iterator[bool | None]) -> bool | None:
    found: bool | None = True
    for part in parts:
        if part is False:
            return False
        found = found and part
    return found


def _denied(judged: bool | None) -> bool | None:  # noqa: FBT001
    return None if judged is None else not judged
