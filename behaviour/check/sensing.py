"""`never ... for` and `whenever ... within` with inputs on their left: sensing is counted in.

Strategy: a left side is taken apart by its `and` into what is not sensed, parts that are about
inputs, and changes that it waits for (`left_side.py`). Clock 0 counts since what is not sensed
holds, clock k since part k does, and a part that came by an input's change is as if it had come so
much earlier.
"""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from behaviour.check.left_side import Left
from behaviour.check.watching import BREACH, NEVER, SURELY, Truth, join, truths
from behaviour.explore.guards import FAILS, HOLDS, Guard, Limit, Lows
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Moment, Next, going
from behaviour.model import Condition

QUIET = 0
"""The place of a stretch in which the rest does not hold, or that was answered."""


class Stretch(NamedTuple):
    """Where a left side is: how long its unsensed part has held, and since when inputs fit.

    `rest` says whether what is not sensed holds. `fits` has for each sensed part None (does not
    hold), 0 (holds since the rest does), or the sensing of the value that it came with since then.
    While the rest does not hold, nothing of them counts.
    """

    rest: bool = False
    fits: tuple[int | None, ...] = ()
    due: bool = False

    @property
    def holds(self) -> bool:
        return self.rest and all(fit is not None for fit in self.fits)


class _Places:
    """Numbers the stretches of one watch, 0 being the first."""

    def __init__(self, first: Stretch) -> None:
        self._numbers: dict[Stretch, int] = {first: 0}
        self._stretches: list[Stretch] = [first]

    def number(self, stretch: Stretch) -> int:
        if stretch not in self._numbers:
            self._numbers[stretch] = len(self._stretches)
            self._stretches.append(stretch)
        return self._numbers[stretch]

    def stretch(self, number: int) -> Stretch:
        return self._stretches[number]


class _Following(ABC):
    """A watch that follows a stretch of its left side from loop to loop."""

    def __init__(self, left: Left, loops: int) -> None:
        self.left, self.loops = left, loops
        self._first = Stretch(fits=(None,) * len(left.sensed))
        self._places = _Places(self._first)

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self._loop(number, self._first, moment, first=True)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        if place == BREACH:
            return (Next(BREACH),)
        return self._loop(number, self._places.stretch(place), moment, first=False)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        if place == BREACH:
            return ()
        return _clocks(self._places.stretch(place), self.loops + 1)

    @abstractmethod
    def _loop(self, number: int, was: Stretch, moment: Moment, *, first: bool) -> Iterator[Next]:
        """Give where a stretch goes in a loop."""


class SensedDuration(_Following):
    """`never ... for`: breaks once the left side, as if its inputs had come earlier, held too long.

    Clock 0 counts since the unsensed part holds, clock k since sensed part k does. A stretch as if
    its inputs had come earlier is longer than `loops` when every clock has come so far, each
    sensed one with its sensing counted in.
    """

    def __init__(self, left: Left, loops: int) -> None:
        super().__init__(left, loops)
        self._is_slow = left.slowest() > loops

    def _loop(self, number: int, was: Stretch, moment: Moment, *, first: bool) -> Iterator[Next]:
        for stretch, lows, highs, restarts in _advance(
            self.left, was, moment.left, moment.left, first=first, to_its_end=self._is_slow
        ):
            yield from self._too_slow(number, was, stretch, (lows, highs, restarts))
            yield from self._ends(number, stretch, lows, highs, restarts)

    def _too_slow(
        self,
        number: int,
        was: Stretch,
        stretch: Stretch,
        bounds: tuple[Lows, Lows, tuple[int, ...]],
    ) -> Iterator[Next]:
        """Break where the rest had held too long already before the news of an input came."""
        lows, highs, restarts = bounds
        news = [which - 1 for which in restarts if which > 0]
        if not news or not was.rest or any(fit is None for fit in stretch.fits):
            return
        if any((stretch.fits[which] or 0) <= self.loops for which in news):
            return
        before = tuple(0 if which in news else fit for which, fit in enumerate(stretch.fits))
        needs = _needs(Stretch(rest=True, fits=before), self.loops + 1)
        reached = tuple((("watch", number, which), least) for which, least in needs)
        yield Next(BREACH, lows + reached, highs)

    def _ends(
        self, number: int, stretch: Stretch, lows: Lows, highs: Lows, restarts: tuple[int, ...]
    ) -> Iterator[Next]:
        place = self._places.number(stretch) if stretch.rest else QUIET
        if stretch.holds:
            bounds = (lows, highs, restarts)
            yield from _split(number, _needs(stretch, self.loops), bounds, place)
        else:
            yield Next(place, lows, highs, restarts if stretch.rest else ())


