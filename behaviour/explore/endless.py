"""Whether a run can keep to some situations for ever, whatever people do in it.

Strategy: begin with no clock tracked. Where nothing can be stayed in for ever, and no round keeps
to what is asked for, no run does: zones are one only if they are equal, so that every endless run
is a round. What may be one is laid out several times over as a run; what forbids it names the
clocks to be tracked. It is believed once the concrete prop and its world come round in it. A
drawing that cannot keep to them for ever shows that the prop cannot.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from behaviour.explore.budget import LimitError
from behaviour.explore.circling import along
from behaviour.explore.detail import ALL, NO_DETAIL
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.reach import Lookout
from behaviour.explore.runs import ReplayError, concrete
from behaviour.explore.scheduling import Blame, fits, schedule
from behaviour.explore.search import Node, Reached, explore
from behaviour.explore.situations import Move, Situation, Stay
from behaviour.explore.space import Space
from behaviour.findings import Run

TIMES = (2, 6, 24)
"""How many times over a round is laid out to see whether it comes to the same again."""

MOST_LOOPS = 60_000
"""How long one situation is stayed in to see whether everything comes to the same again."""

Keeps = Callable[[Situation], bool]
Step = tuple[Node, Move, Stay | None]


def lasting_for_ever(lookout: Lookout, keeps: Keeps) -> Run | None:
    """Find a run that keeps to some situations for ever, or show that there is none (None).

    Raises LimitError where neither was possible.
    """
    detail = NO_DETAIL
    while True:
        space = lookout.detailed(detail)
        reached = explore(space, lookout.budget, rounds=True)
        blame: Blame | None = None
        any_round = False
        for legs, again in _endless(space, reached, keeps):
            any_round = True
            found = _laid_out(lookout, legs, again)
            if isinstance(found, Run):
                return found
            blame = found
            break
        if not any_round:
            return None
        if detail == ALL:
            raise LimitError("rounds", "something may go on for ever that no run was found for")
        detail = detail.more(blame or Blame())


def may_last(drawn: Lookout, keeps: Keeps) -> bool:
    """Tell whether a drawing may keep to some situations for ever, as it may where a limit stops.

    Every endless run of the prop is one of the drawing. A round will do that can be gone twice.
    """
    detail = NO_DETAIL
    try:
        while True:
            space = drawn.detailed(detail)
            reached = explore(space, drawn.budget, rounds=True)
            way = next(_endless(space, reached, keeps), None)
            if way is None:
                return False
            blame = _forbidden(*way)
            if blame is None or detail == ALL:
                return True
            detail = detail.more(blame)
    except LimitError:
        return True


def _forbidden(legs: list[Leg], again: list[Leg]) -> Blame | None:
    """Name what forbids a round from being gone twice, or from being waited in for ever."""
    if again[0].move is None:
        return _wait_ends(again)
    plan = fits([*legs, *again * TIMES[0]])
    return plan if isinstance(plan, Blame) else None


def _wait_ends(again: list[Leg]) -> Blame | None:
    """Name the clocks that end a wait, if any do."""
    highs = again[0].moment.highs
    return Blame(frozenset(clock for clock, _ in highs)) if highs else None


def _endless(space: Space, reached: Reached, keeps: Keeps) -> Iterator[tuple[list[Leg], list[Leg]]]:
    """Give ways in, each with what may be gone round in: one loop of waiting, or several legs."""
    kept = [node for node in reached.nodes if keeps(node.situation)]
    for node in kept:
        moves = space.moves(node.situation)
        for stay in sorted(moves.stays, key=lambda each: len(each.moment.highs)):
            if not stay.highs:
                yield legs_to(space, node), [Leg(space, node.situation, stay, None)]
    edges = {
        node.number: [
            step for step in reached.onward.get(node.number, ()) if keeps(step[0].situation)
        ]
        for node in kept
    }
    numbers = {at: [to.number for to, _, _ in onward] for at, onward in edges.items()}
    for group in strongly_connected(numbers):
        steps = _round_in(group, edges)
        if steps:
            first = reached.nodes[min(group)]
            yield legs_to(space, first), _legs(space, first, steps)


def _round_in(group: set[int], edges: dict[int, list[Step]]) -> list[Step]:
    """Find a shortest round through the first node of a group; none where it has no round."""
    start = min(group)
    paths: dict[int, list[Step]] = {start: []}
    queue = [start]
    for at in queue:
        for step in edges[at]:
            to = step[0].number
            if to == start:
                return [*paths[at], step]
            if to in group and to not in paths:
                paths[to] = [*paths[at], step]
                queue.append(to)
    return []


def _legs(space: Space, first: Node, steps: Sequence[Step]) -> list[Leg]:
    before = [first, *(to for to, _, _ in steps)]
    return [
        Leg(space, at.situation, stay, move)
        for at, (_, move, stay) in zip(before, steps, strict=False)
    ]


def _laid_out(lookout: Lookout, legs: list[Leg], again: list[Leg]) -> Run | Blame | None:
    """Lay a round out until it comes to the same again, or name what forbids it if anything."""
    waits = again[0].move is None
    if waits and (ends := _wait_ends(again)):
        return ends
    for times in (1,) if waits else TIMES:
        path = [*legs, *again * times]
        plan = schedule(path)
        if isinstance(plan, Blame):
            return plan
        try:
            run = concrete(path, plan)
        except ReplayError:
            return None
        begins = plan.loops[len(legs) - 1]
        found = _waited(lookout, run) if waits else _repeats(lookout, run, begins)
        if found is not None:
            return found
    return None


def _waited(lookout: Lookout, run: Run) -> Run | None:
    """Go on with what the last loop was given until everything is the same again."""
    length = 16
    while length <= MOST_LOOPS:
        longer = replace(run, stimuli=(*run.stimuli, *run.stimuli[-1:] * length), breach=None)
        found = _repeats(lookout, longer, len(run.stimuli) - 1)
        if found is not None:
            return found
        length *= 8
    return None


def _repeats(lookout: Lookout, run: Run, begins: int) -> Run | None:
    """Cut a run where everything is as it was in an earlier loop, from loop `begins` on."""
    known: dict[object, int] = {}
    for loop, state in enumerate(along(lookout.model, run, lookout.question.conditions)):
        if state is None:
            return None
        if loop < begins:
            continue
        if state in known:
            return replace(
                run, stimuli=run.stimuli[: loop + 1], breach=None, repeats_from=known[state] + 1
            )
        known[state] = loop
    return None
