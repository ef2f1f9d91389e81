"""Everything that can be reached, breadth first in time; it knows situations, moves and zones.

Strategy: a node is a situation with the zone of its clocks as the loop that led there left them.
From a node one may stay while some stay allows it, and then one move is made. Nodes are taken by
the earliest loop in which they can be reached, nearly. A node that can do nothing but what another
one can adds nothing to what can be reached and is dropped, unless rounds are looked for.
"""

import heapq
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from behaviour.explore.budget import Budget
from behaviour.explore.guards import Lows
from behaviour.explore.situations import Marked, Move, Moves, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.zones import (
    FREE,
    NO_ENDS,
    Ends,
    Zone,
    at_least,
    at_most,
    carry,
    extrapolate,
    includes,
    needed,
    shift,
    up,
    zeroes,
)


@dataclass(slots=True, eq=False)
class Node:
    """A situation with its zone; `move` led to it from `parent`, after waiting in `stay` if any.

    `entered` are the clocks as it was entered, before what nobody can tell was forgotten; `ends`
    says how far they are told apart, and a zone with the bounds `need` can do all that this can.
    """

    number: int
    situation: Situation
    zone: Zone
    need: Zone
    entered: Zone
    ends: Ends
    parent: "Node | None"
    move: Move
    stay: Stay | None
    earliest: int


@dataclass(frozen=True, slots=True)
class Hit:
    """Where a mark was first met: in a move from `node` after `stay`, or in a stay itself.

    `node` is None for a mark of power-up.
    """

    node: Node | None
    move: Move | Stay
    stay: Stay | None
    lows: Lows


@dataclass(slots=True)
class Reached:
    """What a search found."""

    nodes: list[Node] = field(default_factory=list)
    by_situation: dict[Situation, list[Node]] = field(default_factory=dict)
    hits: dict[object, Hit] = field(default_factory=dict)
    onward: dict[int, list[tuple[Node, Move, Stay | None]]] = field(default_factory=dict)
    goal: Node | None = None


Goal = Callable[[Situation], bool]
StopAt = Callable[[object], bool]


def explore(  # noqa: PLR0913
    space: Space,
    budget: Budget,
    *,
    goal: Goal | None = None,
    stop_at: StopAt | None = None,
    starts: Iterable[tuple[Move, Zone]] | None = None,
    rounds: bool = False,
    within: Goal | None = None,
    before: Callable[["Node", Move | Stay], bool] | None = None,
    far: Callable[[Situation], int] | None = None,
    exact: bool = False,
) -> Reached:
    """Search from power-up, or from `starts`, until `goal` or a mark of `stop_at` is met.

    With `rounds` only equal zones are taken together and every step onward is kept, so that a
    round in what was reached is a round of the prop. `within` keeps the search inside; `before`
    sees each step as it is taken and stops the search by answering yes. With `far` the situations
    that it says are nearest to what is looked for come first. With `exact` zones keep what can be
    done from them, not only what can be reached. Raises LimitError.
    """
    search = Search(
        space, rounds, exact or rounds, goal, stop_at, far, within=within, before=before
    )
    search.begins = starts
    return search.go_on(budget)


