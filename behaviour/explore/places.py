"""Where a region can be, and what it chooses there: its transitions by priority, with guards.

Strategy: a place is a leaf, the cues it has fired, and which random times of states around it are
known to be over. For given inputs a region's ways are walked by priority. What is left over below
them is kept as upper bounds on clocks ("not yet"), so that every choice is a box of lower and
upper bounds, and priority needs no other negation.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

from behaviour.explore.bounds import NO_BOUNDS, Bounds, meet
from behaviour.explore.guards import (
    FAILS,
    Clock,
    Guard,
    Limit,
    Lows,
    atoms,
    count,
    gathered,
    strongest,
)
from behaviour.explore.opened import Masks, Undecided
from behaviour.explore.sight import Judge, Sight, always, judging
from behaviour.model import (
    Action,
    Becomes,
    Compare,
    Condition,
    HeldFor,
    InState,
    Is,
    Model,
    Part,
    Region,
    Transition,
    Unknown,
)
from behaviour.semantics import (
    NextCue,
    NotKnownError,
    candidates,
    is_open,
    moved,
    settings,
    states_left,
    window_of,
)


class Place(NamedTuple):
    """Where one region is.

    `over` numbers the random transitions whose time is known to be over, and the moves that ended.
    """

    leaf: int
    cue: int = 0
    over: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One thing that a region may do from a place: a transition, or (None) its next cue.

    From `early` loops on `clock` it may be done, from `surely` on nothing later in priority is.
    `restarts` are the depths whose timers start again, `ended` the moves that end in the loop;
    where they end and nothing else is done, that is a way of its own (None). `judge` is what
    judges `when`.
    """

    transition: Transition | None
    when: Condition | None
    clock: Clock | None
    early: int
    surely: int
    to: Place
    restarts: tuple[int, ...]
    does: tuple[Action, ...]
    ended: tuple[int, ...] = ()
    judge: Judge = always


def started(region: Region, leaf: int) -> Way:
    """Give what a region does in the loop in which the controller starts again."""
    depths = tuple(range(len(region.path(leaf))))
    return Way(None, None, None, 0, 0, Place(leaf), depths, ())


class Option(NamedTuple):
    """A way with the bounds on clocks under which it is chosen; without a way, nothing is."""

    way: Way | None
    lows: Lows
    highs: Lows


@dataclass(frozen=True, slots=True)
class Course:
    """What moves may do in a loop, under bounds on clocks, and the ways that there then are.

    `ended` numbers those that end in it; `done` names the motors whose move has then ended.
    """

    ended: tuple[int, ...]
    done: tuple[str, ...]
    bounds: Bounds
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """What is known of a place before any input is: its ways, timers and outputs.

    `ways` are those where no move ends; `courses` are all that moves may do.
    """

    place: Place
    ways: tuple[Way, ...]
    courses: tuple[Course, ...]
    sets: tuple[tuple[str, str], ...]
    limits: tuple[tuple[Clock, Limit], ...]
    asks: "Asked"


@dataclass(frozen=True, slots=True)
class Asked:
    """What a set of conditions asks for, by number; `edges` are the inputs asked for a change."""

    inputs: frozenset[int]
    edges: frozenset[int]
    held: frozenset[int]
    counters: frozenset[int]
    regions: frozenset[int]


def asked(model: Model, conditions: Iterable[Condition | None]) -> Asked:
    """Collect what conditions ask for; outputs and mechanisms are left out."""
    inputs, edges, held, counters, regions = set(), set(), set(), set(), set()
    for condition in conditions:
        for atom in atoms(condition):
            match atom:
                case Is(name=name) | HeldFor(name=name) if name in model.input_index:
                    inputs.add(model.input_index[name])
                    if isinstance(atom, HeldFor):
                        held.add(model.input_index[name])
                case Becomes(name=name) if name in model.input_index:
                    inputs.add(model.input_index[name])
                    edges.add(model.input_index[name])
                case Compare(name=name):
                    counters.add(model.counter_index[name])
                case InState(region=name) if name in model.region_index:
                    regions.add(model.region_index[name])
                case _:
                    pass
    return Asked(
        frozenset(inputs),
        frozenset(edges),
        frozenset(held),
        frozenset(counters),
        frozenset(regions),
    )