class SensedResponse(_Following):
    """`whenever ... within`: breaks once an answer is overdue, the inputs as if they came earlier.

    While nothing is due, clock 0 counts since the unsensed part holds, or since the last answer.
    From the first loop in which the left side holds unanswered, the clocks go on until it is
    answered. An answer counts from the loop in which the left side does.
    """

    def __init__(self, left: Left, response: Condition, loops: int) -> None:
        super().__init__(left, loops)
        self.response = response

    def _loop(self, number: int, was: Stretch, moment: Moment, *, first: bool) -> Iterator[Next]:
        for answer in truths(moment.left.judge(self.response)):
            if was.due and not answer.holds:
                kept: tuple[Lows, Lows, tuple[int, ...]] = (answer.lows, answer.highs, ())
                yield from _split(number, _needs(was, self.loops), kept, self._places.number(was))
                continue
            before = self._first if was.due else was
            for stretch, lows, highs, restarts in _advance(
                self.left, before, moment.found, moment.left, first=first
            ):
                all_lows, all_highs = join(answer, Truth(holds=True, lows=lows, highs=highs))
                bounds = (all_lows, all_highs, restarts)
                if not stretch.holds:
                    yield Next(self._places.number(stretch), *bounds)
                elif answer.holds:
                    yield from self._answered(number, was, stretch, bounds)
                else:
                    due = Stretch(rest=True, fits=stretch.fits, due=True)
                    needs = _needs(due, self.loops)
                    yield from _split(number, needs, bounds, self._places.number(due))

    def _answered(
        self,
        number: int,
        was: Stretch,
        stretch: Stretch,
        bounds: tuple[Lows, Lows, tuple[int, ...]],
    ) -> Iterator[Next]:
        """Take an answer in the loop of the left side, unless its time was over before."""
        lows, highs, _ = bounds
        if was.holds or was.due:
            yield Next(QUIET, lows, highs)
        else:
            yield from _split(number, _needs(stretch, self.loops + 1), bounds, QUIET)


@dataclass(frozen=True, slots=True)
class ChangeResponse:
    """`whenever x becomes v ... within`: breaks once an answer to the change is overdue.

    Place 1 waits for it, and clock 0 counts since the loop of the change; whether another change
    comes meanwhile is all one. The time allowed is shorter by all of the sensing: `due` is what is
    left of it, below 0 where the sensing alone takes longer.
    """

    left: Left
    response: Condition
    due: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        if place == BREACH:
            yield going(BREACH)
            return
        due = self.due
        for came in self._comes(moment) if place == 0 else (NEVER,):
            if not came.holds and place == 0:
                yield going(0, came.lows, came.highs)
            elif due < 0 and came.holds:
                yield going(BREACH, came.lows, came.highs)
            else:
                for answer in truths(moment.left.judge(self.response)):
                    lows, highs = join(came, answer)
                    if answer.holds:
                        yield going(0, lows, highs)
                    elif place == 1:
                        yield going(BREACH, (*lows, (("watch", number, 0), due)), highs)
                        yield going(1, lows, highs)
                    else:
                        yield going(1 if due > 0 else BREACH, lows, highs, (0,))

    def _comes(self, moment: Moment) -> Iterator[Truth]:
        """Tell whether the change comes while the rest of the left side holds.

        Where one part of it surely fails, nobody looks at those after it; inputs come last.
        """
        now = moment.left
        asked: list[tuple[Sight, Condition | None]] = [(moment.found, self.left.rest)]
        asked += [(now, edge.condition) for edge in self.left.edges]
        asked += [(now, part.condition) for part in self.left.sensed]
        guards: list[Guard] = []
        for sight, condition in asked:
            guard = sight.judge(condition)
            if guard == FAILS:
                yield NEVER
                return
            if guard != HOLDS:
                guards.append(guard)
        if not guards:
            yield SURELY
            return
        for every in product(*map(truths, guards)):
            lows, highs = every[0].lows, every[0].highs
            for each in every[1:]:
                lows, highs = join(Truth(holds=True, lows=lows, highs=highs), each)
            yield Truth(all(each.holds for each in every), lows, highs)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return ((0, Limit(self.due)),) if place == 1 else ()


