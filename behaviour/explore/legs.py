"""Paths of moves and when each move can happen: the times of a run, or the clocks that forbid it.

Strategy: the loops of the moves are unknown whole numbers. Guards, bounds on waiting and order are
differences between two of them, so the earliest run is a longest path (Bellman and Ford), and a
round of positive length names the clocks that cannot be met together. An input that the search
did not follow is given the fewest changes that the path asks for; they are differences too. What
times of regions, movements and watches forbid alone is blamed on them, since nothing more must be
followed to see it; whatever is to blame, a search that looks at it does not find that path again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from behaviour.explore.guards import Clock, Lows
from behaviour.explore.lines import true_clock
from behaviour.explore.opened import Change
from behaviour.explore.search import Hit, Node
from behaviour.explore.situations import Moment, Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.surroundings import filter_clock, since_clock, spacing, truly_clock
from behaviour.explore.zones import FREE, Zone
from behaviour.semantics import filter_loops


@dataclass(frozen=True, slots=True)
class Leg:
    """One move of a path, after waiting in `stay`, or one loop of a stay itself (`move` None).

    `lows` are bounds that a mark adds; `piece` is a zone over the clocks of the situation before
    that they are to be in when a stay (without a move) ends.
    """

    space: Space
    before: Situation | None
    stay: Stay | None
    move: Move | None
    lows: Lows = ()
    piece: Zone | None = None

    @property
    def moment(self) -> Moment:
        """Give the loop that the leg ends in."""
        if self.move is not None:
            return self.move.moment
        if self.stay is None:
            raise AssertionError("a leg without a move waits")
        return self.stay.moment


class When(NamedTuple):
    """A loop of a run: so many after the loop of a leg."""

    leg: int
    later: int = 0


class Shift(NamedTuple):
    """An input that the search did not follow changes to `value`."""

    at: When
    value: str


@dataclass(frozen=True, slots=True)
class Schedule:
    """The earliest loop of each leg, what unfollowed inputs begin with, and how they change."""

    loops: tuple[int, ...]
    first: dict[int, str]
    shifts: dict[int, list[Shift]]
    started: tuple[dict[Clock, When], ...]

    def age(self, leg: int, clock: Clock) -> int:
        """Give what a clock reads in the loop of a leg, before the leg starts it again."""
        start = self.started[leg].get(clock, When(0))
        return self.loops[leg] - self.loops[start.leg] - start.later


@dataclass(frozen=True, slots=True)
class Blame:
    """Why a path cannot be: clocks to be tracked, or inputs to be followed, to see it."""

    clocks: frozenset[Clock] = frozenset()
    follow: frozenset[int] = frozenset()


class _Edge(NamedTuple):
    """Leg `later` is at least `least` loops after leg `sooner`, because of `clock`."""

    later: int
    sooner: int
    least: int
    clocks: tuple[Clock, ...] = ()


def legs_to(space: Space, node: Node) -> list[Leg]:
    """Give the path from where a search began to a node."""
    legs: list[Leg] = []
    at: Node | None = node
    while at is not None:
        before = None if at.parent is None else at.parent.situation
        legs.append(Leg(space, before, at.stay, at.move))
        at = at.parent
    legs.reverse()
    return legs


def legs_of(space: Space, hit: Hit) -> list[Leg]:
    """Give the path from where a search began to where a mark was met."""
    if isinstance(hit.move, Stay):
        if hit.node is None:
            raise AssertionError("a search does not begin with a stay")
        last = Leg(space, hit.node.situation, hit.move, None, hit.lows)
        return [*legs_to(space, hit.node), last]
    if hit.node is None:
        return [Leg(space, None, None, hit.move)]
    last = Leg(space, hit.node.situation, hit.stay, hit.move, hit.lows)
    return [*legs_to(space, hit.node), last]


def schedule(legs: Sequence[Leg]) -> Schedule | Blame:
    """Give the earliest times of a path, or what forbids it."""
    first, shifts, wrong = _unfollowed(legs)
    started: list[dict[Clock, When]] = []
    bounds = list(_bounds(legs, shifts, started))
    if wrong is not None:
        plainly = _longest([e for e in bounds if not any(map(_is_read, e.clocks))], len(legs))
        return plainly if isinstance(plainly, Blame) else Blame(follow=frozenset({wrong}))
    edges = [*_between_shifts(legs, shifts), *bounds]
    times = _longest(edges, len(legs))
    if isinstance(times, Blame):
        return _least_blame(edges, times, legs)
    return Schedule(tuple(times), first, shifts, tuple(started))


def _least_blame(edges: Sequence[_Edge], blame: Blame, legs: Sequence[Leg]) -> Blame:
    """Leave out of what is to blame the clocks of inputs without which the path cannot be either.

    To track one its input must be followed, which makes several of each situation.
    """
    tracked = legs[0].space.tracked or frozenset()
    new = {clock for clock in blame.clocks - tracked if _is_read(clock)}
    for clock in sorted(new):
        fewer = [edge for edge in edges if clock not in edge.clocks]
        found = _longest(fewer, len(legs))
        if isinstance(found, Blame) and not any(map(_is_read, found.clocks - tracked - new)):
            return _least_blame(fewer, found, legs)
    return blame


def _is_read(clock: Clock) -> bool:
    """Tell whether a clock is one of an input."""
    return clock[0] not in ("region", "movement", "watch")


# --- Clocks -------------------------------------------------------------------------------------


def _bounds(  # noqa: C901
    legs: Sequence[Leg], shifts: dict[int, list[Shift]], started: list[dict[Clock, When]]
) -> Iterator[_Edge]:
    """List the bounds of every leg, and note in `started` where each clock began before it."""
    begun: dict[Clock, When] = {}
    for at, leg in enumerate(legs):
        if at:
            yield _Edge(at, at - 1, 1)
            if leg.stay is None:
                yield _Edge(at - 1, at, -1)
        if leg.stay is not None:
            waiting = _with_shifts(leg, begun, shifts, When(at - 1, 1))
            slack = 1 if leg.move is not None else 0
            for clock, most in leg.stay.moment.highs:
                yield _most(clock, waiting, When(at), most + slack)
            for clock, least in leg.stay.moment.lows:
                yield _least(clock, waiting, When(at - 1, 1), least)
        now = _with_shifts(leg, begun, shifts, When(at))
        started.append(dict(now))
        for clock, least in leg.lows:
            yield _least(clock, now, When(at), least)
        if leg.piece is not None and leg.before is not None:
            clocks = list(leg.space.clocks(leg.before))
            yield from _in_piece(When(at), [now.get(c, When(0)) for c in clocks], leg.piece, clocks)
        if leg.move is not None:
            if at:
                for clock, least in leg.moment.lows:
                    yield _least(clock, now, When(at), least)
                for clock, most in leg.moment.highs:
                    yield _most(clock, now, When(at), most)
            begun.update(dict.fromkeys(leg.move.restarts, When(at)))


def _with_shifts(
    leg: Leg, begun: dict[Clock, When], shifts: dict[int, list[Shift]], now: When
) -> dict[Clock, When]:
    found = dict(begun)
    for number, changes in shifts.items():
        for shift in changes:
            if (shift.at.leg, shift.at.later) <= (now.leg, now.later):
                found[since_clock(number)] = shift.at
                found[truly_clock(leg.space.model, number)] = shift.at
                found[true_clock(number)] = shift.at
                found[filter_clock(number)] = shift.at
    return found


def _least(clock: Clock, begun: dict[Clock, When], now: When, least: int) -> _Edge:
    start = begun.get(clock, When(0))
    return _Edge(now.leg, start.leg, least + start.later - now.later, (clock,))


def _most(clock: Clock, begun: dict[Clock, When], now: When, most: int) -> _Edge:
    start = begun.get(clock, When(0))
    return _Edge(start.leg, now.leg, now.later - start.later - most, (clock,))


def _in_piece(
    now: When, starts: Sequence[When], piece: Zone, clocks: Sequence[Clock]
) -> Iterator[_Edge]:
    """List the bounds of a zone: clock i reads `now` less its start."""
    size = len(starts) + 1
    ends = [now, *starts]
    for i in range(size):
        for j in range(size):
            bound = piece[i * size + j]
            if i != j and bound < FREE:
                # x_i - x_j <= bound, where x_i = now - start_i and x_0 = now - now
                late, soon = ends[i], ends[j]
                involved = tuple(clocks[k - 1] for k in (i, j) if k)
                yield _Edge(late.leg, soon.leg, soon.later - late.later - bound, involved)


# --- Inputs that the search did not follow ------------------------------------------------------


def _unfollowed(
    legs: Sequence[Leg],
) -> tuple[dict[int, str], dict[int, list[Shift]], int | None]:
    """Choose the changes of each input that was left open, or name those to be followed."""
    space = legs[0].space
    first: dict[int, str] = {}
    shifts: dict[int, list[Shift]] = {}
    wrong: int | None = None
    for number in range(len(space.model.inputs)):
        if number in space.followed:
            continue
        begin, changes, fits = _changes_of(legs, number)
        if number in space.circuit.lines and not space.circuit.stops:
            changes, fits = [], not any(_is_looked_at(leg, number) for leg in legs)
        first[number] = begin
        shifts[number] = changes
        if not fits and wrong is None:
            wrong = number
    return first, shifts, wrong


def unfollowed_lines(legs: Sequence[Leg]) -> Iterator[int]:
    """List the inputs on lines that the search did not follow, and that somebody looks at."""
    space = legs[0].space
    for number in sorted(space.circuit.lines - space.followed):
        if any(_is_looked_at(leg, number) for leg in legs):
            yield number


def _is_looked_at(leg: Leg, number: int) -> bool:
    steps = (leg.stay, leg.move)
    return any(step is not None and not step.moment.opened.is_open(number) for step in steps)


class _Need(NamedTuple):
    """A loop in which an input must be seen in one of some ways: a value, and whether just come.

    With `is_true` what is told is also what truly is.
    """

    at: When
    ways: tuple[tuple[str, bool], ...]
    is_true: bool


def _needs(legs: Sequence[Leg], number: int) -> Iterator[_Need]:
    for at, leg in enumerate(legs):
        if at == 0 or leg.before is None:
            continue
        if leg.stay is not None:
            yield from _need(When(at - 1, 1), leg.stay.moment, number)
        if leg.move is not None:
            yield from _need(When(at), leg.move.moment, number)


def _need(at: When, moment: Moment, number: int) -> Iterator[_Need]:
    if moment.opened.is_open(number):
        return
    left = moment.opened.left(number)
    true = [change for change in left if _is_so(change)]
    ways = dict.fromkeys((change.seen.value, change.seen.became) for change in true or left)
    yield _Need(at, tuple(ways), is_true=bool(true))


def _is_so(change: Change) -> bool:
    """Tell whether what is told is what is there, and has come when that came."""
    told, truly = change.seen, change.truly
    return (told.value, told.became) == (truly.value, truly.became)


def _changes_of(legs: Sequence[Leg], number: int) -> tuple[str, list[Shift], bool]:
    """Give what an input begins with, how it changes, and whether that does for all needs."""
    needs = list(_needs(legs, number))
    now, fits = _first_value(legs, number, needs)
    fits = fits and all(need.is_true for need in needs)
    begin, changes = now, list[Shift]()
    last = When(0)
    for need in needs:
        if (now, False) not in need.ways:
            value, comes = _nearest(need, now)
            if not comes or value == now:
                # it changes unseen before, so as to be quiet now, or to come now
                between = When(need.at.leg - 1, 1)
                has_room = need.at.later == 0 and need.at.leg > 0 and between > last
                fits = fits and has_room and not _looks(legs, between.leg + 1, number)
                changes.append(Shift(between, value if not comes else _other(legs, number, value)))
            if comes:
                changes.append(Shift(need.at, value))
            now = value
        last = need.at
    return begin, changes, fits


def _nearest(need: _Need, now: str) -> tuple[str, bool]:
    """Choose how an input is seen that reads `now`: best by coming to another value."""
    return max(need.ways, key=lambda way: (way[1] and way[0] != now, way[1]))


def _first_value(legs: Sequence[Leg], number: int, needs: Sequence[_Need]) -> tuple[str, bool]:
    """Choose what an input is told to be at power-up, and tell whether it is also true."""
    space, opened = legs[0].space, legs[0].moment.opened
    item = space.model.inputs[number]
    if opened.is_open(number):
        now = item.values[0]
        if needs:
            value, comes = min(needs[0].ways, key=lambda way: way[1])
            now = _other(legs, number, value) if comes else value
        if item.presumed is not None and now == item.safe:
            now = item.presumed
        return now, True
    left = opened.left(number)
    wanted = {value for value, comes in (needs[0].ways if needs else ()) if not comes}
    change = min(
        left,
        key=lambda c: (c.truly.value != c.seen.value, bool(wanted) and c.seen.value not in wanted),
    )
    is_judged = number in space.judged
    return change.seen.value, not is_judged or change.truly.value == change.seen.value


def _other(legs: Sequence[Leg], number: int, value: str) -> str:
    item = legs[0].space.model.inputs[number]
    return next(other for other in item.values if other != value)


def _looks(legs: Sequence[Leg], at: int, number: int) -> bool:
    """Tell whether waiting before leg `at` is done under the eyes of somebody."""
    stay = legs[at].stay
    return stay is None or not stay.moment.opened.is_open(number)


def _between_shifts(legs: Sequence[Leg], shifts: dict[int, list[Shift]]) -> Iterator[_Edge]:
    model = legs[0].space.model
    for number, changes in shifts.items():
        clocks = spacing(model, number)
        before = When(0)
        for shift in changes:
            apart = filter_loops(model, model.inputs[number], shift.value) + 1
            least = apart + before.later - shift.at.later
            yield _Edge(shift.at.leg, before.leg, least, clocks)
            before = shift.at


# --- Longest paths ------------------------------------------------------------------------------


def _longest(edges: Sequence[_Edge], count: int) -> list[int] | Blame:
    times = [0] * count
    cause: list[_Edge | None] = [None] * count
    moved = 0
    for _ in range(count + 1):
        moved = -1
        for edge in edges:
            if times[edge.sooner] + edge.least > times[edge.later]:
                times[edge.later] = times[edge.sooner] + edge.least
                cause[edge.later] = edge
                moved = edge.later
        if moved < 0:
            return times
    return Blame(_round(cause, moved))


def _round(cause: Sequence[_Edge | None], at: int) -> frozenset[Clock]:
    """Walk back along causes until a leg comes again, and name the clocks of that round."""
    seen: set[int] = set()
    while at not in seen:
        seen.add(at)
        edge = cause[at]
        if edge is None:
            return frozenset()
        at = edge.sooner
    clocks: set[Clock] = set()
    stop = at
    while True:
        edge = cause[at]
        if edge is None:
            break
        clocks.update(edge.clocks)
        at = edge.sooner
        if at == stop:
            break
    return frozenset(clocks)
