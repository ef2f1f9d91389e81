"""What role checks ask, where the transitions of one region show at once that it is kept.

It searches nothing. With nothing wrong what the controller is told of inputs is what is so, but
that a guard or stop may be presumed not safe: so whatever is told to be safe is safe, and what is
not safe is told to be not safe. With one thing wrong some of that may still be so (`hearing.py`),
and then what was shown holds as well: for it looks at nothing but what is told, and at one hazard.
An output that stays at rest starts nothing and is at rest; up to then all is as it is set.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.check.driving import away_at
from behaviour.check.hands import Hands
from behaviour.check.hearing import hears, hears_news
from behaviour.check.roles.seeing import is_active
from behaviour.check.spots import Spot, after, begin, spots_of, ways_from
from behaviour.explore.guards import atoms
from behaviour.faults import Fault, Hangs, Welded
from behaviour.model import Input, InState, Model, Output, Region


@dataclass(frozen=True, slots=True)
class _Drive:
    """A region, and where it drives a hazard away from rest."""

    region: Region
    away: frozenset[Spot]

    def rests_in(self, spots: Iterable[Spot]) -> bool:
        return self.away.isdisjoint(spots)

    def after(self, spot: Spot, hands: Hands) -> Iterator[Spot]:
        return after(self.region, spot, hands)

    def stopped(self, spot: Spot) -> Iterator[Spot]:
        """List where interlocks may lead that bring the hazard to rest."""
        for way in ways_from(self.region, spot) if spot in self.away else ():
            if way.is_interlock and way.to not in self.away:
                yield way.to


def _driving(model: Model, output: Output) -> _Drive | None:
    away = away_at(model, output)
    return None if away is None else _Drive(model.region[model.owner[output.name]], frozenset(away))


def rests_while_active(model: Model, output: Output, item: Input) -> bool:
    """Tell whether a hazard is at rest in each loop in which a guard or stop is told not safe."""
    drive = _driving(model, output)
    return drive is not None and all(
        drive.rests_in(begin(drive.region, hands))
        and all(drive.rests_in(drive.after(spot, hands)) for spot in spots_of(drive.region))
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
    first = set(begin(drive.region, Hands({})))
    every = list(spots_of(drive.region))
    idle = {i.name: v for i in starts for v in reversed(i.values) if not is_active(i, v)}
    unpressed = {spot: set(drive.after(spot, Hands({}, let_go=idle))) for spot in every}
    ended = {
        spot: {to for item in ends for hands in _active(item) for to in drive.after(spot, hands)}
        for spot in every
    }
    ahead = [*first, *(to for spot in every for to in (*ended[spot], *drive.stopped(spot)))]
    lost: set[Spot] = set()
    while ahead:
        spot = ahead.pop()
        if spot not in lost:
            lost.add(spot)
            ahead += unpressed[spot]
    resting = [spot for spot in every if spot not in drive.away]
    started = (ended[spot] | (unpressed[spot] if spot in lost else set()) for spot in resting)
    return drive.rests_in(first) and all(map(drive.rests_in, started))


def rests_all_the_same(model: Model, output: Output, item: Input, fault: Fault) -> bool:
    """Tell whether a hazard that rests while a guard or stop is told not safe does with a fault.

    Whenever that is truly so it must be told.
    """
    return _is_as_set(output, fault) and all(
        hears(model, fault, item.name, value) for value in item.values if is_active(item, value)
    )


def starts_all_the_same(
    model: Model, output: Output, starts: Iterable[Input], ends: Iterable[Input], fault: Fault
) -> bool:
    """Tell whether a hazard that starts as asked does so with a fault.

    Whatever press is told must be one, and whatever ends one must be told. A controller that hangs
    for ever starts nothing any more, and knew what was so up to then.
    """
    if isinstance(fault, Hangs) and model.watchdog is None:
        return True
    return (
        _is_as_set(output, fault)
        and all(
            hears_news(fault, item.name, value)
            for item in starts
            for value in item.values
            if is_active(item, value)
        )
        and all(rests_all_the_same(model, output, item, fault) for item in ends)
    )


def _is_as_set(output: Output, fault: Fault) -> bool:
    """Tell whether a hazard is never away from rest but where it is set so."""
    return (
        not isinstance(fault, Welded) or fault.output != output.name or fault.value == output.rest
    )


def may_start(model: Model, output: Output, hands: Hands) -> bool:
    """Tell whether a hazard may start from anywhere while no more is done than is known."""
    drive = _driving(model, output)
    return drive is None or not all(
        drive.rests_in(drive.after(spot, hands))
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
    for way in ways_from(region, spot):
        asks = any(not isinstance(a, InState) and a.name == name for a in atoms(way.when))
        holds = pressed.judge(way.when)
        if holds is not False and way.transition is not None and (asks or is_beaten):
            return True
        if holds and not way.timed:
            return False
        is_beaten = is_beaten or (asks and released.judge(way.when) is not False)
    return False
