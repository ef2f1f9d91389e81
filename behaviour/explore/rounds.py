"""What can go on for ever while everybody stands still, round and round.

Strategy: people hold the inputs at whatever they are. Situations that can come round at all are
found without clocks; if there are none, nothing can. Those that might are searched with all clocks
from anything that they could read: two zones are one only if they are equal, since a zone that
lies in another proves nothing about rounds. What is left is looked for in the concrete prop, from
a run that gets there; where that finds nothing, in the whole search with all clocks; and at last
along a way that is laid out until it has turned.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from itertools import islice, product

from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.circling import circle
from behaviour.explore.detail import Detail
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.meanwhile import judged
from behaviour.explore.opened import Reading
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Blame, schedule
from behaviour.explore.search import Goal, Node, Reached, explore
from behaviour.explore.situations import Move, Question, Situation, Still
from behaviour.explore.space import Space
from behaviour.explore.still import always_forced, chosen_inputs, opened, standing_zones
from behaviour.explore.zones import Zone, everything
from behaviour.findings import Run
from behaviour.model import Role

Keeps = Callable[[Situation], bool]
Turns = Callable[[Situation, Move], bool]


@dataclass(frozen=True, slots=True)
class Going:
    """What goes on: situations that it `keeps` to, with a move that `turns` among them.

    `region` and `hazard` name the same for the concrete prop: the region that must go round, or
    the output that must stay away from rest; or both, and then some loop with it away is enough.
    """

    keeps: Keeps
    turns: Turns
    region: str | None
    hazard: str | None


def rounds(
    lookout: Lookout, going: Going, tried: Callable[[], Run | None] = lambda: None
) -> Run | None:
    """Find a run that goes round for ever, or show that there is none.

    `tried` looks for one in a cheap way, where there may well be one. Raises LimitError.
    """
    space = lookout.space(frozenset())
    reached = explore(space, lookout.budget)
    stopped: LimitError | None = None
    tried = cache(tried)
    for group in _possible_groups(lookout, reached, going):
        try:
            run = _in_group(lookout, group, going, tried)
        except LimitError as stop:
            stopped = stop
            continue
        if run is not None:
            return run
    if stopped is not None:
        raise stopped
    return None


def may_go_round(lookout: Lookout, going: Going) -> bool:
    """Tell whether anything may go round with no clock looked at; if not, nothing does.

    Raises LimitError.
    """
    reached = explore(lookout.space(frozenset()), lookout.budget)
    return any(True for _ in _possible_groups(lookout, reached, going))


def _possible_groups(lookout: Lookout, reached: Reached, going: Going) -> Iterator[set[Situation]]:
    question = replace(lookout.question, watches=(), observers=(), may_stall=False, holds=True)
    held = lookout.asked(question, frozenset())
    edges: dict[Situation, list[Situation]] = {}
    turning: dict[Situation, set[Situation]] = {}
    stack = [
        opened(held, situation)
        for situation in reached.by_situation
        if going.keeps(situation) and _lets_go(held, situation)
    ]
    while stack:
        at = stack.pop()
        if at in edges:
            continue
        lookout.budget.spend()
        edges[at] = chosen_inputs(held, at, let_go=True)
        if not edges[at]:
            for move in held.moves(at).moves:
                if going.keeps(move.to):
                    edges[at].append(move.to)
                    if going.turns(at, move):
                        turning.setdefault(at, set()).add(move.to)
        stack += edges[at]
    for group in strongly_connected(edges):
        if any(not group.isdisjoint(turning.get(at, ())) for at in group):
            yield group


def _lets_go(held: Space, situation: Situation) -> bool:
    return all(
        item.role is not Role.HOLD_TO_RUN or reading is None or reading.steady == item.values[0]
        for item, reading in zip(held.model.inputs, situation.readings, strict=True)
    )


def _in_group(
    lookout: Lookout, group: set[Situation], going: Going, tried: Callable[[], Run | None]
) -> Run | None:
    for values in _held(lookout, group):
        run = _in_group_held(lookout, group, values, going, tried)
        if run is not None:
            return run
    return None


def _in_group_held(
    lookout: Lookout,
    group: set[Situation],
    values: tuple[str | None, ...],
    going: Going,
    tried: Callable[[], Run | None],
) -> Run | None:
    still = lookout.asked(Question(still=Still(values, settled=True)), None)
    inside = {_settled(still, situation, values) for situation in group}
    begins = [(at, everything(len(still.clocks(at)))) for at in inside]
    small = Budget(FEW_STATES, lookout.budget.seconds, whole=lookout.budget)
    if not _may(partial(_has_round, still, small, begins, inside, going)):
        return None
    if (found := tried()) is not None:
        return found
    if not _has_round(still, lookout.budget, begins, inside, going):
        return None
    rough = sorted({_rough(lookout, situation) for situation in group}, key=repr)
    for situation in rough[:MOST_TRIES]:
        witness = reach(lookout, partial(_is_seen_as, situation))
        if witness is not None:
            run = circle(lookout.model, witness.run, values, going.region, going.hazard)
            if run is not None:
                return run
    return _exactly(lookout, still, inside, values, going)


def _may(ask: Callable[[], bool]) -> bool:
    try:
        return ask()
    except LimitError:
        return True


FEW_STATES = 1000
"""How many states are looked at before the cheap way is tried."""

MOST_TRIES = 6
"""How many situations of a possible round are tried on the concrete prop."""


def _exactly(
    lookout: Lookout,
    still: Space,
    inside: set[Situation],
    values: tuple[str | None, ...],
    going: Going,
) -> Run | None:
    space = lookout.space(None)
    small = Budget(min(MOST_STATES, lookout.budget.states), lookout.budget.seconds)
    reached = explore(space, small, exact=True)
    begins: list[tuple[Situation, Zone]] = []
    for node in reached.nodes:
        at = _settled_from(still, node.situation, values)
        if at in inside and at is not None:
            begins += [(at, zone) for zone in standing_zones(space, still, node, at)]
    if not _has_round(still, lookout.budget, begins, inside, going):
        return None
    return _led_onto(lookout, values, going)


def _led_onto(lookout: Lookout, values: tuple[str | None, ...], going: Going) -> Run | None:
    """Find a round by a way that leads on to it with all its times, or show that there is none.

    A run that only gets to a situation may come with times from which nothing comes round; so all
    inputs are followed here, and what is laid out goes on until it has turned. Raises LimitError.
    """
    held = frozenset(number for number, value in enumerate(values) if value is not None)
    space = lookout.detailed(Detail(None, held))
    still = lookout.asked(Question(still=Still(values, settled=False)), None, held)
    small = Budget(min(MOST_STATES, lookout.budget.states), lookout.budget.seconds)
    begins = (
        (node, at)
        for node in explore(space, small, exact=True).nodes
        if (at := _settled_from(still, node.situation, values)) is not None and going.keeps(at)
    )
    ways = (
        [*legs_to(space, node), *legs_to(still, turned)[1:]]
        for node, at in begins
        for turned in _turned(
            still, small, [(at, zone) for zone in standing_zones(space, still, node, at)], going
        )
    )
    way = None
    for way in islice(ways, MOST_WAYS):
        start = _laid_out(way)
        run = start and circle(lookout.model, start, values, going.region, going.hazard)
        if run is not None:
            return run
    if way is not None:
        raise LimitError("rounds", "a round is possible that no run was found for")
    return None


def _laid_out(legs: list[Leg]) -> Run | None:
    """Give the run of a path, if its times can be told by what was followed."""
    path, plan = judged(legs, schedule)
    if isinstance(plan, Blame):
        return None
    try:
        return concrete(path, plan)
    except ReplayError:
        return None


MOST_WAYS = 30
"""So many ways on to a round are tried on the concrete prop."""

MOST_STATES = 20_000
"""How many states the search with all clocks may take for one question."""


def _has_round(
    still: Space,
    budget: Budget,
    begins: Iterable[tuple[Situation, Zone]],
    inside: set[Situation],
    going: Going,
) -> bool:
    return any(True for _ in _turned(still, budget, begins, going, inside.__contains__))


def _turned(
    still: Space,
    budget: Budget,
    begins: Iterable[tuple[Situation, Zone]],
    going: Going,
    within: Goal | None = None,
) -> Iterator[Node]:
    """Give the nodes to which a round turns, in a search of what goes on by itself."""
    starts = []
    for at, zone in begins:
        moves = still.moves(at).moves
        if moves:
            starts.append((Move(at, (), (), (), (), moves[0].moment), zone))
    found = explore(still, budget, starts=starts, rounds=True, within=within or going.keeps)
    edges = {
        node.number: [to.number for to, _, _ in found.onward.get(node.number, ())]
        for node in found.nodes
    }
    for group in strongly_connected(edges):
        for number in group:
            at = found.nodes[number].situation
            for to, move, _ in found.onward.get(number, ()):
                if to.number in group and going.turns(at, move):
                    yield to


def _held(lookout: Lookout, group: set[Situation]) -> Iterator[tuple[str | None, ...]]:
    """List how people may hold the inputs in a group: what they read there, or anything.

    An input that a mechanism sometimes forces may be held at any value while it does not.
    """
    space = lookout.space(frozenset())
    always = always_forced(lookout.model)
    several: list[Sequence[str | None]] = []
    for number, item in enumerate(lookout.model.inputs):
        read = {s.readings[number] for s in group} - {None}
        if number in always:
            several.append((None,))
        elif number in space.forced:
            several.append(item.values)
        else:
            steady = sorted({r.steady for r in read if r is not None})
            several.append(steady[:1] or item.values[:1])
    yield from product(*several)


def _settled(still: Space, at: Situation, values: tuple[str | None, ...]) -> Situation:
    readings = tuple(
        reading if number in still.forced or value is None else Reading(value, value, value)
        for number, (reading, value) in enumerate(zip(at.readings, values, strict=True))
    )
    return at._replace(readings=readings, watch=())


def _settled_from(still: Space, at: Situation, values: tuple[str | None, ...]) -> Situation | None:
    for number, (reading, value) in enumerate(zip(at.readings, values, strict=True)):
        if number in still.forced or reading is None:
            continue
        if reading.steady != value or reading.truly != value:
            return None
    return _settled(still, at, values)


def _rough(lookout: Lookout, at: Situation) -> Situation:
    space = lookout.space(frozenset())
    readings = tuple(
        reading if number in space.forced else None for number, reading in enumerate(at.readings)
    )
    return at._replace(readings=readings)


def _is_seen_as(rough: Situation, at: Situation) -> bool:
    readings = all(r is None or r == s for r, s in zip(rough.readings, at.readings, strict=True))
    return readings and at._replace(readings=rough.readings, watch=()) == rough
