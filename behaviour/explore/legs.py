"""Paths of moves: each move after the way to wait before it; and loops of a path, by its moves."""

from dataclasses import dataclass
from typing import NamedTuple

from behaviour.explore.guards import Lows
from behaviour.explore.search import Hit, Node
from behaviour.explore.situations import Moment, Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.zones import Zone


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
    """An input that the search did not follow changes to `value`.

    With `before` it may come later too, in any loop before that one: when is told by a `node` of
    its own, as if it were a leg. But `at_once` it comes no later, and there is a loop after it
    before that one.
    """

    at: When
    value: str
    before: When | None = None
    at_once: bool = False
    node: int = 0

    @property
    def has_node(self) -> bool:
        return self.before is not None and not self.at_once

    @property
    def time(self) -> When:
        return When(self.node) if self.has_node else self.at


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
