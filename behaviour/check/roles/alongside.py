"""A watch beside one run that is played: the loop in which it breaks, if it does.

It knows runs and watches, and no search. Each input is seen as what it was told to be and as what
it truly was; all clocks are known.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from behaviour.check.judging import Sights
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Clock, Lows, Seen
from behaviour.explore.opened import Change, Choices, Opened, Reading
from behaviour.explore.places import Place, Way
from behaviour.explore.sight import Scene
from behaviour.explore.situations import Moment, Next, Situation, Watch
from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.semantics import InputState
from behaviour.story import LoopView

SOMEWHERE = Situation((), (), (), (), (), None)
"""Where a loop begins, of a watch that asks only whether it is the first."""

Ages = dict[Clock, int]
Standing = tuple[int, tuple[tuple[int, int], ...]]
"""The place of a watch, and the loop in which each of its clocks began."""


class Shown(NamedTuple):
    """A loop of a run as watches see it, and how long each clock has run; some begin anew in it."""

    moment: Moment
    ages: Ages
    begins: bool


def breaks_in(watch: Watch, sights: Sights) -> int | None:
    """Give the first loop of a run in which a watch breaks, as `first_breach` does."""
    return first_breach(watch, shown(sights))


def shown(sights: Sights) -> list[Shown]:
    """Show the loops of a run to watches."""
    views = sights.views
    return [
        Shown(moment, ages, loop == 0 or views[loop].stimulus.beat is Beat.STARTS)
        for loop, (moment, ages) in enumerate(_moments(sights.model, views, sights.inputs))
    ]


def first_breach(watch: Watch, loops: Iterable[Shown]) -> int | None:
    """Give the first of the loops of a run in which a watch breaks.

    The watch may ask for inputs, outputs, and for what regions did, in this loop and the last. It
    begins anew where the controller does. Loops that look the same lead nowhere else than the first
    of them that led nowhere, unless clocks count.
    """
    standing: set[Standing] = set()
    last: Moment | None = None
    known: dict[int, tuple[Next, ...]] = {}
    is_over = False
    for loop, (moment, ages, begins) in enumerate(loops):
        if moment is not last:
            last, known = moment, {}
        elif is_over and not begins:
            continue
        onward: set[Standing] = set()
        if begins:
            standing = set()
            onward.update(_taken(watch.begin(0, moment), ages, loop, ()))
        for place, starts in standing:
            if place not in known:
                known[place] = tuple(watch.go_on(0, place, moment))
            onward.update(_taken(known[place], ages, loop, starts))
        if any(place == BREACH for place, _ in onward):
            return loop
        is_over = onward == standing and not any(map(_hangs_on_clocks, known.values()))
        standing = onward
    return None


def _hangs_on_clocks(nexts: Iterable[Next]) -> bool:
    """Tell whether it makes a difference how long anything has lasted, or what begins anew."""
    return any(each.lows or each.highs or each.restarts for each in nexts)


def _taken(
    nexts: Iterable[Next],
    ages: Ages,
    loop: int,
    starts: tuple[tuple[int, int], ...],
) -> Iterator[Standing]:
    """Give where a watch goes of what it may do, as far as clocks let it."""
    now = {**ages, **{("watch", 0, which): loop - began for which, began in starts}}
    for each in nexts:
        if _are_met(each.lows, each.highs, now):
            begun = {**dict(starts), **dict.fromkeys(each.restarts, loop)}
            yield each.place, tuple(sorted(begun.items()))


def _are_met(lows: Lows, highs: Lows, ages: Ages) -> bool:
    return all(ages.get(clock, 0) >= least for clock, least in lows) and all(
        ages.get(clock, 0) <= most for clock, most in highs
    )


def _moments(
    model: Model, views: Sequence[LoopView], truly: Sequence[tuple[InputState, ...]]
) -> Iterator[tuple[Moment, Ages]]:
    known: dict[object, Choices] = {}
    last: LoopView | None = None
    moment: Moment | None = None
    shown: object = None
    left: object = None
    since = [0] * len(model.inputs)
    for view, really in zip(views, truly, strict=True):
        before = view if last is None else last
        parts = (before.state, view.state, really, before.real, view.real)
        same, left = left, (last is None, *map(id, parts))
        if moment is None or left != same:
            choices = tuple(
                [
                    _choices(model, number, *both, known)
                    for number, both in enumerate(zip(view.state.inputs, really, strict=True))
                ]
            )
            was, now, ways = _world(before), _world(view), tuple(_ways(view))
            look = (last is None, choices, was, now, before.real, view.real, ways)
            if moment is None or look != shown:
                shown = look
                moment = Moment(
                    None if last is None else SOMEWHERE,
                    Opened(choices, (1,) * len(choices)),
                    Scene(model, *was, before.real, before.real),
                    Scene(model, *now, view.real, before.real),
                    ways,
                    (),
                    (),
                    (),
                    (),
                )
        since = [
            0 if told.became or last is None else loops + 1
            for told, loops in zip(view.state.inputs, since, strict=True)
        ]
        yield moment, _ages(since, really)
        last = view


def _world(view: LoopView) -> tuple[tuple[int, ...], tuple[int, ...]]:
    return view.state.counters, tuple([region.leaf for region in view.state.regions])


def _ways(view: LoopView) -> Iterator[Way | None]:
    for region in view.state.regions:
        fired, to = region.fired, Place(region.leaf)
        yield None if fired is None else Way(fired.transition, None, None, 0, 0, to, (), ())


def _choices(
    model: Model,
    number: int,
    told: InputState,
    true: InputState,
    known: dict[object, Choices],
) -> Choices:
    seen = (number, told.steady, told.became, true.steady, true.became)
    if seen not in known:
        change = Change(
            Reading(told.steady, true.steady),
            Seen(told.steady, told.became, None if told.became else ("since", number, 0)),
            Seen(true.steady, true.became, None if true.became else ("truly", number, 0)),
            told.raw,
        )
        known[seen] = Choices(model, (change,))
    return known[seen]


def _ages(told: Sequence[int], true: Sequence[InputState]) -> Ages:
    return {
        **{("since", number, 0): loops for number, loops in enumerate(told)},
        **{("truly", number, 0): each.since for number, each in enumerate(true)},
    }
