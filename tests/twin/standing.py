"""What hazards and regions do by themselves: with everybody standing still, at power-up, reversing.

Written from the pages, on the explicit graph; it knows no engine.
"""

from collections.abc import Iterator
from itertools import product

from behaviour.explore.twin import Loop
from behaviour.model import (
    Output,
)
from tests.twin.case import Case, Vector, circles, moves_on, on_the_way_round


def runaways(case: Case) -> Iterator[str]:
    """A hazard away from rest in every state of a circle with everybody standing still."""
    for at, output in case.hazards:
        for loops in case.standing_still.values():
            away = [loop for loop in loops if _is_away(case, loop, at, output)]
            if on_the_way_round(away):
                yield output.name
                break


def _is_away(case: Case, loop: Loop, at: int, output: Output) -> bool:
    if loop.source is None:
        return False
    before = case.graph.states[loop.source].prop.outputs[at]
    return output.rest not in (before, loop.left.outputs[at])


def self_running(case: Case) -> Iterator[str]:
    """A region that leaves or enters anew a state on a circle with everybody standing still."""
    for (stalled, _), loops in case.standing_still.items():
        if stalled is None:
            for group in circles(loops):
                for at, region in case.regions:
                    if any(moves_on(loop.left.regions[at]) for loop in group):
                        yield region.name


def moves_at_power_up(case: Case) -> Iterator[str]:
    """A hazard that leaves rest while every input is held at what it was at power-up."""
    for vector in product(*(case.people_hold(item) for item in case.model.inputs)):
        met: set[int] = set()
        ahead = [loop for loop in case.graph.starts if _is_held(case, loop, vector)]
        while ahead:
            loop = ahead.pop()
            for at, output in case.hazards:
                if loop.left.outputs[at] != output.rest:
                    yield output.name
            if loop.target not in met:
                met.add(loop.target)
                onward = case.graph.loops[loop.target]
                ahead += [each for each in onward if _is_held(case, each, vector)]


def _is_held(case: Case, loop: Loop, vector: Vector) -> bool:
    forced = case.forced_in(loop)
    return all(
        raw == held or item.name in forced
        for item, raw, held in zip(case.model.inputs, loop.stimulus.raw, vector, strict=True)
    )


def reverses_at_once(case: Case) -> Iterator[str]:
    """A motor that had another value away from rest fewer than its pause before."""
    for at, output in enumerate(case.model.outputs):
        if isinstance(output.pause, int) and _reverses(case, at, output, output.pause):
            yield output.name


def _reverses(case: Case, at: int, output: Output, time: int) -> bool:
    pause = case.model.loops_up(time)
    met: set[tuple[int, str | None, int]] = set()
    ahead: list[tuple[Loop, str | None, int]] = [(loop, None, 0) for loop in case.graph.starts]
    while ahead:
        loop, last, rested = ahead.pop()
        now = loop.left.outputs[at]
        if now == output.rest:
            rested = min(rested + 1, pause)
        elif last not in (None, now) and rested < pause:
            return True
        else:
            last, rested = now, 0
        if (loop.target, last, rested) not in met:
            met.add((loop.target, last, rested))
            ahead += [(each, last, rested) for each in case.graph.loops[loop.target]]
    return False
