"""What people can bring about once everything has come to rest and they have waited for long.

Where a prop waits for as long as people like, with every input steady, each clock passes all that
it is asked for, and from there on all such moments are alike: a way that can be gone from one of
them can be gone from each. So a single way to a goal, found with every clock looked at, shows that
the goal is possible from that rest, and from all that surely leads to it (D-086). It is not asked
where a fault is about or a watch looks on: those could tell such moments apart.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.meeting import distances
from behaviour.explore.opened import Reading
from behaviour.explore.reach import Lookout
from behaviour.explore.search import Node, explore
from behaviour.explore.situations import Move, Question, Situation, Stay
from behaviour.explore.space import Space
from behaviour.explore.still import long_since

MOST_STATES = 1500
"""How many states are looked at for one goal, from all rests together."""

AT_ONCE = 300
"""How many are looked at from one rest at a time."""


@dataclass(slots=True, eq=False)
class SettingOut:
    """One goal; `is_reached` tells whether a loop out of a situation surely is it."""

    lookout: Lookout
    is_reached: Callable[[Situation, Move | Stay], bool]
    _left: int = field(default=MOST_STATES, init=False)
    _space: Space | None = field(default=None, init=False)
    _far: Callable[[Situation], int] | None = field(default=None, init=False)
    _known: dict[Situation, bool] = field(default_factory=dict, init=False)

    @property
    def is_spent(self) -> bool:
        """Tell whether no more states are looked at."""
        return not self._left

    def leads(self, at: Situation) -> bool:
        """Tell whether the goal is shown to be possible from a rest, without another stall."""
        if not _is_plain(self.lookout.question):
            return False
        space = self._every_clock()
        here = at._replace(readings=_followed(space, at))
        if here not in self._known and _is_steady(space, here) and not self.is_spent:
            self._look(space, here)
        return self._known.get(here, False)

    def _look(self, space: Space, at: Situation) -> None:
        """Note whether the goal is possible from a rest, or another one from which it is.

        Where that takes too many states it is left open: by then more rests may be known.
        """
        waits = next(filter(_waits, space.moves(at).stays), None)
        if waits is None:
            self._known[at] = False
            return
        found = False

        def see(node: Node, step: Move | Stay) -> bool:
            nonlocal found
            is_led = _waits(step) and self._known.get(node.situation, False)
            found = is_led or self.is_reached(node.situation, step)
            return found

        begin = Move(at, (), (), (), (), waits.moment)
        seconds = self.lookout.budget.seconds
        budget = Budget(min(AT_ONCE, self._left), seconds, whole=self.lookout.budget)
        starts = [(begin, long_since(space, at))]
        try:
            explore(space, budget, starts=starts, before=see, far=self._guess(), exact=True)
        except LimitError:
            return
        finally:
            self._left = max(self._left - budget.used, 0)
        self._known[at] = found

    def _guess(self) -> Callable[[Situation], int]:
        """Guess how far the goal is from a situation, by what is possible without clocks."""
        if self._far is None:
            rough = self.lookout.space(frozenset())
            reached = explore(rough, self.lookout.budget)
            self._far = partial(distances(rough, reached, self.is_reached), rough.model)
        return self._far

    def _every_clock(self) -> Space:
        if self._space is None:
            asked = replace(self.lookout.question, may_stall=False)
            self._space = self.lookout.asked(asked, None, self.lookout.follow)
        return self._space


def _is_plain(question: Question) -> bool:
    return not (question.faults or question.shadowed or question.watches or question.free)


def _waits(step: Move | Stay) -> bool:
    """Tell whether one may wait so for as long as one likes."""
    return isinstance(step, Stay) and not step.highs and not step.moment.highs


def _followed(space: Space, at: Situation) -> tuple[Reading | None, ...]:
    """Leave out what inputs read that nobody asks for."""
    return tuple(
        now if number in space.followed else None for number, now in enumerate(at.readings)
    )


def _is_steady(space: Space, at: Situation) -> bool:
    known = [at.readings[number] for number in space.followed]
    return all(
        now is not None and now.steady == now.truly and now.raw in ("", now.steady) for now in known
    )
