"""Values that end before their `least`, and mechanism states passed between two looks.

Written from the pages, on the explicit graph; it knows no engine.
"""

from collections.abc import Iterator

from behaviour.explore.twin import Loop
from behaviour.model import Output, Part
from tests.twin.case import Case, taken


def cut_short(case: Case) -> Iterator[str]:
    """An output that changes sooner than its `least` after it last did, by no interlock.

    What it rests at when the power comes on, it has rested at before.
    """
    for at, output in enumerate(case.model.outputs):
        if not isinstance(output.least, int) or output.name not in case.model.owner:
            continue
        if _is_cut_short(case, at, output, case.model.loops_up(output.least)):
            yield output.name


def _is_cut_short(case: Case, at: int, output: Output, least: int) -> bool:
    region = case.model.region_index[case.model.owner[output.name]]
    ahead: list[tuple[Loop, str, int]] = [
        (loop, loop.left.outputs[at], least if loop.left.outputs[at] == output.rest else 1)
        for loop in case.graph.starts
    ]
    met = set()
    while ahead:
        before, value, lasted = ahead.pop()
        if (before.target, value, lasted) in met:
            continue
        met.add((before.target, value, lasted))
        for loop in case.graph.loops[before.target]:
            now = loop.left.outputs[at]
            if now == value:
                ahead.append((loop, now, min(lasted + 1, least)))
                continue
            way = taken(loop.left.regions[region])
            is_interlock = way is not None and way.part is Part.INTERLOCK
            if lasted < least and not is_interlock:
                return True
            ahead.append((loop, now, min(1, least)))
    return False


def blinks_missed(case: Case) -> Iterator[tuple[str, str]]:
    """A mechanism state that reads something, and that a loop passes: entered and left in it."""
    for loop in case.healthy:
        for mechanism, ended in zip(case.model.mechanism, loop.ended, strict=True):
            for movement in ended[:-1]:
                state = mechanism.states[movement.target]
                if state.reads:
                    yield mechanism.name, state.name
