"""Where regions may come to while people turn one input, or none, by what is written of them alone.

It knows no time: it follows the transitions that need no hand but that one. What it does not find a
way to is never; a way that it finds need not be possible.
"""

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from heapq import heapify, heappop, heappush
from itertools import product
from math import prod
from typing import NamedTuple

from behaviour.check.hands import Hands, Names, every, inverse, longest_filter
from behaviour.explore.guards import atoms
from behaviour.explore.places import Place, Spot, Way, spot
from behaviour.model import (
    And,
    Atom,
    Becomes,
    Compare,
    Condition,
    Done,
    Input,
    InState,
    Model,
    Not,
    Or,
    Output,
    Part,
)

MOST_PLACES = 1500
"""How many places of all the regions together are looked at before it is given up."""

MOST_READ = 32
"""In how many ways shared inputs are told apart."""

Places = tuple[Place, ...]


class At(NamedTuple):
    """Where each region is, and whether the hazard is away from rest: it may keep its value."""

    places: Places
    is_away: bool
    told: tuple[tuple[str, str], ...] = ()
    """What inputs are told that nobody moves, as far as it is followed."""
    untold: Names = frozenset()
    """Inputs of which people may have done what the controller is not told yet."""


@dataclass(slots=True)
class Known:
    """What regions may do under the same hands, by where all are and what each of them reads.

    `ends` has each region by itself: where it may be after a loop, and how long after the stop that
    is at least. `together` has them all.
    """

    ends: dict[Hashable, Sequence[tuple[Place, int]]] = field(default_factory=dict)
    together: dict[Hashable, Sequence[tuple[At, int]]] = field(default_factory=dict)


class TooManyError(Exception):
    """There are more places than are looked at."""


