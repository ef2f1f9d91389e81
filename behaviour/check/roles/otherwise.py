"""What a region would have chosen in a loop, had one input read otherwise.

The loop is the same in all else: the snapshot, the counters, the clocks, the times drawn. The input
is taken to have had its other value for long: it does not become it, and each `for` of it holds.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from behaviour.explore.guards import HOLDS, Lows, Seen
from behaviour.explore.opened import Change, Choices, Opened, Reading
from behaviour.explore.places import Option, Place, Spot, Way, choices_at, choose, spot
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Moment
from behaviour.model import Model, Output, Part


@dataclass(slots=True, eq=False)
class Otherwise:
    """One input at another value than it had, in any loop of any part of a prop."""

    number: int
    _spots: dict[object, Spot] = field(default_factory=dict)
    _choices: dict[object, Choices] = field(default_factory=dict)

    def away(
        self, moment: Moment, region: int, output: Output, value: str
    ) -> Iterator[tuple[bool, Lows, Lows]]:
        """Tell whether a region would leave an output away from rest, under bounds on clocks."""
        model = moment.model
        at = model.output_index[output.name]
        for option in self.options(moment, region, value):
            place = self._before(moment, region) if option.way is None else option.way.to
            sets = dict(self.spot(model, region, place).sets)
            rests = output.rest if moment.before is None else moment.now.outputs_before[at]
            left = sets.get(output.name, rests if output.keeps else output.rest)
            yield left != output.rest, option.lows, option.highs

    def options(self, moment: Moment, region: int, value: str) -> Iterator[Option]:
        """List what a region would choose, with the bounds on clocks under which it would."""
        model = moment.model
        here = self.spot(model, region, self._before(moment, region))
        sight = self.sight(moment, value)
        if moment.before is None:
            fired = (w for w in here.ways if _is_interlock(w) and sight.judge(w.when))
            yield Option(next(fired, None), (), ())
            return
        taken = moment.ways[region]
        ways = _course(here, taken)
        yield from choose(_with_draws(ways, taken, moment.told), sight)

    def chosen(self, moment: Moment, region: int, value: str | None) -> list[Option]:
        """List what a region may choose, with the input as it is or at a value."""
        model = moment.model
        here = self.spot(model, region, self._before(moment, region))
        sight = moment.told if value is None else self.sight(moment, value)
        return list(choices_at(here, sight))

    def sight(self, moment: Moment, value: str) -> Sight:
        """Give what conditions are judged on with the input at a value."""
        opened = moment.opened
        choices, masks = list(opened.choices), list(opened.masks)
        choices[self.number], masks[self.number] = self._at(moment.model, value), 1
        return Sight(moment.was, Opened(tuple(choices), tuple(masks)), truly=False)

    def spot(self, model: Model, region: int, place: Place) -> Spot:
        key = (id(model), region, place)
        known = self._spots.get(key)
        if known is None:
            known = self._spots[key] = spot(model, region, place)
        return known

    def _before(self, moment: Moment, region: int) -> Place:
        if moment.before is not None:
            return moment.before.places[region]
        item = moment.model.regions[region]
        return Place(item.leaf(item.begins))

    def _at(self, model: Model, value: str) -> Choices:
        key = (id(model), value)
        if key not in self._choices:
            seen = Seen(value, settled=True)
            change = Change(Reading(value, value), seen, seen, value)
            self._choices[key] = Choices(model, (change,))
        return self._choices[key]


def _is_interlock(way: Way) -> bool:
    return way.transition is not None and way.transition.part is Part.INTERLOCK


def _course(here: Spot, taken: Way | None) -> tuple[Way, ...]:
    """Give the ways where the moves do what they did: those that ended end."""
    ended = () if taken is None else taken.ended
    return next((course.ways for course in here.courses if course.ended == ended), here.ways)


def _with_draws(ways: tuple[Way, ...], taken: Way | None, told: Sight) -> tuple[Way, ...]:
    """Keep the times that were drawn: what was due stays due, what was passed over was not."""
    found: list[Way] = []
    is_above = True
    for way in ways:
        is_drawn = way.clock is not None and way.early != way.surely
        if is_same(way, taken):
            is_above = False
            found.append(replace(way, clock=None, early=0, surely=0) if is_drawn else way)
        elif not (is_drawn and is_above and told.judge(way.when) == HOLDS):
            found.append(way)
    return tuple(found)


def is_same(way: Way | None, taken: Way | None) -> bool:
    """Tell whether two ways are one: each is worked out anew in every place that asks for it."""
    if way is None or taken is None:
        return way is taken
    return (way.transition, way.to, way.ended) == (
        taken.transition,
        taken.to,
        taken.ended,
    )
