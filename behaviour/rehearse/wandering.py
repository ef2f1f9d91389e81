"""A prop played as walkthroughs could play it, one thing done after the other, to see what comes.

Strategy: from the one opening that walkthroughs have, an input is changed, or one waits until
something happens; what takes the fewest deeds is gone on with first, and waiting, which may be
long, after all that can be done. Two moments that differ only in how long something has lasted
count as one, so this finds much quickly and proves nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count

from behaviour.check.awaiting import Awaited
from behaviour.explore.guards import atoms
from behaviour.model import (
    Change,
    HeldFor,
    InState,
    Model,
    Part,
    Pause,
    Region,
    See,
    Transition,
    WalkStep,
    Walkthrough,
)
from behaviour.rehearse.coverage import Mark, Sort, shown_in, waits_for
from behaviour.rehearse.stage import LATEST, CannotMoveError, Moment, Stage
from behaviour.rehearse.walking import perform
from behaviour.semantics import NextCue, RegionState, candidates, filter_loops, loops_of


@dataclass(frozen=True)
class Place:
    """A moment that was come to, the steps since the place before, and what was shown by then.

    `now` is the loop that the story has come to, which is played already if it is the moment's.
    `seen` holds the parts of rules, by rule and place, that have come about. `deeds` counts what
    was done or waited for since what was gone on from.
    """

    moment: Moment
    now: int
    before: "Place | None" = None
    steps: tuple[WalkStep, ...] = ()
    shows: frozenset[Mark] = frozenset()
    seen: frozenset[tuple[str, int]] = frozenset()
    deeds: int = 0

    def story(self) -> tuple[WalkStep, ...]:
        """Give all the steps from power-up on."""
        return self.steps if self.before is None else (*self.before.story(), *self.steps)


def wander(model: Model, wanted: frozenset[Mark], loops: int) -> list[Place]:
    """Find a way to each thing that is wanted, as far as `loops` loops of playing lead.

    It goes on from power-up, and from where the walkthroughs of the file have come to.
    Raises NotKnownError where the file leaves open what is needed.
    """
    search = _Wandering(Stage(model, LATEST), set(wanted), loops)
    search.go_on()
    return search.ways


@dataclass
class _Wandering:
    stage: Stage
    wanted: set[Mark]
    left: int
    ways: list[Place] = field(default_factory=list)
    known: set[object] = field(default_factory=set)
    queue: list[tuple[int, int, Place]] = field(default_factory=list)
    number: Iterator[int] = field(default_factory=count)

    def __post_init__(self) -> None:
        model = self.stage.model
        self.rules = {
            rule.name: waits_for(rule)
            for rule in model.rules
            if Mark(Sort.RULE, rule.name) in self.wanted
        }

    def begin(self, walk: Walkthrough) -> None:
        """Go on from wherever a walkthrough saw something, if it runs through."""
        performance = perform(self.stage.model, walk)
        if performance.failure is not None:
            return
        moments, loops = performance.moments, iter(performance.seen)
        place, played = Place(moments[0], 0), 0
        for at, step in enumerate(walk.steps, 1):
            if isinstance(step, See):
                _, loop = next(loops)
                shows, seen = self._shown(place, moments[played : loop + 1])
                steps = walk.steps[:at]
                place = Place(moments[loop], loop, steps=steps, shows=shows, seen=seen)
                played = loop + 1
                self._come_to(place)

    def go_on(self) -> None:
        opening = self.stage.opening()
        shows, seen = self._shown(Place(opening, 0), (opening,))
        self._come_to(Place(opening, 0, shows=shows, seen=seen))
        for walk in self.stage.model.walkthroughs:
            self.begin(walk)
        while self.queue and self.wanted and self.left > 0:
            rank, _, place = heappop(self.queue)
            if rank % 2:
                further = self._waited(place)
            else:
                further = self._changed(place)
                heappush(self.queue, (rank + 1, next(self.number), place))
            for each in further:
                self._come_to(each)

    def _come_to(self, place: Place) -> None:
        """Keep a place for what it is the first to show, and to go on from if it is new."""
        new = place.shows & self.wanted
        if new:
            self.wanted -= new
            self.ways.append(place)
        key = self._key(place)
        if key not in self.known:
            self.known.add(key)
            heappush(self.queue, (2 * place.deeds, next(self.number), place))

    def _key(self, place: Place) -> object:
        """Tell moments apart by all but how long things have lasted."""
        moment, state = place.moment, place.moment.view.state
        return (
            tuple((region.leaf, region.cue) for region in state.regions),
            tuple(item.steady for item in state.inputs),
            moment.hands,
            state.counters,
            tuple(stand.state for stand in moment.stands),
            self._may_move(moment),
            place.seen,
        )

    def _may_move(self, moment: Moment) -> tuple[tuple[int, tuple[str, ...]], ...]:
        """List what the mechanism could be asked to make inputs read in the next loop."""
        return tuple((at, self.stage.may_read(moment, at)) for at in self.stage.forced(moment))

    # --- What can be done -------------------------------------------------------------------

    def _changed(self, place: Place) -> Iterator[Place]:
        """Change each input to each value that it can have in the next loop."""
        model = self.stage.model
        for at, item in enumerate(model.inputs):
            for value in self.stage.may_read(place.moment, at):
                try:
                    played = [self.stage.onward(place.moment, {at: value})]
                except CannotMoveError:
                    continue
                while len(played) < filter_loops(model, item, value) + 2:
                    played.append(self.stage.onward(played[-1]))
                self.left -= len(played)
                change = Change(input=item.name, value=value)
                yield self._gone_on(place, tuple(played), change)

    def _waited(self, place: Place) -> Iterator[Place]:
        """Wait until something comes by itself, if anything can."""
        longest = self._longest_wait(place.moment)
        played: list[Moment] = []
        could = self._may_move(place.moment)
        while len(played) < longest and self.left > 0:
            before = played[-1] if played else place.moment
            played.append(self.stage.onward(before))
            self.left -= 1
            if _has_come(before, played[-1]) or self._may_move(played[-1]) != could:
                yield self._gone_on(place, tuple(played), None)
                return

    def _longest_wait(self, moment: Moment) -> int:
        """Give the loops after which nothing comes by itself any more; 0 where nothing does."""
        return max([*self._due(moment), *self._mechanism_due(moment)], default=-2) + 2

    def _due(self, moment: Moment) -> Iterator[int]:
        """List in how many loops filters, times and cues are due."""
        model, state = self.stage.model, moment.view.state
        for item, read in zip(model.inputs, state.inputs, strict=True):
            if read.raw != read.steady:
                yield filter_loops(model, item, read.raw) - read.run
        for region, now in zip(model.regions, state.regions, strict=True):
            yield 0 if now.fired is not None else -2
            for number, timer in zip(region.path(now.leaf), now.timers, strict=True):
                moves = (each.move for each in region.states[number].sets)
                yield from (loops_of(model, move.high) - timer for move in moves if move)
            for way in candidates(region, now.leaf, now.cue):
                if isinstance(way, NextCue):
                    yield loops_of(model, way.at) - now.timers[-1]
                else:
                    yield from self._way_due(moment, region, now, way)

    def _way_due(
        self, moment: Moment, region: Region, now: RegionState, way: Transition
    ) -> Iterator[int]:
        model, inputs = self.stage.model, moment.view.state.inputs
        if way.source is not None:
            timer = now.timers[region.path(now.leaf).index(way.source)]
            if way.part is Part.END:
                yield loops_of(model, region.states[way.source].cues[-1].at) - timer
            elif way.after is not None:
                yield loops_of(model, way.after.high) - timer
            elif way.when is None:
                yield 1
        for atom in atoms(way.when):
            if isinstance(atom, HeldFor):
                read = inputs[model.input_index[atom.name]]
                if read.steady == atom.value:
                    yield loops_of(model, atom.time) - read.since

    def _mechanism_due(self, moment: Moment) -> Iterator[int]:
        """List in how many loops movements end, where nobody could ask for it already."""
        model, asked = self.stage.model, dict(self._may_move(moment))
        look = self.stage.look(moment)
        forced = self.stage.forced(moment)
        for number, stand in enumerate(moment.stands):
            if any(asked[at] for at, mechanism in forced.items() if mechanism == number):
                continue
            for movement in model.mechanism[number].states[stand.state].movements:
                if look.holds(movement.during):
                    yield loops_of(model, movement.high)

    # --- What was played, as steps ------------------------------------------------------------

    def _gone_on(self, place: Place, played: tuple[Moment, ...], change: Change | None) -> Place:
        """Go on from a place by what was played; with a change that was made in the first loop."""
        shows, seen = self._shown(place, played)
        steps, now = self._steps(place, played, change)
        return Place(played[-1], now, place, steps, shows, seen, place.deeds + 1)

    def _shown(
        self, place: Place, played: tuple[Moment, ...]
    ) -> tuple[frozenset[Mark], frozenset[tuple[str, int]]]:
        """Give what is shown, and what of rules was seen, after this was played as well."""
        shows, seen = set(place.shows), set(place.seen)
        before = place.moment
        for moment in played:
            shows.update(shown_in(self.stage.model, moment.view))
            for name, parts in self.rules.items():
                seen.update(
                    (name, at)
                    for at, part in enumerate(parts)
                    if (name, at) not in seen and self._is_seen(part, before, moment)
                )
            before = moment
        shows.update(
            Mark(Sort.RULE, name)
            for name, parts in self.rules.items()
            if all((name, at) in seen for at in range(len(parts)))
        )
        return frozenset(shows), frozenset(seen)

    def _is_seen(self, part: Awaited, before: Moment, moment: Moment) -> bool:
        look = self.stage.sight(moment)
        if part.found:
            was = self.stage.sight(before)
            look = was._replace(inputs=look.inputs)
        return look.holds(part.condition)

    def _steps(
        self, place: Place, played: tuple[Moment, ...], change: Change | None
    ) -> tuple[tuple[WalkStep, ...], int]:
        """Write what was played as steps, and give the loop that they come to."""
        model = self.stage.model
        steps: list[WalkStep] = []
        now = place.now
        if change is not None:
            now = max(now, place.moment.loop + 1)
            steps.append(change)
        before = place.moment
        for moment in played:
            for region, was, here in zip(
                model.regions, before.view.state.regions, moment.view.state.regions, strict=True
            ):
                if was.leaf != here.leaf:
                    waited = (moment.loop - now) * model.loop
                    there = InState(region.name, here.leaf)
                    steps.append(See(condition=there, within=waited or None))
                    now = moment.loop
            before = moment
        if now <= before.loop and (now < before.loop or steps[-1:] == [change]):
            steps.append(Pause(time=(before.loop - now + 1) * model.loop))
            now = before.loop + 1
        return tuple(steps), now


def _has_come(before: Moment, after: Moment) -> bool:
    """Tell whether a loop did something by itself: a region, a filter, or the mechanism."""
    return (
        any(region.fired is not None for region in after.view.state.regions)
        or any(item.became for item in after.view.state.inputs)
        or before.view.stimulus.mechanism != after.view.stimulus.mechanism
    )