@dataclass(eq=False)
class Quiet:
    """Where a part's regions are together, and whether a hazard is away from rest there.

    The part may be a sketch (`explore/sketch.py`), in which other regions are inputs that nobody
    is known to hold: then all that regions of the prop may come to is among what is followed.
    """

    model: Model
    output: Output
    unseen: tuple[Atom, ...] = ()
    """What is asked for by what a sketch leaves out, wherever that may be."""
    told: Names = frozenset()
    """What hangs on what a sketch leaves out, of all that its regions may look at."""
    number: int = field(init=False)
    _spots: dict[tuple[int, Place], Spot] = field(default_factory=dict, init=False)
    _all: set[At] = field(default_factory=set, init=False)
    _reads: dict[Places, list[Input]] = field(default_factory=dict, init=False)
    _names: dict[tuple[int, Place], Names] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self.number = self.model.region_index[self.model.owner[self.output.name]]

    def begins(self, hands: Hands) -> set[At]:
        """List where power-up may lead to."""
        begin = tuple(Place(region.leaf(region.begins)) for region in self.model.regions)
        several = []
        for number, place in enumerate(begin):
            found, is_sure = [], False
            for way in self.spot(number, place).ways:
                if way.transition is None or way.transition.part is not Part.INTERLOCK:
                    continue
                judged = self.judge(way.when, begin, hands)
                found += [way.to] if judged is not False and not is_sure else []
                is_sure = is_sure or judged is True
            several.append(found if is_sure else [*found, place])
        return {self.at(places, was_away=False) for places in product(*several)}

    def at(self, places: Places, *, was_away: bool) -> At:
        """Tell whether the hazard is away from rest once the regions are there."""
        rest = self.output.rest if not self.output.keeps else None
        value = dict(self.spot(self.number, places[self.number]).sets).get(self.output.name, rest)
        return At(places, was_away if value is None else value != self.output.rest)

    def everywhere(self) -> set[At]:
        """List all that can be come to, whatever people do and however long it takes."""
        if not self._all:
            self._all = self.onward(self.begins(Hands({})), Hands({}), past_starts=True)
        return self._all

    def spot(self, number: int, place: Place) -> Spot:
        if (number, place) not in self._spots:
            self._spots[number, place] = spot(self.model, number, place)
        return self._spots[number, place]

    def judge(self, condition: Condition | None, places: Places, hands: Hands) -> bool | None:
        """Judge a condition where each region's place is known too."""
        match condition:
            case And(parts=parts):
                return every([self.judge(part, places, hands) for part in parts])
            case Or(parts=parts):
                found = [inverse(self.judge(part, places, hands)) for part in parts]
                return inverse(every(found))
            case Not(part=part):
                return inverse(self.judge(part, places, hands))
            case InState(region=name, state=state, negated=negated):
                at = self.model.region_index.get(name)
                if at is None:
                    return None
                inside = self.model.regions[at].contains(state, places[at].leaf)
                return inside != negated
            case _:
                return hands.judge(condition)

    def ways(self, number: int, places: Places, hands: Hands) -> tuple[list[Way], bool]:
        """List what a region may do in a loop, and tell whether it may also do nothing."""
        found: list[Way] = []
        may_wait = False
        for course in self.spot(number, places[number]).courses:
            own = {name: name in course.done for name in self._moved[number]}
            told = replace(hands, done={**hands.done, **own}) if own else hands
            is_sure = False
            for way in course.ways:
                judged = self.judge(way.when, places, told)
                if judged is not False:
                    found.append(way)
                if judged and way.surely <= 1:
                    is_sure = True
                    break
            may_wait = may_wait or not is_sure
        return found, may_wait

    def loops(self, at: At, hands: Hands, known: Known | None = None) -> set[At]:
        """List where a loop may lead: all regions read the same.

        What is `known` was worked out for the same hands before.
        """
        found: set[At] = set()
        known = Known() if known is None else known
        where = (at.places, at.is_away)
        asked = [sorted(self._asked_by(number, place)) for number, place in enumerate(at.places)]
        for told, new in self._told_now(at):
            now, quiet = tuple(told.items()), hands.quiet - new
            for read in self._shared(at.places, {**hands.read, **told}):
                course = (where, *[tuple([(read.get(n), n in new) for n in ns]) for ns in asked])
                together = known.together.get(course)
                if together is None:
                    seen = Hands(read, quiet, hands.let_go, hands.done, hands.since)
                    together = known.together[course] = self._together(at, course, seen, known)
                for to, lasted in together:
                    late = frozenset([n for n in at.untold if self._filters[n] < lasted])
                    if not late & new:
                        found.add(At(to.places, to.is_away, now, at.untold - new - late))
        return found

    def _told_now(self, at: At) -> Iterator[tuple[dict[str, str], Names]]:
        """List what the controller may be told in a loop, and which of it is new.

        It is what was done before; what nothing here asks for is told as well later.
        """
        told = dict(at.told)
        asked = [n for n in sorted(at.untold) if _names(self._looked_at(at.places), n)]
        options = [
            [None, *(v for v in self.model.input[name].values if v != told.get(name))]
            for name in asked
        ]
        for values in product(*options):
            new = {name: v for name, v in zip(asked, values, strict=True) if v is not None}
            yield {**told, **{n: v for n, v in new.items() if n in told}}, frozenset(new)

    def _together(
        self, at: At, course: Sequence[Hashable], hands: Hands, known: Known
    ) -> Sequence[tuple[At, int]]:
        """Let each region do one of several things in a loop, and keep what can be together.

        Each is given with how long after the stop it is at least.
        """
        several = []
        for number, read in enumerate(course[1:]):
            key = (number, at.places, read)
            if key not in known.ends:
                known.ends[key] = tuple(self._ends(number, at, hands))
            several.append(known.ends[key])
        found: dict[At, int] = {}
        for ends in product(*several):
            to = self.at(tuple([place for place, _ in ends]), was_away=at.is_away)
            lasted = max([loops for _, loops in ends])
            found[to] = min(lasted, found.get(to, lasted))
        return tuple(found.items())

    def _ends(self, number: int, at: At, hands: Hands) -> Iterator[tuple[Place, int]]:
        """List where a region may be after a loop, and how long after the stop it is at least."""
        ways, may_wait = self.ways(number, at.places, hands)
        for way in dict.fromkeys(ways):
            yield way.to, 0 if hands.since is None else hands.since.lasts(number, way)
        if may_wait:
            yield at.places[number], 0

    @cached_property
    def _filters(self) -> dict[str, int]:
        return {item.name: longest_filter(self.model, item.name) for item in self.model.inputs}

    @cached_property
    def _moved(self) -> list[list[str]]:
        """Name of each region the outputs that it sets, and asks whether they have done so."""
        owner = self.model.owner
        asked = [
            {a.name for way in region.transitions() for a in atoms(way.when) if isinstance(a, Done)}
            for region in self.model.regions
        ]
        return [
            sorted(name for name in names if owner.get(name) == region.name)
            for names, region in zip(asked, self.model.regions, strict=True)
        ]

    def _shared(self, places: Places, read: Mapping[str, str]) -> Iterator[Mapping[str, str]]:
        """List what may be read where more than one region asks for what is not read, if few ways.

        What only one region asks for it may take either way by itself.
        """
        items = self._reads.get(places)
        if items is None:
            asked = [self._asked_by(number, place) for number, place in enumerate(places)]
            items = [i for i in self.model.inputs if sum(i.name in each for each in asked) > 1]
            if prod(len(item.values) for item in items) > MOST_READ:
                items = []
            self._reads[places] = items
        open_ones = [item for item in items if item.name not in read]
        for values in product(*(item.values for item in open_ones)):
            yield {**read, **dict(zip([i.name for i in open_ones], values, strict=True))}

    def _asked_by(self, number: int, place: Place) -> Names:
        """Name the inputs that a region's transitions ask for."""
        known = self._names.get((number, place))
        if known is None:
            known = self._names[number, place] = frozenset(
                atom.name
                for course in self.spot(number, place).courses
                for way in course.ways
                for atom in atoms(way.when)
                if not isinstance(atom, InState | Compare)
            )
        return known

    def resting(self, hands: Hands) -> set[At]:
        """List where a loop may lead with the hazard at rest."""
        found = self.begins(hands)
        for at in self.everywhere():
            found |= self.loops(at, hands)
        return at_rest(found)

    def onward(self, begins: Iterable[At], hands: Hands, *, past_starts: bool = False) -> set[At]:
        """List where loops may lead, up to where the hazard is first away from rest.

        Of what differs in nothing but what is untold, that which has more of it untold is enough:
        whatever is told from the other may be told from it just as late, and what is left untold
        for good reads what it read, as if nobody had moved it. So each loop from the other is one
        from it, into what again has no less untold.
        """
        found: dict[Hashable, list[Names]] = {}
        kept: set[At] = set()
        known = Known()
        ahead = [(-len(at.untold), number, at) for number, at in enumerate(begins)]
        number = len(ahead)
        heapify(ahead)
        while ahead:
            *_, at = heappop(ahead)
            alike = found.setdefault((at.places, at.is_away, at.told), [])
            if any(at.untold <= untold for untold in alike):
                continue
            alike.append(at.untold)
            kept.add(at)
            if len(found) > MOST_PLACES:
                raise TooManyError
            if past_starts or not at.is_away:
                for to in self.loops(at, hands, known):
                    number += 1
                    heappush(ahead, (-len(to.untold), number, to))
        return kept

    def asks(self, places: Places, name: str, held: Input | None = None) -> bool:
        """Tell whether any region, or a mechanism, may look at an input.

        What a sketch leaves out counts only where what is in it is told of that. Where the input is
        `held`, asking whether it becomes one of two values does not count.
        """
        edges = held is None or len(held.values) != 2  # noqa: PLR2004
        looked_at = list(self._looked_at(places))
        return _names(looked_at, name, edges=edges) or (
            _names(self.unseen, name, edges=edges) and any(map(self._is_told, looked_at))
        )

    def _is_told(self, atom: Atom) -> bool:
        """Tell whether what an atom asks for may hang on what a sketch leaves out."""
        match atom:
            case InState(region=name):
                return name not in self.model.region_index
            case Compare():
                return False
            case _:
                return atom.name in self.told

    def _looked_at(self, places: Places) -> Iterator[Atom]:
        yield from self._during
        for number, place in enumerate(places):
            for course in self.spot(number, place).courses:
                for way in course.ways:
                    yield from atoms(way.when)

    @cached_property
    def _during(self) -> list[Atom]:
        movements = (m for each in self.model.mechanism for m in each.movements())
        return [atom for movement in movements for atom in atoms(movement.during)]


def _names(several: Iterable[Atom], name: str, *, edges: bool = True) -> bool:
    """Tell whether an input is asked for; with or without what asks whether it becomes a value."""
    return any(
        not isinstance(atom, InState | Compare)
        and atom.name == name
        and (edges or not isinstance(atom, Becomes))
        for atom in several
    )


def at_rest(several: Iterable[At]) -> set[At]:
    return {at for at in several if not at.is_away}
