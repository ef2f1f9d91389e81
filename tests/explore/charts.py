"""Situations and moves written by hand: what a search needs of a prop, without a prop."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from behaviour.explore.guards import Clock, Limit
from behaviour.explore.opened import Opened
from behaviour.explore.places import Place
from behaviour.explore.sight import Scene
from behaviour.explore.situations import Marked, Moment, Move, Moves, Situation, Stay
from behaviour.explore.space import Space
from tests.making import prop

Times = Mapping[str, int]

SCENE = Scene(prop(), (), ())


def spot(number: int) -> Situation:
    """Give a situation that is nothing but its number."""
    return Situation((Place(number),), (), (), (), (), None)


def number_of(at: Situation) -> int:
    return at.places[0].leaf


def clock(name: str) -> Clock:
    return (name, 0, 0)


def bounds(times: Times) -> tuple[tuple[Clock, int], ...]:
    return tuple(sorted((clock(name), time) for name, time in times.items()))


def moment(lows: Times, highs: Times) -> Moment:
    return Moment(None, Opened((), ()), SCENE, SCENE, (), (), (), bounds(lows), bounds(highs))


@dataclass(frozen=True)
class Arrow:
    """A move from one numbered situation to another, with what it asks of clocks by name."""

    source: int
    target: int
    least: tuple[tuple[str, int], ...] = ()
    most: tuple[tuple[str, int], ...] = ()
    starts: frozenset[str] = frozenset()
    marks: tuple[str, ...] = ()


def arrow(
    source: int,
    target: int,
    least: Times | None = None,
    most: Times | None = None,
    starts: str = "",
    marks: str = "",
) -> Arrow:
    lows, highs = tuple((least or {}).items()), tuple((most or {}).items())
    return Arrow(source, target, lows, highs, frozenset(starts.split()), tuple(marks.split()))


class Chart(Space):
    """A space of numbered situations, begun in 0, in all of which the same clocks run.

    One may wait in a situation within the bounds of its `stays`, and not at all where it has none.
    """

    def __init__(
        self,
        arrows: Iterable[Arrow],
        limits: Times | None = None,
        stays: Mapping[int, Iterable[Times]] | None = None,
        marked_stays: Mapping[int, str] | None = None,
    ) -> None:
        self.model = prop()
        self.followed = frozenset()
        self.tracked = frozenset()
        self.limits = {
            clock(name): Limit(most, most) for name, most in sorted((limits or {}).items())
        }
        self.arrows = tuple(arrows)
        self.waits = {at: tuple(several) for at, several in (stays or {}).items()}
        self.marked_stays = dict(marked_stays or {})
        self.built: dict[Situation, Moves] = {}

    def clocks(self, at: Situation) -> dict[Clock, Limit]:
        del at
        return self.limits

    def begin(self) -> tuple[Move, ...]:
        return (Move(spot(0), (), (), (-1,) * len(self.limits), (), moment({}, {})),)

    def moves(self, at: Situation) -> Moves:
        if at not in self.built:
            stays = tuple(self.stay(at, times) for times in self.waits.get(number_of(at), ()))
            self.built[at] = Moves(
                tuple(self.move(each) for each in self.arrows if each.source == number_of(at)),
                stays,
                tuple(each for each in stays if each.marks),
            )
        return self.built[at]

    def stay(self, at: Situation, times: Times) -> Stay:
        marks = tuple(
            Marked(name, (), ()) for name in self.marked_stays.get(number_of(at), "").split()
        )
        return Stay(self.numbered(times), marks, moment({}, times))

    def move(self, each: Arrow) -> Move:
        """Build a move; clocks that a chart does not run are asked for all the same."""
        least, most = dict(each.least), dict(each.most)
        restarts = frozenset(clock(name) for name in each.starts)
        sources = tuple(-1 if c in restarts else n for n, c in enumerate(self.limits))
        marks = tuple(Marked(name, (), ()) for name in each.marks)
        return Move(
            spot(each.target),
            self.numbered(least),
            self.numbered(most),
            sources,
            marks,
            moment(least, most),
            restarts,
        )

    def numbered(self, times: Times) -> tuple[tuple[int, int], ...]:
        place = {each: number for number, each in enumerate(self.limits)}
        return tuple((place[c], time) for c, time in bounds(times) if c in place)