@dataclass(slots=True, eq=False)
class Search:
    """One search, as `explore` makes it. What a limit has stopped can go on from there."""

    space: Space
    rounds: bool = False
    is_exact: bool = False
    goal: Goal | None = None
    stop_at: StopAt | None = None
    far: Callable[[Situation], int] | None = None
    within: Goal | None = None
    before: Callable[["Node", Move | Stay], bool] | None = None
    begins: Iterable[tuple[Move, Zone]] | None = None
    budget: Budget = field(init=False)
    reached: Reached = field(default_factory=Reached)
    queue: list[tuple[int, int, int, Node]] = field(default_factory=list)
    dropped: set[Node] = field(default_factory=set)
    is_done: bool = False
    _has_begun: bool = False
    _stopped_at: Node | None = None
    """The node whose steps a limit has broken off. What was come to by then is met again."""

    def go_on(self, budget: Budget) -> Reached:
        """Search on until all is seen or what is looked for is met. Raises LimitError."""
        self.budget = budget
        if not self._has_begun:
            self._begin()
        if self._stopped_at is not None:
            self._take(self._stopped_at)
        while self.queue and not self.is_done:
            *_, node = heapq.heappop(self.queue)
            if node not in self.dropped:
                self._take(node)
        return self.reached

    def _begin(self) -> None:
        starts, space = self.begins, self.space
        if starts is None:
            starts = [(move, zeroes(len(space.clocks(move.to)))) for move in space.begin()]
        for move, zone in starts:
            if self.within is None or self.within(move.to):
                self.arrive(None, move, None, zone)
                for mark in move.marks:
                    self.meet(mark.name, Hit(None, move, None, mark.lows))
        self._has_begun = True

    def _take(self, node: Node) -> None:
        """Go on from a node by all its steps."""
        self._stopped_at = node
        within, before = self.within, self.before
        if before is not None and any(before(node, stay) for stay in self.stays(node)):
            self.is_done = True
            return
        for move, stay, zone in self.steps(node):
            if before is not None and before(node, move):
                self.is_done = True
                break
            if within is None or within(move.to):
                self.arrive(node, move, stay, zone)
                if self.reached.goal is not None:
                    break
        self._stopped_at = None

    def meet(self, name: object, hit: Hit) -> None:
        if name not in self.reached.hits:
            self.reached.hits[name] = hit
            if self.stop_at is not None and self.stop_at(name):
                self.is_done = True

    def arrive(self, parent: Node | None, move: Move, stay: Stay | None, loop: Zone) -> None:
        """Come to a situation by a move that is made in a loop with these clocks."""
        here = self.reached.by_situation.get(move.to)
        if here is None:
            here = self.reached.by_situation[move.to] = []
        elif here and not move.sources and not self.rounds:
            return
        zone = loop if parent is None else carry(loop, parent.ends.size, move.sources)
        kept, need, ends = zone, zone, NO_ENDS
        if len(zone) > 1:
            ends = here[0].ends if here else self._ends(move.to)
            if self.is_exact:
                kept = extrapolate(zone, ends.size, ends.highs[1:])
            else:
                need = needed(zone, ends)
        if self.rounds:
            for other in here:
                if other.zone == kept:
                    self._onward(parent, other, move, stay)
                    return
        elif any(includes(other.zone, need) for other in here):
            return
        earliest = 0
        if parent is not None:
            earliest = parent.earliest + _delay(parent.entered, loop, parent.ends.size)
        self.budget.spend()
        number = len(self.reached.nodes)
        self._keep(
            here, Node(number, move.to, kept, need, zone, ends, parent, move, stay, earliest)
        )

    def _keep(self, here: list[Node], node: Node) -> None:
        """Put a new node beside those of its situation, and drop those that it makes needless."""
        covered = () if self.rounds else [o for o in here if includes(node.zone, o.need)]
        if covered:
            self.dropped.update(covered)
            here[:] = [other for other in here if other not in self.dropped]
        here.append(node)
        self.reached.nodes.append(node)
        self._onward(node.parent, node, node.move, node.stay)
        far = 0 if self.far is None else self.far(node.situation)
        heapq.heappush(self.queue, (far, node.earliest, node.number, node))
        is_met = self.goal is not None and self.reached.goal is None and self.goal(node.situation)
        if is_met:
            self.reached.goal = node
            self.is_done = True

    def _ends(self, at: Situation) -> Ends:
        """Give how far the clocks of a situation are told apart as a loop leaves them.

        The next loop adds one before anything is asked. Where what can be done from a zone is to
        be kept whole, values are alike only above the most that is asked, whichever way.
        """
        limits = self.space.clocks(at).values()
        if self.is_exact:
            most = (0, *(limit.most for limit in limits))
            return Ends(len(most), most, most)
        lows = (0, *(limit.low - 1 for limit in limits))
        return Ends(len(lows), lows, (0, *(limit.high - 1 for limit in limits)))

    def _onward(self, parent: Node | None, node: Node, move: Move, stay: Stay | None) -> None:
        if self.rounds and parent is not None:
            self.reached.onward.setdefault(parent.number, []).append((node, move, stay))

    def steps(self, node: Node) -> Iterator[tuple[Move, Stay | None, Zone]]:
        size = node.ends.size
        moves = self.space.moves(node.situation)
        for stay in moves.marked:
            self._meet_in_stay(node, stay, size)
        for step in _steps(moves, node.zone, size):
            move, stay_before, zone = step
            for mark in move.marks:
                if self._is_new(mark, zone, size):
                    self.meet(mark.name, Hit(node, move, stay_before, mark.lows))
            yield step

    def stays(self, node: Node) -> Iterator[Stay]:
        """Give the stays in which one can really wait at a node."""
        size = node.ends.size
        later = up(shift(node.zone, size), size)
        moves = self.space.moves(node.situation)
        for stay in (*moves.stays, *moves.marked):
            if at_most(later, size, stay.highs) is not None:
                yield stay

    def _meet_in_stay(self, node: Node, stay: Stay, size: int) -> None:
        zone = at_most(up(shift(node.zone, size), size), size, stay.highs)
        for mark in stay.marks:
            if self._is_new(mark, zone, size):
                self.meet(mark.name, Hit(node, stay, None, mark.lows))

    def _is_new(self, mark: Marked, zone: Zone | None, size: int) -> bool:
        if mark.name in self.reached.hits:
            return False
        return at_least(zone, size, mark.bounds) is not None


def steps(
    space: Space, situation: Situation, zone: Zone
) -> Iterator[tuple[Move, Stay | None, Zone]]:
    """Give the moves out of a situation, each after a way to wait, with the clocks in its loop."""
    return _steps(space.moves(situation), zone, len(space.clocks(situation)) + 1)


def _steps(moves: Moves, zone: Zone, size: int) -> Iterator[tuple[Move, Stay | None, Zone]]:
    if size == 1:
        ways: tuple[Stay | None, ...] = moves.stays or (None,)
        yield from [(move, stay, zone) for move in moves.moves for stay in ways]
        return
    arrivals = list(waited(zone, size, moves.stays))
    for move in moves.moves:
        for stay, arrival in arrivals:
            at: Zone | None = arrival
            if move.lows:
                at = at_least(at, size, move.lows)
            if move.highs:
                at = at_most(at, size, move.highs)
            if at is not None:
                yield move, stay, at


def waited(zone: Zone, size: int, stays: Iterable[Stay]) -> Iterator[tuple[Stay | None, Zone]]:
    """Give the clocks in the loop of the next move: without waiting, and after each way to wait.

    While waiting each clock has at most the stay's bound, so the move comes at most one later.
    """
    at_once = shift(zone, size)
    later = up(at_once, size)
    covered = False
    for stay in stays:
        ended = at_most(later, size, [(clock, most + 1) for clock, most in stay.highs])
        if ended is not None:
            covered = covered or includes(ended, at_once)
            yield stay, ended
    if not covered:
        yield None, at_once


def _delay(before: Zone, at: Zone, size: int) -> int:
    """Give the fewest loops between two zones that waiting alone can explain, at least one."""
    fewest = 1
    for clock in range(1, size):
        most = before[clock * size]
        if most < FREE:
            fewest = max(fewest, -at[clock] - most)
    return fewest
