"""What regions may do while people turn one input, or none, by what is written of them alone.

It knows no time: it follows the transitions that need no hand but that one. What it does not find a
way to is never; a way that it finds need not be possible.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product
from math import prod
from typing import NamedTuple

from behaviour.explore.guards import atoms, count
from behaviour.explore.places import Place, Spot, Way, spot
from behaviour.model import (
    And,
    Atom,
    Becomes,
    Compare,
    Condition,
    Done,
    HeldFor,
    Input,
    InState,
    Is,
    Model,
    Not,
    Or,
    Output,
    Part,
    Transition,
)
from behaviour.semantics import filter_loops

Names = frozenset[str]


@dataclass(frozen=True, slots=True)
class Stop:
    """What the inputs that an interlock names are told as it stops a hazard.

    Those in `changed` changed in that very loop.
    """

    told: Mapping[str, str]
    changed: Names


@dataclass(frozen=True, slots=True)
class Since:
    """What tells how long ago an interlock stopped a hazard.

    `stops` are the ways in which it may have; from `fresh` on downwards the states of region number
    `region` were entered then or later.
    """

    model: Model
    stops: tuple[Stop, ...]
    region: int
    fresh: int

    def lasts(self, number: int, way: Way) -> int:
        """Give a number of loops before which region number `number` cannot take a way."""
        parts = way.when.parts if isinstance(way.when, And) else (way.when,)
        told = min(
            (max(self._lasts(part, stop) for part in parts) for stop in self.stops), default=0
        )
        match way.clock:
            case ("region", _, depth) if number == self.region and depth >= self.fresh:
                return max(told, way.early)
            case _:
                return told

    def _lasts(self, part: Condition | None, stop: Stop) -> int:
        """Give a number of loops before which a condition cannot hold after the stop."""
        match part:
            case HeldFor(name=name, value=value, time=time) if stop.told.get(name, value) != value:
                return count(self.model, time)
            case Is(name=name) if name in stop.changed:
                item = self.model.input[name]
                fits = [v for v in item.values if (v in part.values) != part.negated]
                if stop.told[name] not in fits:
                    return min((filter_loops(self.model, item, v) for v in fits), default=0) + 1
            case _:
                pass
        return 0


@dataclass(frozen=True, slots=True)
class Hands:
    """What is known of people: what inputs `read`, and which of them do not change (`quiet`)."""

    read: Mapping[str, str]
    quiet: Names = frozenset()
    let_go: Mapping[str, str] = field(default_factory=dict)
    """Inputs that change to no other value than this."""
    done: Mapping[str, bool] = field(default_factory=dict)
    """Of motors that are known to have ended their move, or not to have."""
    since: Since | None = None

    def judge(self, condition: Condition | None) -> bool | None:
        """Tell whether a condition surely holds, surely fails, or (None) may do either."""
        match condition:
            case None:
                return True
            case And(parts=parts):
                return _every([self.judge(part) for part in parts])
            case Or(parts=parts):
                return _not(_every([_not(self.judge(part)) for part in parts]))
            case Not(part=part):
                return _not(self.judge(part))
            case Is(name=name, values=values, negated=negated) if name in self.read:
                return (self.read[name] in values) != negated
            case Done(name=name, negated=negated):
                known = self.done.get(name)
                return known if known is None else known != negated
            case Becomes(name=name) if name in self.quiet:
                return False
            case Becomes(name=name, value=value) if self.let_go.get(name, value) != value:
                return False
            case Becomes(name=name, value=value) | HeldFor(name=name, value=value):
                return False if self.read.get(name, value) != value else None
            case _:
                return None


def _every(found: Iterable[bool | None]) -> bool | None:
    several = list(found)
    if False in several:
        return False
    return None if None in several else True


def longest_filter(model: Model, name: str) -> int:
    """Count the loops within which whatever people do with an input is told the controller."""
    item = model.input[name]
    return max(filter_loops(model, item, value) for value in item.values)


def _not(found: bool | None) -> bool | None:  # noqa: FBT001
    return None if found is None else not found


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


class TooManyError(Exception):
    """There are more places than are looked at."""


@dataclass(eq=False)
class Quiet:
    """Where a part's regions are together, and whether a hazard is away from rest there."""

    model: Model
    output: Output
    number: int = field(init=False)
    _spots: dict[tuple[int, Place], Spot] = field(default_factory=dict, init=False)
    _all: set[At] = field(default_factory=set, init=False)
    _reads: dict[Places, list[dict[str, str]]] = field(default_factory=dict, init=False)

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
                return _every([self.judge(part, places, hands) for part in parts])
            case Or(parts=parts):
                found = [_not(self.judge(part, places, hands)) for part in parts]
                return _not(_every(found))
            case Not(part=part):
                return _not(self.judge(part, places, hands))
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
            own = {name: name in course.done for name in self._driven[number]}
            told = replace(hands, done={**hands.done, **own})
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

    def loops(self, at: At, hands: Hands) -> set[At]:
        """List where a loop may lead: all regions read the same."""
        found: set[At] = set()
        asked = [self._asked_by(number, place) for number, place in enumerate(at.places)]
        known: dict[object, list[tuple[Place, int]]] = {}
        for told, new in self._told_now(at):
            read = {**hands.read, **told}
            for shared in self._shared(at.places):
                if all(read.get(name, value) == value for name, value in shared.items()):
                    now = {**read, **shared}
                    several = []
                    for number, names in enumerate(asked):
                        key = (number, *((now.get(name), name in new) for name in names))
                        if key not in known:
                            quiet = hands.quiet - new
                            seen = replace(hands, read=now, quiet=quiet)
                            known[key] = list(self._ends(number, at, seen))
                        several.append(known[key])
                    found |= self._together(at, several, told, new)
        return found

    def _told_now(self, at: At) -> Iterator[tuple[dict[str, str], Names]]:
        """List what the controller may be told in a loop, and which of it is new.

        It is what was done before; what nothing here asks for is told as well later.
        """
        told = dict(at.told)
        asked = [name for name in sorted(at.untold) if self.asks(at.places, name)]
        options = [
            [None, *(v for v in self.model.input[name].values if v != told.get(name))]
            for name in asked
        ]
        for values in product(*options):
            new = {name: v for name, v in zip(asked, values, strict=True) if v is not None}
            yield {**told, **{n: v for n, v in new.items() if n in told}}, frozenset(new)

    def _together(
        self,
        at: At,
        several: Sequence[Sequence[tuple[Place, int]]],
        told: Mapping[str, str],
        new: Names,
    ) -> set[At]:
        """Let each region do one of several things in a loop, and keep what can be together."""
        found, now = set(), tuple(told.items())
        for ends in product(*several):
            places = tuple(place for place, _ in ends)
            lasted = max(loops for _, loops in ends)
            late = frozenset(n for n in at.untold if self._filters[n] < lasted)
            if not late & new:
                to = self.at(places, was_away=at.is_away)
                untold = at.untold - new - late
                found.add(to._replace(told=now, untold=untold))
        return found

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
    def _driven(self) -> list[list[str]]:
        """Name the outputs that each region sets."""
        owner = self.model.owner
        return [
            [each.name for each in self.model.outputs if owner.get(each.name) == region.name]
            for region in self.model.regions
        ]

    def _shared(self, places: Places) -> list[dict[str, str]]:
        """List what inputs may read that more than one region asks for there, if they are few."""
        known = self._reads.get(places)
        if known is None:
            asked = [self._asked_by(number, place) for number, place in enumerate(places)]
            items = [i for i in self.model.inputs if sum(i.name in each for each in asked) > 1]
            if prod(len(item.values) for item in items) > MOST_READ:
                items = []
            every = product(*(item.values for item in items))
            known = [dict(zip([i.name for i in items], each, strict=True)) for each in every]
            self._reads[places] = known
        return known

    def _asked_by(self, number: int, place: Place) -> Names:
        """Name the inputs that a region's transitions ask for."""
        return frozenset(
            atom.name
            for course in self.spot(number, place).courses
            for way in course.ways
            for atom in atoms(way.when)
            if not isinstance(atom, InState | Compare)
        )

    def resting(self, hands: Hands) -> set[At]:
        """List where a loop may lead with the hazard at rest."""
        found = self.begins(hands)
        for at in self.everywhere():
            found |= self.loops(at, hands)
        return at_rest(found)

    def onward(self, begins: Iterable[At], hands: Hands, *, past_starts: bool = False) -> set[At]:
        """List where loops may lead, up to where the hazard is first away from rest."""
        found: set[At] = set()
        ahead = list(begins)
        while ahead:
            at = ahead.pop()
            if at not in found:
                found.add(at)
                if len(found) > MOST_PLACES:
                    raise TooManyError
                if past_starts or not at.is_away:
                    ahead += self.loops(at, hands)
        return found

    def asks(self, places: Places, name: str, held: Input | None = None) -> bool:
        """Tell whether any region, or a mechanism, may look at an input.

        Where it is `held`, asking whether it becomes one of two values does not count.
        """
        edges = held is not None and len(held.values) == 2  # noqa: PLR2004
        return any(
            not isinstance(atom, InState | Compare)
            and atom.name == name
            and not (edges and isinstance(atom, Becomes))
            for atom in (*self._asked(places), *self._during)
        )

    def _asked(self, places: Places) -> Iterator[Atom]:
        for number, place in enumerate(places):
            for course in self.spot(number, place).courses:
                for way in course.ways:
                    yield from atoms(way.when)

    @cached_property
    def _during(self) -> list[Atom]:
        movements = (m for each in self.model.mechanism for m in each.movements())
        return [atom for movement in movements for atom in atoms(movement.during)]


def at_rest(several: Iterable[At]) -> set[At]:
    return {at for at in several if not at.is_away}


def may_turn_on(
    here: Quiet, item: Input, values: tuple[str, str], released: Mapping[str, str], quiet: Names
) -> bool:
    """Tell whether turning an input from one value to another may start a hazard, all else still.

    `released` are inputs known to be let go; `quiet` those that do not change by themselves.
    """
    before, after = values
    steadily = item.name in quiet
    at_first = Hands({item.name: before} if steadily else {})
    still = Hands({**released, **at_first.read}, quiet)
    turned = Hands({**released, **({item.name: after} if steadily else {})}, quiet - {item.name})
    try:
        waiting = at_rest(here.onward(here.resting(at_first), still))
        then = at_rest(here.onward(waiting, turned))
        apart = [at for at in then if here.asks(at.places, item.name)]
        return any(at.is_away for at in here.onward(apart, turned))
    except TooManyError:
        return True


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
