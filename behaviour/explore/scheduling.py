"""When each move of a path can happen: the times of a run, or the clocks that forbid it.

Strategy: the loops of the moves are unknown whole numbers. Guards, bounds on waiting and order are
differences between two of them, so the earliest run is a longest path (Bellman and Ford), and a
round of positive length names the clocks that cannot be met together. The changes that inputs need
which the search did not follow are differences too. What times of regions, movements and watches
forbid alone is blamed on them, or what those of followed inputs do too, since nothing more must be
followed to see it; whatever is to blame, a search that looks at it does not find that path again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from behaviour.explore.guards import Clock, is_read
from behaviour.explore.legs import Leg, Shift, When
from behaviour.explore.lines import true_clock
from behaviour.explore.surroundings import filter_clock, since_clock, spacing, truly_clock
from behaviour.explore.turns import is_mistold, kept_from, may_turn
from behaviour.explore.unfollowed import Unfollowed, is_at_fault, unfollowed
from behaviour.explore.zones import FREE, Zone
from behaviour.semantics import filter_loops


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
    """Why a path cannot be: clocks to be tracked, or inputs to be followed, to see it.

    With `recalls` it is to be kept which guards were told as they are.
    """

    clocks: frozenset[Clock] = frozenset()
    follow: frozenset[int] = frozenset()
    recalls: bool = False


class _Edge(NamedTuple):
    """Leg `later` is at least `least` loops after leg `sooner`, because of `clock`."""

    later: int
    sooner: int
    least: int
    clocks: tuple[Clock, ...] = ()


def schedule(legs: Sequence[Leg]) -> Schedule | Blame:
    """Give the earliest times of a path, or what forbids it."""
    return _scheduled(legs, unfollowed(legs))


def _scheduled(legs: Sequence[Leg], changes: Unfollowed) -> Schedule | Blame:
    first, shifts, wrong = changes
    started: list[dict[Clock, When]] = []
    bounds = list(_bounds(legs, shifts, started))
    if wrong:
        return _untimely(legs, bounds, wrong) or _to_follow(legs, wrong)
    edges = [*_between_shifts(legs, shifts), *bounds]
    times = _longest(edges, len(legs))
    if isinstance(times, Blame):
        return _least_blame(edges, times, legs)
    return _settled(Schedule(tuple(times), first, shifts, tuple(started)), len(legs))


def _settled(plan: Schedule, count: int) -> Schedule:
    """Tell by legs alone when inputs change that could do so in any of several loops."""
    times = plan.loops
    if len(times) == count:
        return plan

    def settled(when: When) -> When:
        return when if when.leg < count else When(0, times[when.leg] - times[0])

    shifts = {
        number: [Shift(settled(shift.time), shift.value) for shift in changes]
        for number, changes in plan.shifts.items()
    }
    started = [{clock: settled(when) for clock, when in each.items()} for each in plan.started]
    return Schedule(times[:count], plan.first, shifts, tuple(started))


def forbids(legs: Sequence[Leg]) -> Schedule | Blame | None:
    """Give the earliest times of a path, or what forbids it; None where nothing is known to.

    Inputs for which no changes were found need only be able to turn somehow, looked at one by one.
    """
    changes = unfollowed(legs)
    found = _fits(legs, changes)
    if not isinstance(found, Blame) or not found.follow:
        return found
    never = [number for number in changes.wrong if not may_turn(legs, number)]
    return _to_follow(legs, never) if never else None


def fits(legs: Sequence[Leg]) -> Schedule | Blame:
    """Do as `schedule` does, where nobody will be told the way.

    Where a guard that is not followed can only be told what it is not, it is first recalled.
    """
    return _fits(legs, unfollowed(legs))


def _fits(legs: Sequence[Leg], changes: Unfollowed) -> Schedule | Blame:
    found = _scheduled(legs, changes)
    if not isinstance(found, Blame) or legs[0].space.recalls:
        return found
    is_of_inputs = bool(found.follow) or any(map(is_read, found.clocks))
    wrong = changes.wrong if is_of_inputs else ()
    return Blame(recalls=True) if any(is_mistold(legs, number) for number in wrong) else found


def _to_follow(legs: Sequence[Leg], wrong: Sequence[int]) -> Blame:
    """Name the input to be followed of several: best one whose line is at fault.

    What such a line reads is where most goes wrong. Else best one that is judged by whoever looks
    on.
    """
    space = legs[0].space

    def last(number: int) -> tuple[bool, bool]:
        return not is_at_fault(space, number), number not in space.judged

    return Blame(follow=frozenset({min(wrong, key=last)}))


def _untimely(legs: Sequence[Leg], bounds: Sequence[_Edge], wrong: Sequence[int]) -> Blame | None:
    """Name the clocks that forbid a path whenever those inputs turn that no changes were found for.

    Each must be kept for as long as it is asked to be, after it was last seen otherwise.
    """
    plain = [edge for edge in bounds if not any(map(is_read, edge.clocks))]
    times = _longest(plain, len(legs))
    if isinstance(times, Blame):
        return times
    kept = (
        _Edge(leg, since, least, (since_clock(number),))
        for number in wrong
        for leg, since, least in kept_from(legs, number)
    )
    edges = [*plain, *kept]
    times = _longest(edges, len(legs))
    return (
        _least_blame(edges, times, legs) if isinstance(times, Blame) else _by_followed(legs, bounds)
    )


def _by_followed(legs: Sequence[Leg], bounds: Sequence[_Edge]) -> Blame | None:
    """Name the clocks of followed inputs, among others, that forbid a path: they are there to see.

    A filter alone is not blamed: what one change of an input does too soon another one does later.
    """
    followed = legs[0].space.followed
    seen = [e for e in bounds if all(not is_read(c) or c[1] in followed for c in e.clocks)]
    times = _longest(seen, len(legs))
    if isinstance(times, Blame) and any(family != "filter" for family, *_ in times.clocks):
        return times
    return None


def _least_blame(edges: Sequence[_Edge], blame: Blame, legs: Sequence[Leg]) -> Blame:
    """Leave out of what is to blame the clocks of inputs without which the path cannot be either.

    To track one its input must be followed, which makes several of each situation.
    """
    tracked = legs[0].space.tracked or frozenset()
    new = {clock for clock in blame.clocks - tracked if is_read(clock)}
    for clock in sorted(new):
        fewer = [edge for edge in edges if clock not in edge.clocks]
        found = _longest(fewer, len(legs))
        if isinstance(found, Blame) and not any(map(is_read, found.clocks - tracked - new)):
            return _least_blame(fewer, found, legs)
    return blame


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
                found[since_clock(number)] = shift.time
                found[truly_clock(leg.space.model, number)] = shift.time
                found[true_clock(number)] = shift.time
                found[filter_clock(number)] = shift.time
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


def _between_shifts(legs: Sequence[Leg], shifts: dict[int, list[Shift]]) -> Iterator[_Edge]:
    model = legs[0].space.model
    for number, changes in shifts.items():
        clocks = spacing(model, number)
        before = When(0)
        for shift in changes:
            now, soonest, end = shift.time, shift.at, shift.before
            apart = filter_loops(model, model.inputs[number], shift.value) + 1
            yield _Edge(now.leg, before.leg, apart + before.later - now.later, clocks)
            if shift.has_node:
                yield _Edge(now.leg, soonest.leg, soonest.later)
            if end is not None:
                yield _Edge(end.leg, now.leg, 1 + now.later - end.later)
            before = now


# --- Longest paths ------------------------------------------------------------------------------


def _longest(edges: Sequence[_Edge], count: int) -> list[int] | Blame:
    count = max([count, *(1 + max(edge.later, edge.sooner) for edge in edges)])
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
