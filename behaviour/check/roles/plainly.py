"""What role checks ask, where the transitions of one region show at once that it is kept.

It searches nothing, and is asked with nothing wrong. In every state that there is, come to or not,
a region may take any transition whose condition may hold, down to the first that surely does. What
the controller is told of inputs is then what is so, but that a guard or stop may be presumed not
safe: so whatever is told to be safe is safe, and what is not safe is told to be not safe.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from behaviour.check.driving import Spot, away_at, spots_of
from behaviour.check.roles.hands import Hands
from behaviour.check.roles.seeing import is_active
from behaviour.explore.guards import atoms
from behaviour.model import Condition, Input, InState, Model, Output, Part, Region, Transition
from behaviour.semantics import NextCue, candidates, is_open


class Way(NamedTuple):
    """A transition that a region may take, or (None) its next cue, and where it leads.

    Where it holds and is not `timed` it is taken for certain, or one before it.
    """

    transition: Transition | None
    to: Spot
    when: Condition | None
    timed: bool


def _ways(region: Region, spot: Spot) -> Iterator[Way]:
    """List by priority what a region may do."""
    leaf, fired = spot
    for way in candidates(region, leaf, fired):
        if isinstance(way, NextCue):
            yield Way(None, (leaf, fired + 1), None, timed=True)
        elif is_open(region, leaf, way):
            is_end = way.part is Part.END
            stays = (leaf, fired + is_end)
            to = (region.leaf(way.target), 0) if isinstance(way.target, int) else stays
            yield Way(way, to, way.when, is_end or way.after is not None)


@dataclass(frozen=True, slots=True)
class _Drive:
    """A region, and where it drives a hazard away from rest."""

    region: Region
    away: frozenset[Spot]

    def begin(self, hands: Hands) -> Iterator[Spot]:
        """List where power-up may lead."""
        begin = (self.region.leaf(self.region.begins), 0)
        for way in _ways(self.region, begin):
            if way.transition is not None and way.transition.part is Part.INTERLOCK:
                holds = hands.judge(way.when)
                if holds is not False:
                    yield way.to
                if holds:
                    return
        yield begin

    def after(self, spot: Spot, hands: Hands) -> Iterator[Spot]:
        """List where a later loop may lead."""
        for way in _ways(self.region, spot):
            holds = hands.judge(way.when)
            if holds is not False:
                yield way.to
            if holds and not way.timed:
                return
        yield spot

    def stopped(self, spot: Spot) -> Iterator[Spot]:
        """List where interlocks may lead that bring the hazard to rest."""
        for way in _ways(self.region, spot) if spot in self.away else ():
            is_interlock = way.transition is not None and way.transition.part is Part.INTERLOCK
            if is_interlock and way.to not in self.away:
                yield way.to


def _driving(model: Model, output: Output) -> _Drive | None:
    away = away_at(model, output)
    return None if away is None else _Drive(model.region[model.owner[output.name]], frozenset(away))


def rests_while_active(model: Model, output: Output, item: Input) -> bool:
    """Tell whether a hazard is at rest in each loop in which a guard or stop is told not safe."""
    drive = _driving(model, output)
    return drive is not None and all(
        drive.away.isdisjoint(drive.begin(hands))
        and all(drive.away.isdisjoint(drive.after(spot, hands)) for spot in spots_of(drive.region))
        for hands in _active(item)
    )


def starts_as_asked(
    model: Model, output: Output, starts: Iterable[Input], ends: Iterable[Input]
) -> bool:
    """Tell whether a hazard starts in no loop but those in which a press lasts.

    A press may be lost wherever power-up leads, where an end is active, where an interlock stops
    the hazard, and wherever one may come to from there with no new one. From there the hazard is
    not to start without a press, and from nowhere with an end active.
    """
    drive = _driving(model, output)
    if drive is None:
        return False
    begin = set(drive.begin(Hands({})))
    every = list(spots_of(drive.region))
    idle = {i.name: v for i in starts for v in reversed(i.values) if not is_active(i, v)}
    unpressed = {spot: set(drive.after(spot, Hands({}, let_go=idle))) for spot in every}
    ended = {
        spot: {to for item in ends for hands in _active(item) for to in drive.after(spot, hands)}
        for spot in every
    }
    ahead = [*begin, *(to for spot in every for to in (*ended[spot], *drive.stopped(spot)))]
    lost: set[Spot] = set()
    while ahead:
        spot = ahead.pop()
        if spot not in lost:
            lost.add(spot)
            ahead += unpressed[spot]
    resting = [spot for spot in every if spot not in drive.away]
    started = (ended[spot] | (unpressed[spot] if spot in lost else set()) for spot in resting)
    return drive.away.isdisjoint(begin) and all(map(drive.away.isdisjoint, started))


def may_start(model: Model, output: Output, hands: Hands) -> bool:
    """Tell whether a hazard may start from anywhere while no more is done than is known."""
    drive = _driving(model, output)
    return drive is None or any(
        not drive.away.isdisjoint(drive.after(spot, hands))
        for spot in spots_of(drive.region)
        if spot not in drive.away
    )


def _active(item: Input) -> Iterator[Hands]:
    """Give what is known where an input is active, for each such value."""
    for value in item.values:
        if is_active(item, value):
            yield Hands({item.name: value})


def counts_when_released(region: Region, reset: Input) -> bool:
    """Tell whether a region does nothing in a loop with a reset active but what it would anyway.

    Then nothing that it may take asks for the reset, and nothing before that which does would be
    taken with the reset released for long.
    """
    released = Hands({reset.name: reset.values[0]}, frozenset((reset.name,)))
    return not any(
        _is_taken_by(region, spot, reset.name, hands, released)
        for spot in spots_of(region)
        for hands in _active(reset)
    )


def _is_taken_by(region: Region, spot: Spot, name: str, pressed: Hands, released: Hands) -> bool:
    is_beaten = False
    for way in _ways(region, spot):
        asks = any(not isinstance(a, InState) and a.name == name for a in atoms(way.when))
        holds = pressed.judge(way.when)
        if holds is not False and way.transition is not None and (asks or is_beaten):
            return True
        if holds and not way.timed:
            return False
        is_beaten = is_beaten or (asks and released.judge(way.when) is not False)
    return False