def _advance(
    left: Left, was: Stretch, found: Sight, now: Sight, *, first: bool, to_its_end: bool = False
) -> Iterator[tuple[Stretch, Lows, Lows, tuple[int, ...]]]:
    """Give the stretch after a loop, with bounds and the clocks that begin.

    What is not sensed is judged on `found`, inputs on `now`, and only where the rest holds; if
    `to_its_end` also in the loop in which it ends. A part that holds in the loop in which the rest
    begins is as if it had come no later, however much sooner: so from there on the rest alone says
    how long the left side has held.
    """
    for truth in truths(found.judge(left.rest)):
        begins = truth.holds and (first or not was.rest)
        is_asked = truth.holds or (to_its_end and was.rest)
        parts = [truths(now.judge(part.condition)) for part in left.sensed if is_asked]
        for fitting in product(*parts):
            lows, highs = truth.lows, truth.highs
            for fit in fitting:
                lows, highs = join(Truth(holds=True, lows=lows, highs=highs), fit)
            restarts = [0] if begins else []
            fits: list[int | None] = [None] * len(left.sensed)
            for which, fit in enumerate(fitting):
                if fit.holds and begins:
                    fits[which] = 0
                elif fit.holds and (since := was.fits[which]) is not None:
                    fits[which] = since
                elif fit.holds:
                    fits[which] = left.sensed[which].loops(now)
                    restarts.append(which + 1)
            yield Stretch(truth.holds, tuple(fits)), lows, highs, tuple(restarts)


def _needs(stretch: Stretch, loops: int) -> list[tuple[int, int]]:
    """List the clocks and what each must read for the stretch to be longer than `loops`."""
    needs = [(0, loops)]
    for which, fit in enumerate(stretch.fits):
        if fit:
            needs.append((which + 1, loops - fit))
    return [(which, least) for which, least in needs if least > 0]


def _clocks(stretch: Stretch, loops: int) -> list[tuple[int, Limit]]:
    found = [(0, Limit(loops))] if stretch.rest and loops > 0 else []
    for which, fit in enumerate(stretch.fits):
        if fit and loops - fit > 0:
            found.append((which + 1, Limit(loops - fit)))
    return found


def _split(
    number: int,
    needs: Sequence[tuple[int, int]],
    bounds: tuple[Lows, Lows, tuple[int, ...]],
    place: int,
) -> Iterator[Next]:
    """Give the breach where every clock has come so far, and the place where one need not have.

    A clock that begins in this loop reads 0. That the place is also given where every clock has
    come so far breaks nothing that is not broken anyway.
    """
    lows, highs, restarts = bounds
    if not any(which in restarts for which, _ in needs):
        reached = tuple((("watch", number, which), least) for which, least in needs)
        yield Next(BREACH, lows + reached, highs)
    if needs:
        yield Next(place, lows, highs, restarts)