def spot(model: Model, at: int, place: Place) -> Spot:
    """Look at a place of region number `at`."""
    region = model.regions[at]
    path = region.path(place.leaf)
    ways = tuple(_ways(model, region, at, place))
    courses = tuple(_courses(model, region, at, place, ways))
    found = [(clock, Limit(low, high - 1)) for _, clock, low, high in _moves(model, at, place)]
    found += [
        (way.clock, Limit(way.early, way.surely - 1)) for way in ways if way.clock is not None
    ]
    deepest = ("region", at, len(path) - 1)
    for cue in region.states[place.leaf].cues[place.cue :]:
        due = count(model, cue.at)
        found.append((deepest, Limit(due, due - 1)))
    limits = gathered(found)
    kept = tuple((clock, limit) for clock, limit in limits.items() if limit.counts)
    sets = tuple(settings(region, place.leaf, place.cue, place.over).items())
    return Spot(place, ways, courses, sets, kept, asked(model, (way.when for way in ways)))


def begin(region: Region, state: int) -> Place:
    """Give the place in which entering `state` ends."""
    return Place(region.leaf(state))


Decided = tuple[Masks, tuple[Option, ...]]
"""A part of what inputs may do, and what a region may choose on it."""


def choices_at(here: Spot, sight: Sight) -> Iterator[Option]:
    """List what a region may choose and its moves may do, with the bounds under which they do.

    Raises Undecided where it depends on an input that is not decided yet.
    """
    for course in here.courses:
        yield from _in_course(course, choose(course.ways, _seen_in(course, sight)))


def decided_at(here: Spot, sight: Sight) -> list[Decided]:
    """List the same for each part of what inputs may do."""
    found: list[Decided] = [(sight.opened.masks, ())]
    for course in here.courses:
        found = [
            (masks, (*before, *_in_course(course, options)))
            for so_far, before in found
            for masks, options in _decided(
                course.ways, 0, _seen_in(course, sight.within(so_far)), [()], ()
            )
        ]
    return found


def _seen_in(course: Course, sight: Sight) -> Sight:
    if sight.scene.done == course.done:
        return sight
    return Sight(sight.scene._replace(done=course.done), sight.opened, sight.truly)


def _in_course(course: Course, options: Iterable[Option]) -> Iterable[Option]:
    """Choose some options while moves go on so, where the bounds can be met together."""
    if course.bounds == NO_BOUNDS:
        return options
    several = [(option.way, meet(course.bounds, option)) for option in options]
    return [Option(way, *both) for way, both in several if both is not None]


def _decided(
    ways: tuple[Way, ...], first: int, sight: Sight, below: list[Lows], options: tuple[Option, ...]
) -> Iterator[Decided]:
    """Go on choosing from the first way that was not looked at yet.

    Where the look at a way can come out in several ways, what was chosen before it stands in each.
    """
    for number in range(first, len(ways)):
        if not below:
            break
        try:
            guard = ways[number].judge(sight)
        except Undecided as split:
            parts = split.apart(sight.opened.masks)
        else:
            if guard:
                more, below = _taken(ways[number], guard, below)
                options = (*options, *more)
            continue
        for masks in parts:
            yield from _decided(ways, number, sight.within(masks), below, options)
        return
    yield sight.opened.masks, (*options, *[Option(None, (), highs) for highs in below])


def choose(ways: tuple[Way, ...], sight: Sight) -> Iterator[Option]:
    """List what a region may choose of some ways, with the bounds under which it does.

    Raises Undecided where it depends on an input that is not decided yet.
    """
    below: list[Lows] = [()]
    for way in ways:
        guard = way.judge(sight) if below else FAILS
        if guard:
            options, below = _taken(way, guard, below)
            yield from options
    for highs in below:
        yield Option(None, (), highs)


def _taken(way: Way, guard: Guard, below: list[Lows]) -> tuple[list[Option], list[Lows]]:
    """Give how a way may be taken that is possible under a guard, and what is left over below it.

    `below` are the bounds under which nothing of what comes before it in priority is chosen.
    """
    options: list[Option] = []
    for alternative in guard:
        lows = _with(alternative, way.clock, way.early)
        options += [Option(way, lows, highs) for highs in below if _is_possible(lows, highs)]
    for alternative in guard:
        lows = _with(alternative, way.clock, way.surely)
        below = [
            lowered
            for highs in below
            for clock, least in lows
            if (lowered := lower(highs, clock, least - 1)) is not None
        ]
    return options, list(dict.fromkeys(below))


def _with(lows: Lows, clock: Clock | None, least: int) -> Lows:
    return strongest((*lows, (clock, least))) if clock is not None and least > 1 else lows


