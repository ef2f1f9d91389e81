"""Rules as automata that look at every loop beside the prop.

Strategy: a place of 0 is quiet and -1 is a breach; other places are numbered by each watch as it
needs them. A condition that asks clocks (`for`) splits a loop into those where it holds and those
where it does not. Stretches are measured by a clock that is 0 in their first loop, so a condition
that has held for n loops reads n - 1.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from behaviour.explore.guards import Guard, Lows, alternatives, atoms, count
from behaviour.explore.places import lower
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Moment, Next
from behaviour.model import (
    And,
    AtMost,
    Becomes,
    Condition,
    HeldFor,
    Is,
    Model,
    Never,
    Not,
    Or,
    Time,
    Whenever,
)
from behaviour.semantics import filter_loops

BREACH = -1


@dataclass(frozen=True, slots=True)
class Truth:
    """Whether a condition holds in a loop, under bounds on clocks."""

    holds: bool
    lows: Lows = ()
    highs: Lows = ()


def truths(guard: Guard) -> list[Truth]:
    """Split a loop by a guard: where it holds, and where it does not."""
    if not guard:
        return [Truth(holds=False)]
    if () in guard:
        return [Truth(holds=True)]
    found = [Truth(holds=True, lows=lows) for lows in guard]
    for bounds in product(*guard):
        highs: Lows | None = ()
        for clock, least in bounds:
            highs = None if highs is None else lower(highs, clock, least - 1)
        if highs is not None:
            found.append(Truth(holds=False, highs=highs))
    return found


def join(first: Truth, second: Truth) -> tuple[Lows, Lows]:
    """Put the bounds of two truths together."""
    highs = first.highs
    for clock, most in second.highs:
        highs = lower(highs, clock, most) or highs
    return first.lows + second.lows, highs


@dataclass(frozen=True, slots=True)
class Simple:
    """Breaks in the loop in which `condition` is `wrong`: `never` and `at all times`."""

    condition: Condition
    wrong: bool

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number
        for truth in truths(moment.left.judge(self.condition)):
            to = BREACH if truth.holds == self.wrong or place == BREACH else 0
            yield Next(to, truth.lows, truth.highs)

    def limits(self, place: int) -> Sequence[tuple[int, int]]:
        del place
        return ()


@dataclass(frozen=True, slots=True)
class Duration:
    """Breaks once `condition` has held for more than `loops` loops without a break."""

    condition: Condition
    loops: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        clock = ("watch", number, 0)
        for truth in truths(moment.left.judge(self.condition)):
            if place == BREACH:
                yield Next(BREACH, truth.lows, truth.highs)
            elif not truth.holds:
                yield Next(0, truth.lows, truth.highs)
            elif place == 0:
                yield Next(BREACH if self.loops == 0 else 1, truth.lows, truth.highs, (0,))
            else:
                yield Next(BREACH, (*truth.lows, (clock, self.loops)), truth.highs)
                highs = lower(truth.highs, clock, self.loops - 1)
                if highs is not None:
                    yield Next(1, truth.lows, highs)

    def limits(self, place: int) -> Sequence[tuple[int, int]]:
        return ((0, self.loops),) if place == 1 else ()


# --- Sensing ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sensed:
    """One part of a left side that is about a single input, with the sensing of each value."""

    condition: Condition
    input: int
    sensing: tuple[tuple[str, int], ...]

    def loops(self, value: str) -> int:
        return dict(self.sensing)[value]


@dataclass(frozen=True, slots=True)
class Left:
    """A left side taken apart: what is not sensed, what is, and the changes it waits for."""

    rest: Condition | None
    sensed: tuple[Sensed, ...]
    edges: tuple[Sensed, ...]

    def slowest(self) -> int:
        """Give the most loops of sensing that any part counts in."""
        return max(
            (loops for part in (*self.sensed, *self.edges) for _, loops in part.sensing), default=0
        )


def left_side(model: Model, condition: Condition) -> Left | None:
    """Take a left side apart by its `and`.

    None if inputs stand in it in another way, or one input in two parts of it.
    """
    rest: list[Condition] = []
    sensed: list[Sensed] = []
    edges: list[Sensed] = []
    for part in _conjuncts(condition):
        names = _inputs(model, part)
        if not names:
            rest.append(part)
        elif isinstance(part, Becomes):
            edges.append(_sensed(model, part, (part.value,)))
        elif (literal := _literal(model, part)) is not None:
            sensed.append(literal)
        else:
            return None
    named = [part.input for part in (*sensed, *edges)]
    if len(named) != len(set(named)):
        return None
    whole = None if not rest else rest[0] if len(rest) == 1 else And(tuple(rest))
    return Left(whole, tuple(sensed), tuple(edges))


def _conjuncts(condition: Condition) -> Iterator[Condition]:
    if isinstance(condition, And):
        for part in condition.parts:
            yield from _conjuncts(part)
    else:
        yield condition


def _inputs(model: Model, condition: Condition) -> set[str]:
    match condition:
        case And(parts=parts) | Or(parts=parts):
            return {name for part in parts for name in _inputs(model, part)}
        case Not(part=part):
            return _inputs(model, part)
        case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
            return {name} & model.input_index.keys()
        case _:
            return set()


def _literal(model: Model, part: Condition) -> Sensed | None:
    match part:
        case Is(name=name, values=values, negated=negated):
            every = model.input[name].values
            chosen = tuple(v for v in every if (v in values) != negated)
            return _sensed(model, part, chosen)
        case HeldFor(value=value):
            return _sensed(model, part, (value,))
        case Not(part=Is(name=name, values=values, negated=negated, span=span)):
            return _literal(model, Is(name, values, not negated, span))
        case _:
            return None


def _sensed(model: Model, part: Is | Becomes | HeldFor, values: Sequence[str]) -> Sensed:
    item = model.input[part.name]
    sensing = tuple((value, filter_loops(model, item, value) + 1) for value in values)
    return Sensed(part, model.input_index[part.name], sensing)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Where a left side is: how long its unsensed part has held, and since when inputs fit.

    `rest` says whether what is not sensed holds. `fits` has for each sensed part None (does not
    hold), 0 (holds since before anything that counts), or the sensing of the value it came with.
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


class SensedDuration:
    """`never ... for`: breaks once the left side, as if its inputs had come earlier, held too long.

    Clock 0 counts since the unsensed part holds, clock k since sensed part k does. A stretch as if
    its inputs had come earlier is longer than `loops` when every clock has come so far, each
    sensed one with its sensing counted in.
    """

    def __init__(self, model: Model, left: Left, loops: int) -> None:
        self.model, self.left, self.loops = model, left, loops
        self._places = _Places(Stretch(fits=(None,) * len(left.sensed)))

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self._loop(number, Stretch(fits=(None,) * len(self.left.sensed)), moment, first=True)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        if place == BREACH:
            return (Next(BREACH),)
        return self._loop(number, self._places.stretch(place), moment, first=False)

    def _loop(self, number: int, was: Stretch, moment: Moment, *, first: bool) -> Iterator[Next]:
        for stretch, lows, highs, restarts in _advance(
            self.left, was, moment.left, moment.left, first=first
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
        if not stretch.holds:
            yield Next(self._places.number(stretch), lows, highs, restarts)
            return
        yield from _split(
            number,
            _needs(stretch, self.loops),
            (lows, highs, restarts),
            self._places.number(stretch),
        )

    def limits(self, place: int) -> Sequence[tuple[int, int]]:
        if place == BREACH:
            return ()
        return _clocks(self._places.stretch(place), self.loops + 1)


class SensedResponse:
    """`whenever ... within`: breaks once an answer is overdue, the inputs as if they came earlier.

    While nothing is due, clock 0 counts since the unsensed part holds, or since the last answer.
    From the first loop in which the left side holds unanswered, the clocks go on until it is
    answered. An answer counts from the loop in which the left side does.
    """

    def __init__(self, model: Model, left: Left, response: Condition, loops: int) -> None:
        self.model, self.left, self.response, self.loops = model, left, response, loops
        self._places = _Places(Stretch(fits=(None,) * len(left.sensed)))
        self._shorter = max((loops for part in left.edges for _, loops in part.sensing), default=0)

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self._loop(number, Stretch(fits=(None,) * len(self.left.sensed)), moment, first=True)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        if place == BREACH:
            return (Next(BREACH),)
        return self._loop(number, self._places.stretch(place), moment, first=False)

    def _loop(self, number: int, was: Stretch, moment: Moment, *, first: bool) -> Iterator[Next]:
        for answer in truths(moment.left.judge(self.response)):
            if was.due and not answer.holds:
                kept: tuple[Lows, Lows, tuple[int, ...]] = (answer.lows, answer.highs, ())
                yield from _split(number, self._needs(was), kept, self._places.number(was))
                continue
            before = _quiet(was) if was.due else was
            for stretch, lows, highs, restarts in _advance(
                self.left, before, moment.found, moment.left, first=first
            ):
                all_lows, all_highs = join(answer, Truth(holds=True, lows=lows, highs=highs))
                bounds = (all_lows, all_highs, restarts)
                came = all(moment.left.judge(part.condition) for part in self.left.edges)
                if not (stretch.holds and came):
                    yield Next(self._places.number(stretch), *bounds)
                elif answer.holds:
                    yield from self._answered(number, was, stretch, bounds)
                else:
                    yield from self._unanswered(number, stretch, bounds)

    def _answered(
        self,
        number: int,
        was: Stretch,
        stretch: Stretch,
        bounds: tuple[Lows, Lows, tuple[int, ...]],
    ) -> Iterator[Next]:
        """Take an answer in the loop of the left side, unless its time was over before."""
        lows, highs, _ = bounds
        quiet = self._places.number(_quiet(stretch))
        if self.left.edges:
            late = self.loops < self._shorter
            yield Next(BREACH if late else quiet, lows, highs)
        elif was.holds or was.due:
            yield Next(quiet, lows, highs)
        else:
            yield from _split(number, _needs(stretch, self.loops + 1), bounds, quiet)

    def _unanswered(
        self, number: int, stretch: Stretch, bounds: tuple[Lows, Lows, tuple[int, ...]]
    ) -> Iterator[Next]:
        lows, highs, restarts = bounds
        due = Stretch(rest=True, fits=stretch.fits, due=True)
        if self.left.edges:
            # the time counts from the change itself
            due = Stretch(rest=True, fits=tuple(0 for _ in stretch.fits), due=True)
            restarts = (0,)
            if self.loops < self._shorter:
                yield Next(BREACH, lows, highs)
                return
        yield from _split(
            number, self._needs(due), (lows, highs, restarts), self._places.number(due)
        )

    def _needs(self, stretch: Stretch) -> list[tuple[int, int]]:
        if self.left.edges:
            needed = self.loops - self._shorter
            return [(0, needed)] if needed > 0 else []
        return _needs(stretch, self.loops)

    def limits(self, place: int) -> Sequence[tuple[int, int]]:
        if place == BREACH:
            return ()
        return _clocks(self._places.stretch(place), self.loops + 1)


def _quiet(stretch: Stretch) -> Stretch:
    """Give a stretch that was answered: what holds on counts from the next loop."""
    return Stretch(rest=False, fits=tuple(None if fit is None else 0 for fit in stretch.fits))


def _advance(
    left: Left, was: Stretch, found: Sight, now: Sight, *, first: bool
) -> Iterator[tuple[Stretch, Lows, Lows, tuple[int, ...]]]:
    """Give the stretch after a loop, with bounds and the clocks that begin.

    What is not sensed is judged on `found`, inputs on `now`. What holds in the first loop of all
    began then, and no earlier.
    """
    rests = truths(found.judge(left.rest))
    parts = [truths(now.judge(part.condition)) for part in left.sensed]
    for truth, *fitting in product(rests, *parts):
        lows, highs = truth.lows, truth.highs
        for fit in fitting:
            lows, highs = join(Truth(holds=True, lows=lows, highs=highs), fit)
        restarts = [] if (was.rest and not first) or not truth.holds else [0]
        fits: list[int | None] = []
        for which, (part, fit) in enumerate(zip(left.sensed, fitting, strict=True)):
            before = was.fits[which]
            if not fit.holds:
                fits.append(None)
            elif first:
                fits.append(0)
            elif before is not None:
                fits.append(before)
            else:
                value = now.look(part.input)
                fits.append(part.loops(value.value) if value is not None else 0)
                restarts.append(which + 1)
        yield Stretch(truth.holds, tuple(fits)), lows, highs, tuple(restarts)


def _needs(stretch: Stretch, loops: int) -> list[tuple[int, int]]:
    """List the clocks and what each must read for the stretch to be longer than `loops`."""
    needs = [(0, loops)]
    for which, fit in enumerate(stretch.fits):
        if fit:
            needs.append((which + 1, loops - fit))
    return [(which, least) for which, least in needs if least > 0]


def _clocks(stretch: Stretch, loops: int) -> list[tuple[int, int]]:
    found = [(0, loops)] if stretch.rest and loops > 0 else []
    for which, fit in enumerate(stretch.fits):
        if fit and loops - fit > 0:
            found.append((which + 1, loops - fit))
    return found


def _split(
    number: int,
    needs: Sequence[tuple[int, int]],
    bounds: tuple[Lows, Lows, tuple[int, ...]],
    place: int,
) -> Iterator[Next]:
    """Give the breach where every clock has come so far, and the place where one has not.

    A clock that begins in this loop reads 0.
    """
    lows, highs, restarts = bounds
    old = [(which, least) for which, least in needs if which not in restarts]
    if len(old) == len(needs):
        reached = tuple((("watch", number, which), least) for which, least in old)
        yield Next(BREACH, lows + reached, highs)
    else:
        yield Next(place, lows, highs, restarts)
        return
    for which, least in old:
        below = lower(highs, ("watch", number, which), least - 1)
        if below is not None:
            yield Next(place, lows, below, restarts)


# --- One watch a rule ---------------------------------------------------------------------------

Watching = Simple | Duration | SensedDuration | SensedResponse


def watches_of(model: Model, rule: Never | AtMost | Whenever) -> list[Watching] | None:
    """Give the watches of a rule, any of which breaks it; None if it cannot be watched yet."""
    match rule:
        case AtMost(condition=condition, limit=limit):
            return [Duration(condition, count(model, limit))]
        case Never(condition=condition, limit=None):
            return [Simple(condition, wrong=True)]
        case Never(condition=condition, limit=limit):
            return _never_for(model, condition, limit)
        case Whenever(trigger=trigger, response=response, limit=limit):
            loops = count(model, limit)
            if any(isinstance(a, Becomes) and a.name in model.output for a in atoms(trigger)):
                return None
            found: list[Watching] = []
            for way in alternatives(trigger):
                left = left_side(model, way)
                if left is None:
                    return None
                found.append(SensedResponse(model, left, response, loops))
            return found


def _never_for(model: Model, condition: Condition, limit: Time | None) -> list[Watching] | None:
    if limit is None:
        return None
    loops = count(model, limit)
    left = left_side(model, condition)
    if left is None:
        return None
    if left.edges or not left.sensed:
        return [Duration(condition, loops)]
    return [SensedDuration(model, left, loops)]


def slowest_sensing(model: Model, rule: Never | Whenever) -> int:
    """Give the most loops of sensing that a rule's left side counts in."""
    condition = rule.trigger if isinstance(rule, Whenever) else rule.condition
    sides = [left_side(model, way) for way in alternatives(condition)]
    return max((side.slowest() for side in sides if side is not None), default=0)
