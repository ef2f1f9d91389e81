"""What follows where people hold the inputs, and from where all of it surely leads to the goal.

Strategy: each node is asked once for what follows it, and what is shown to lead to the goal is
handed on backwards at once. At a rest people may turn an input: the turns are tried one after the
other, and only where it is not shown without. So nothing is shown that trying all of them would
not show; whatever is not shown has been tried with all.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Generic, TypeVar

Node = TypeVar("Node")


@dataclass(slots=True, eq=False)
class Onward(Generic[Node]):
    """What follows a node, short of the goal: what may come by itself, and what turns may bring.

    Each turn at a rest is given as all that it may lead to, when it is asked for.
    """

    moves: frozenset[Node]
    is_rest: bool
    untried: Iterator[frozenset[Node]]
    turns: list[frozenset[Node]] = field(default_factory=list)
    left: int = 0
    """How many more inputs may be turned from here on."""

    def is_led(self, home: set[Node], *, waits: bool) -> bool:
        """Tell whether all that follows surely leads to `home`.

        Where one `waits`, a rest goes on only if one wants. Otherwise others may move things at a
        rest, and whatever they do must lead there too.
        """
        if (not self.is_rest or not waits) and not self.moves <= home:
            return False
        return not self.is_rest or any(outcomes <= home for outcomes in self.turns)


@dataclass(slots=True, eq=False)
class Courses(Generic[Node]):
    """All that was met so far, and what of it is shown to lead to the goal (`home`)."""

    look: Callable[[Node], Onward[Node]]
    waits: bool
    home: set[Node] = field(default_factory=set)
    _onward: dict[Node, Onward[Node]] = field(default_factory=dict)
    _before: dict[Node, list[Node]] = field(default_factory=dict)
    _rests: list[Node] = field(default_factory=list)

    def follow(self, starts: Iterable[Node], turns: int, is_enough: Callable[[], bool]) -> None:
        """Follow what comes after `starts` with so many turns, until enough is shown or nothing is.

        Whatever comes by itself is followed to its end in any case.
        """
        self._meet([(node, turns) for node in starts])
        while not is_enough() and self._turn():
            pass

    def _meet(self, ahead: list[tuple[Node, int]]) -> None:
        """Look at nodes, and at what comes after them, with so many turns left at each."""
        new: list[Node] = []
        while ahead:
            node, left = ahead.pop()
            here = self._onward.get(node)
            if here is None:
                here = self._onward[node] = self.look(node)
                new.append(node)
                self._precede(here.moves, node)
                if here.is_rest:
                    self._rests.append(node)
            elif here.left >= left:
                continue
            here.left = left
            ahead += [(to, left) for to in here.moves]
            ahead += [(to, left - 1) for outcomes in here.turns for to in outcomes]
        self._lead(new)

    def _turn(self) -> bool:
        """Try one more turn at each rest from which nothing is shown; tell whether any was left."""
        ahead: list[tuple[Node, int]] = []
        turned: list[Node] = []
        for node in self._rests:
            here = self._onward[node]
            if here.left and node not in self.home:
                outcomes = next(here.untried, None)
                if outcomes is not None:
                    here.turns.append(outcomes)
                    self._precede(outcomes, node)
                    ahead += [(to, here.left - 1) for to in outcomes]
                    turned.append(node)
        self._meet(ahead)
        self._lead(turned)
        return bool(turned)

    def _precede(self, later: Iterable[Node], node: Node) -> None:
        for to in later:
            self._before.setdefault(to, []).append(node)

    def _lead(self, nodes: Iterable[Node]) -> None:
        """Take home what is led there, and then whatever came before it and is led there too."""
        ahead = list(nodes)
        while ahead:
            at = ahead.pop()
            if at not in self.home and self._onward[at].is_led(self.home, waits=self.waits):
                self.home.add(at)
                ahead += self._before.get(at, ())