def lower(highs: Lows, clock: Clock, most: int) -> Lows | None:
    """Add an upper bound to others; None where it leaves nothing."""
    if most < 0:
        return None
    best = dict(highs)
    best[clock] = min(best.get(clock, most), most)
    return tuple(sorted(best.items()))


def _is_possible(lows: Lows, highs: Lows) -> bool:
    if not lows or not highs:
        return True
    most = dict(highs)
    return all(least <= most.get(clock, least) for clock, least in lows)


def _ways(model: Model, region: Region, at: int, place: Place) -> Iterator[Way]:
    path = region.path(place.leaf)
    deepest = ("region", at, len(path) - 1)
    for candidate in candidates(region, place.leaf, place.cue):
        if isinstance(candidate, NextCue):
            due = count(model, candidate.at)
            onward = place._replace(cue=place.cue + 1)
            yield Way(None, None, deepest, due, due, onward, (), ())
        elif is_open(region, place.leaf, candidate):
            yield _way(model, region, at, place, candidate)


class _Moving(NamedTuple):
    """A move under way: its number, the clock that counts it, and the window in which it ends."""

    number: int
    clock: Clock
    low: int
    high: int


def _moves(model: Model, at: int, place: Place) -> Iterator[_Moving]:
    region = model.regions[at]
    for depth, state in enumerate(region.path(place.leaf)):
        for chance in region.chances(state):
            if chance.is_move and chance.number not in place.over:
                yield _Moving(chance.number, ("region", at, depth), *window_of(model, chance))


def _courses(
    model: Model, region: Region, at: int, place: Place, ways: tuple[Way, ...]
) -> Iterator[Course]:
    """List what the moves may do that are under way: none of them ends, or some do.

    Every clock has counted 1 in a place's first loop, so a move of one loop ends in it for certain.
    """
    moving = tuple(_moves(model, at, place))
    for ends in product(*((False, True) if move.high > 1 else (True,) for move in moving)):
        bounds: Bounds | None = NO_BOUNDS
        for move, is_over in zip(moving, ends, strict=True):
            lows = ((move.clock, move.low),) if is_over and move.low > 1 else ()
            highs = () if is_over else ((move.clock, move.high - 1),)
            bounds = None if bounds is None else meet(bounds, Bounds(lows, highs))
        ended = tuple(move.number for move, is_over in zip(moving, ends, strict=True) if is_over)
        over = place._replace(over=tuple(sorted({*place.over, *ended})))
        done = tuple(moved(region, place.leaf, over.over))
        if bounds is None:
            continue
        if not ended:
            yield Course((), done, bounds, ways)
            continue
        there = [replace(way, ended=ended) for way in _ways(model, region, at, over)]
        rests = Way(None, None, None, 0, 0, over, (), (), ended)
        yield Course(ended, done, bounds, (*there, rests))


def _way(model: Model, region: Region, at: int, place: Place, transition: Transition) -> Way:
    path = region.path(place.leaf)
    clock: Clock | None = None
    early = surely = 0
    is_random = False
    if transition.part is Part.END:
        clock = ("region", at, len(path) - 1)
        early = surely = count(model, region.states[place.leaf].cues[-1].at)
    elif transition.after is not None and transition.source is not None:
        clock = ("region", at, path.index(transition.source))
        early = count(model, transition.after.low)
        surely = count(model, transition.after.high)
        is_random = transition.after.low != transition.after.high
    if is_random and transition.number in place.over:
        clock, early, surely = None, 0, 0
    to, restarts, kept = _arrive(region, place, transition)
    if is_random and transition.source in kept:
        to = to._replace(over=tuple(sorted({*to.over, transition.number})))
    when, does = transition.when, transition.does
    judge = judging(model, when)
    return Way(transition, when, clock, early, surely, to, restarts, does, judge=judge)


def _arrive(
    region: Region, place: Place, transition: Transition
) -> tuple[Place, tuple[int, ...], tuple[int, ...]]:
    """Give the place that a transition leads to, the depths it enters, and the states it keeps."""
    path = region.path(place.leaf)
    if isinstance(transition.target, Unknown):
        raise NotKnownError(transition.target)
    if transition.target is None:
        done = 1 if transition.part is Part.END else 0
        return place._replace(cue=place.cue + done), (), path
    left = states_left(region, place.leaf, transition.target)
    leaf = region.leaf(transition.target)
    kept = path[: len(path) - len(left)]
    drawn = {chance.number for state in kept for chance in region.chances(state)}
    over = tuple(number for number in place.over if number in drawn)
    return Place(leaf, 0, over), tuple(range(len(kept), len(region.path(leaf)))), kept
