"""runs-unheld and held-start-counts: what a button does in the loop in which a hazard starts.

Both ask what the hazard's region would have chosen in that very loop had the button been released
for long. runs-unheld: a transition took a hazard from rest, and with the `hold_to_run` released
the region's choice would not have; then in the loop in which that button reads released, or a later
one before it has come to rest, the hazard is still away. held-start-counts: a `start` reads pressed
since power-up, or has read pressed since before a reset became active and that reset has read
released again since; in such a loop a hazard leaves rest, and with that `start` released the
region's choice would not have made it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.seeing import is_active, is_away, leaves_rest, look
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit
from behaviour.explore.situations import Moment, Next
from behaviour.model import Input, Output

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
            held = is_active(self.button, look(moment, self.number).value)
            yield Next(RUNS if held else BREACH)
        elif not self._is_taken(moment):
            yield Next(FREE)
        else:
            region = moment.told.model.region_index[self.owner]
            released = self.button.values[0]
            for away, lows, highs in self.otherwise.away(moment, region, self.output, released):
                yield Next(FREE if away else RUNS, lows, highs)

    def _is_taken(self, moment: Moment) -> bool:
        way = moment.ways[moment.told.model.region_index[self.owner]]
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


@dataclass(frozen=True, slots=True, eq=False)
class HeldStart:
    """Breaks when a hazard starts because of a start that was held: since power-up, or by a reset.

    `PRESSED` is pressed before any reset, `DURING` since a reset that goes on, `THROUGH` since
    before one that goes on, and `HELD` counts. Without a `reset` power-up is what it is held by.
    """

    output: Output
    at: int
    owner: str
    start: Input
    number: int
    reset: tuple[int, Input] | None
    otherwise: Otherwise = field()

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        del number
        place = self._next(None, moment)
        yield from self._judged(place, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        if place == BREACH:
            yield Next(BREACH)
        else:
            yield from self._judged(self._next(place, moment), moment)

    def _judged(self, place: int, moment: Moment) -> Iterator[Next]:
        if place != HELD or not leaves_rest(moment, self.at, self.output):
            yield Next(place)
            return
        region = moment.told.model.region_index[self.owner]
        released = self.start.values[0]
        for away, lows, highs in self.otherwise.away(moment, region, self.output, released):
            yield Next(place if away else BREACH, lows, highs)

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
