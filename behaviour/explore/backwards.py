"""From which clocks something stays possible, worked out backwards over all that is reached."""

from collections.abc import Callable, Iterable, Iterator

from behaviour.explore.budget import Budget
from behaviour.explore.search import Node, Reached
from behaviour.explore.situations import Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.zones import (
    Zone,
    at_least,
    at_most,
    down,
    everything,
    includes,
    shift,
    uncarry,
    up,
)

Bounds = tuple[tuple[int, int], ...]
"""Numbered clocks, and what each must have come to at the least."""

OPEN: Bounds = ((-1, 0),)
"""Bounds on clocks that are not tracked: perhaps met."""

IsGood = Callable[[Situation, Move | Stay], Bounds | None]
"""Tells whether a loop (a move, or a stay) out of a situation is what must stay possible.

None if it is not, else the bounds under which it is."""


def possible_from(
    space: Space, reached: Reached, is_good: IsGood, budget: Budget
) -> dict[Situation, list[Zone]]:
    """Collect, per situation, the clocks from which the goal can be reached in a later loop.

    Raises LimitError.
    """
    before: dict[Situation, list[tuple[Situation, Move]]] = {}
    possible: dict[Situation, list[Zone]] = {}
    queue: list[tuple[Situation, Zone]] = []

    def add(situation: Situation, zone: Zone | None) -> None:
        if zone is None:
            return
        for earlier in _earlier(space, situation, zone):
            here = possible.setdefault(situation, [])
            if not any(includes(other, earlier) for other in here):
                here[:] = [o for o in here if not includes(earlier, o)]
                here.append(earlier)
                queue.append((situation, earlier))

    for situation in reached.by_situation:
        for zone in _at_once(space, situation, is_good):
            add(situation, zone)
        for move in space.moves(situation).moves:
            if same_world(situation, move):
                before.setdefault(move.to, []).append((situation, move))
    while queue:
        budget.spend()
        situation, zone = queue.pop()
        if zone not in possible[situation]:
            continue
        for earlier, move in before.get(situation, ()):
            size = _size(space, earlier)
            back = uncarry(zone, _size(space, situation), move.sources, size - 1)
            add(earlier, None if back is None else _guarded(back, size, move))
    return possible


def standings(space: Space, node: Node) -> Iterable[tuple[Stay | None, Zone]]:
    """Give what the clocks can be at a node: as it was entered, and after each way to wait."""
    size = _size(space, node.situation)
    yield None, node.zone
    for stay in space.moves(node.situation).stays:
        zone = at_most(up(shift(node.zone, size), size), size, stay.highs)
        if zone is not None:
            yield stay, zone


def same_world(before: Situation, move: Move) -> bool:
    """Tell whether a move leaves what stalls as it is."""
    return before.stalled == move.to.stalled


def _at_once(space: Space, situation: Situation, is_good: IsGood) -> Iterator[Zone | None]:
    """Give the clocks, as a loop finds them, with which it is the goal itself."""
    size = _size(space, situation)
    moves = space.moves(situation)
    for move in moves.moves:
        bounds = is_good(situation, move)
        if bounds is not None:
            yield at_least(_guarded(everything(size - 1), size, move), size, bounds)
    for stay in (*moves.stays, *moves.marked):
        bounds = is_good(situation, stay)
        if bounds is not None:
            later = at_most(_later(everything(size - 1), size), size, stay.highs)
            yield at_least(later, size, bounds)


def _size(space: Space, situation: Situation) -> int:
    return len(space.clocks(situation)) + 1


def _later(zone: Zone, size: int) -> Zone | None:
    return at_least(zone, size, [(clock, 1) for clock in range(size - 1)])


def _guarded(zone: Zone, size: int, move: Move) -> Zone | None:
    later = _later(zone, size)
    return at_most(at_least(later, size, move.lows), size, move.highs)


def _earlier(space: Space, situation: Situation, at_move: Zone) -> Iterable[Zone]:
    """Give the clocks, as a loop leaves them, from which waiting leads to `at_move`."""
    size = _size(space, situation)
    left = shift(at_move, size, -1)
    yield left
    for stay in space.moves(situation).stays:
        waiting = at_most(left, size, stay.highs)
        if waiting is not None:
            yield down(waiting, size)
