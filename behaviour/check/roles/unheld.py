"""runs-unheld and held-start-counts: what a button does that a hazard starts by.

runs-unheld: a transition took a hazard from rest, and with the `hold_to_run` released for long the
region's choice in that loop would not have; then in the loop in which that button is let go, or a
later one before it has come to rest, the hazard is still away.

held-start-counts: a `start` reads pressed since power-up, or has read pressed since before a reset
became active and that reset has read released again since; a hazard leaves rest, and would not have
with that `start` released all along. As long as no region has chosen otherwise because of it all is
as if it were released, and the loop itself shows it. Where one has, the start is `PERHAPS` why. It
is asked while it is held: what starts once it was let go, with no fresh press, starts unasked.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from behaviour.check.roles.otherwise import Otherwise, is_same
from behaviour.check.roles.seeing import is_active, is_away, leaves_rest, look, truly
from behaviour.check.watching import BREACH, Truth, join
from behaviour.explore.guards import Limit, atoms
from behaviour.explore.situations import Moment, Next
from behaviour.model import Compare, Input, InState, Output

FREE, RUNS = 0, 1


@dataclass(frozen=True, slots=True, eq=False)
class Unheld:
    """Breaks when a hazard that started because a button was held is away with it let go."""

    output: Output
    at: int
    owner: str
    button: Input
    number: int
    otherwise: Otherwise

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, FREE, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        away = is_away(moment, self.at, self.output)
        if place == BREACH:
            yield Next(BREACH)
        elif place == RUNS and away:
            held = is_active(self.button, truly(moment, self.number).value)
            yield Next(RUNS if held else BREACH)
        elif not self._is_taken(moment):
            yield Next(FREE)
        else:
            region = moment.model.region_index[self.owner]
            released = self.button.values[0]
            for away, lows, highs in self.otherwise.away(moment, region, self.output, released):
                yield Next(FREE if away else RUNS, lows, highs)

    def _is_taken(self, moment: Moment) -> bool:
        way = moment.ways[moment.model.region_index[self.owner]]
        return (
            way is not None
            and way.transition is not None
            and leaves_rest(moment, self.at, self.output)
            and is_active(self.button, look(moment, self.number).value)
        )

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


RELEASED, PRESSED, DURING, THROUGH, HELD = 0, 1, 2, 3, 4
APART = 8
"""Added to a place once some region has chosen what it would not have with the start released."""

PERHAPS = -2
"""A hazard started where what a held start did before may be why."""


@dataclass(frozen=True, slots=True, eq=False)
class HeldStart:
    """Breaks when a hazard starts because of a start that was held: since power-up, or by a reset.

    `PRESSED` is pressed before any reset, `DURING` since a reset that goes on, `THROUGH` since
    before one that goes on, and `HELD` counts. Without a `reset` power-up is what it is held by.
    Where no region of `regions` has chosen otherwise because of it, all is as if it were released.
    """

    output: Output
    at: int
    owner: str
    start: Input
    number: int
    reset: tuple[int, Input] | None
    regions: frozenset[str]
    otherwise: Otherwise = field()

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        del number
        yield from self._judged(self._next(None, moment), moment, apart=False)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        if place in (BREACH, PERHAPS):
            yield Next(place)
        else:
            yield from self._judged(self._next(place % APART, moment), moment, apart=place >= APART)

    def _judged(self, place: int, moment: Moment, *, apart: bool) -> Iterator[Next]:
        if place not in (THROUGH, HELD):
            yield Next(place)
        elif place != HELD or not leaves_rest(moment, self.at, self.output):
            for parts in (Truth(holds=True),) if apart else self._parts(moment):
                yield Next(place + APART if parts.holds else place, parts.lows, parts.highs)
        elif apart or self._is_rough(moment):
            yield Next(PERHAPS)
        else:
            yield from self._in_this_loop(place, moment)

    def _in_this_loop(self, place: int, moment: Moment) -> Iterator[Next]:
        region = moment.model.region_index[self.owner]
        released = self.start.values[0]
        for away, *bounds in self.otherwise.away(moment, region, self.output, released):
            would = Truth(away, *bounds)
            if not away:
                yield Next(BREACH, would.lows, would.highs)
                continue
            for parts in self._parts(moment):
                yield Next(place + APART if parts.holds else place, *join(would, parts))

    def _parts(self, moment: Moment) -> list[Truth]:
        """Tell whether some region chooses otherwise because of the start, or may do so unseen."""
        if self._is_rough(moment):
            return [Truth(holds=True)]
        found = [Truth(holds=False)]
        for region in range(len(moment.model.regions)):
            found = [
                Truth(one.holds or other.holds, *join(one, other))
                for one in found
                for other in self._parts_of(moment, region)
            ]
        return found

    def _parts_of(self, moment: Moment, region: int) -> list[Truth]:
        released = self.start.values[0]
        if moment.before is None:
            told = list(self.otherwise.options(moment, region, self._told(moment)))
            other = list(self.otherwise.options(moment, region, released))
            return [Truth(told != other)]
        if self.otherwise.chosen(moment, region, None) == self.otherwise.chosen(
            moment, region, released
        ):
            return [Truth(holds=False)]
        return [
            Truth(not is_same(option.way, moment.ways[region]), option.lows, option.highs)
            for option in self.otherwise.options(moment, region, released)
        ]

    def _told(self, moment: Moment) -> str:
        return look(moment, self.number).value

    def _is_rough(self, moment: Moment) -> bool:
        """Tell whether a region is left out, or a mechanism or another plug knows of the start."""
        model = moment.model
        wires = moment.opened.wires
        return (
            not self.regions <= set(model.region_index)
            or (bool(wires) and wires != tuple(range(len(wires))))
            or any(
                not isinstance(atom, InState | Compare) and atom.name == self.start.name
                for mechanism in model.mechanism
                for movement in mechanism.movements()
                for atom in atoms(movement.during)
            )
        )

    def _next(self, place: int | None, moment: Moment) -> int:
        """Say how the start is held after a loop; `place` is None at power-up."""
        if self.reset is None and place == RELEASED:
            return RELEASED
        if not is_active(self.start, look(moment, self.number).value):
            return RELEASED
        if self.reset is None or place == HELD:
            return HELD
        at, item = self.reset
        if is_active(item, look(moment, at).value):
            return THROUGH if place in (PRESSED, THROUGH) else DURING
        return HELD if place == THROUGH else PRESSED

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()
