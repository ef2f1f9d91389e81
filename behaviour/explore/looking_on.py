"""The loops of a prop as those who look on tell them apart: watches go on, and observers mark.

They open inputs further where they look at them, and an input that only they look at, first of all.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

from behaviour.explore.inputs import Inputs
from behaviour.explore.loops import Loop
from behaviour.explore.opened import Opened, Undecided
from behaviour.explore.situations import (
    Mark,
    Moment,
    Next,
    Question,
    Situation,
    Watch,
    new_situation,
)
from behaviour.findings import Beat
from behaviour.world.circuit import beat


@dataclass(eq=False)
class Onlookers:
    """The watches and observers of a question, who see `inputs`.

    Of the `presumed` ones, which nobody follows, it is kept beside the watches whether they are
    surely what they are told to be: a guard that has once been told as it is is presumed no more.
    """

    question: Question
    inputs: Inputs
    presumed: tuple[int, ...] = ()

    @property
    def is_anybody(self) -> bool:
        return bool(self.question.watches or self.question.observers)

    def see(self, at: Situation, loops: Iterable[Loop], more: frozenset[int]) -> tuple[Loop, ...]:
        """Look at the loops of a situation; `more` are inputs that they look at, and no region."""
        found: list[Loop] = []
        for loop in loops:
            now = loop.moment
            if more:
                now = now.seen_as(self._opened_too(at, now, more))
            found += self._seen(at, now, loop)
        return tuple(found)

    def see_begin(self, loops: Iterable[Loop]) -> tuple[Loop, ...]:
        """Look at what power-up brings."""
        return tuple([seen for loop in loops for seen in self._seen(None, loop.moment, loop)])

    def _seen(self, at: Situation | None, now: Moment, loop: Loop) -> list[Loop]:
        """Look at a loop, or at power-up (None), in each way in which the look can come out."""
        try:
            return self._begun(now, loop) if at is None else self._watched(at, now, loop)
        except Undecided as split:
            opened = now.opened
            several = split.apart(opened.masks)
        found: list[Loop] = []
        for masks in several:
            found += self._seen(at, now.seen_as(self.inputs.opened(opened, masks)), loop)
        return found

    def _opened_too(self, at: Situation, moment: Moment, more: frozenset[int]) -> Opened:
        """Open more inputs than those that regions look at."""
        others = self.inputs.offered(
            at.readings, moment.was.mechanism, moment.now.mechanism, moment.lives, more
        )
        choices, masks = list(moment.opened.choices), list(moment.opened.masks)
        for number in more:
            choices[number], masks[number] = others.choices[number], others.masks[number]
        return Opened(tuple(choices), tuple(masks), others.wires)

    def _watched(self, at: Situation, moment: Moment, loop: Loop) -> list[Loop]:
        """Let the watches go on, and the observers mark what they see."""
        quiet, watches, observers = loop.to, self.question.watches, self.question.observers
        if not watches:
            marks = self._marks(moment, quiet)
            return [Loop(moment, loop.restarts, quiet, loop.acted, marks)]
        places: tuple[int, ...] = at.watch
        surely: tuple[int, ...] = ()
        if self.presumed:
            sure = self._surely(at.watch[-1], moment.opened)
            if sure is None:
                return []
            places, surely = at.watch[:-1], sure
        found: list[Loop] = []
        for nexts in self._go_on(watches, places, moment):
            here: Moment | None = moment
            restarts = loop.restarts
            for number, following in enumerate(nexts):
                _, lows, highs, begun = following
                if (lows or highs) and here is not None:
                    here = here.within(following)
                if begun:
                    restarts = restarts.union([("watch", number, which) for which in begun])
            if here is not None:
                to = watching(quiet, (*[following.place for following in nexts], *surely))
                marks = self._marks(here, to) if observers else ()
                found.append(Loop(here, restarts, to, loop.acted, marks))
        return found

    def _go_on(
        self, watches: tuple[Watch, ...], places: tuple[int, ...], moment: Moment
    ) -> Iterable[tuple[Next, ...]]:
        """List where the watches may go from these places."""
        begins = self.question.begins_anew and beat(moment.lives) is Beat.STARTS
        if len(watches) == 1 and not begins:
            return zip(watches[0].go_on(0, places[0], moment))
        return product(
            *[
                watch.begin(number, moment) if begins else watch.go_on(number, place, moment)
                for number, (watch, place) in enumerate(zip(watches, places, strict=True))
            ]
        )

    def _begun(self, moment: Moment, loop: Loop) -> list[Loop]:
        """Let the watches begin at power-up, and the observers mark what they see."""
        found: list[Loop] = []
        starts = [watch.begin(number, moment) for number, watch in enumerate(self.question.watches)]
        surely = self._surely(0, moment.opened) if self.presumed else ()
        for nexts in product(*starts):
            watch = (*[following.place for following in nexts], *(surely or ()))
            to = watching(loop.to, watch)
            marks = self._marks(moment, to)
            found.append(Loop(moment, loop.restarts, to, loop.acted, marks))
        return found

    def _surely(self, sure: int, opened: Opened) -> tuple[int] | None:
        """Give the presumed inputs that are sure after a loop; None where that cannot be."""
        for bit, number in enumerate(self.presumed):
            left = opened.left(number)
            if sure >> bit & 1:
                if left and not any(change.is_true for change in left):
                    return None
            elif left and all(change.to.steady == change.to.truly for change in left):
                sure |= 1 << bit
        return (sure,)

    def _marks(self, moment: Moment, to: Situation) -> Sequence[Mark]:
        """List what the observers find worth knowing of a loop."""
        if not self.question.observers:
            return ()
        return [mark for observer in self.question.observers for mark in observer(moment, to)]


def watching(quiet: Situation, watch: tuple[int, ...]) -> Situation:
    """Give a situation with the watches where they are in it."""
    return new_situation((*quiet[:-1], watch))
