"""What guards, stops and starts ask of hazards, by plain definition on the explicit graph.

All is judged with nothing wrong and with any one movement stalled. "Not safe" and "active" are what
the controller was told; that a guard really became unsafe is what is truly there. With something
wrong what is truly not safe is not safe too, and a press is a true one.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator

from behaviour.explore.twin import Loop
from behaviour.findings import Beat
from behaviour.model import Input, Output, Part, Role
from tests.twin.case import Case, taken

Memory = Hashable

BROKEN = "broken"


def beaten(case: Case) -> Iterator[str]:
    """A hazard away from rest in a loop that leaves a stop active."""
    for at, output in _driven(case):
        for number, stop in _with_role(case, Role.STOP):
            if any(
                _away(loop, at, output) and _is_unsafe(loop, number, stop)
                for loop in case.everywhere
            ):
                yield output.name


def open_moves(case: Case) -> Iterator[tuple[str, str, str]]:
    """A hazard that leaves rest with a guard not safe, or is not at rest in time once it opened."""
    for at, output in _driven(case):
        for number, guard in _with_role(case, Role.GUARD):
            for value in guard.values:
                if value != guard.safe and _moves_open(case, at, output, number, value):
                    yield output.name, guard.name, value


def unasked(case: Case) -> Iterator[str]:
    """A hazard that leaves rest without a press that lasts."""
    starts = _with_role(case, Role.START, Role.HOLD_TO_RUN)
    for at, output in _driven(case):
        if starts and _starts_unasked(case, at, output, starts):
            yield output.name


def filtered_slowly(case: Case) -> Iterator[str]:
    """A stop or guard that comes to count as a value not safe later than `reaction` allows."""
    for number, item in _with_role(case, Role.STOP, Role.GUARD):
        for value, steady in zip(item.values, item.steady, strict=True):
            assert isinstance(steady, int)
            if value == item.safe or not isinstance(case.model.reaction, int):
                continue
            if case.model.loops_up(steady) + 1 > case.model.loops_up(case.model.reaction) and any(
                loop.left.inputs[number].became and loop.left.inputs[number].steady == value
                for loop in case.everywhere
            ):
                yield item.name


def _moves_open(case: Case, at: int, output: Output, number: int, value: str) -> bool:
    """Tell whether some run breaks it for one value of a guard.

    The filter has seen the value since `sensing - 1` loops, and acting on it takes one more. So it
    is `reaction - sensing` loops from the loop in which it counts until the hazard is to rest.
    """
    model, guard = case.model, case.model.inputs[number]
    steady = guard.steady[guard.values.index(value)]
    assert isinstance(steady, int)
    sensing = model.loops_up(steady) + 1
    allowed = 0
    if model.reaction is not None:
        assert isinstance(model.reaction, int)
        allowed = model.loops_up(model.reaction) - sensing

    def after(loop: Loop, before: Memory) -> Memory:
        waits, history, was = before if isinstance(before, tuple) else (None, (), False)
        away = _away(loop, at, output)
        if away and not was and _is_unsafe(loop, number, guard):
            return BROKEN
        seen = loop.seen[number]
        opens = before is not None and seen.became and seen.steady == value
        if allowed < 0:
            if opens and len(history) == -allowed and history[0]:
                return BROKEN
            return None, (*history, away)[allowed:], away
        waits = waits + 1 if waits is not None else 0 if opens else None
        if away and waits is not None and waits >= allowed:
            return BROKEN
        return (waits if away else None), (), away

    return _some_run(case, after)


def _starts_unasked(
    case: Case, at: int, output: Output, starts: tuple[tuple[int, Input], ...]
) -> bool:
    ends = _with_role(case, Role.STOP, Role.GUARD, Role.RESET)
    region = case.model.region_index[case.model.owner[output.name]]

    def after(loop: Loop, before: Memory) -> Memory:
        asked, was = before if isinstance(before, tuple) else (False, False)
        away = _away(loop, at, output)
        if before is not None and any(
            loop.seen[n].became and _is_active(item, loop.seen[n].steady) for n, item in starts
        ):
            asked = True
        if any(_is_unsafe(loop, n, item) for n, item in ends):
            asked = False
        if away and not was and not asked:
            return BROKEN
        way = taken(loop.left.regions[region])
        if was and not away and way is not None and way.part is Part.INTERLOCK:
            asked = False
        return asked, away

    return _some_run(case, after)


def _some_run(case: Case, after: Callable[[Loop, Memory], Memory]) -> bool:
    """Tell whether some run gets broken, by what `after` remembers of each loop and those before.

    A stall changes the state that a run is in between two loops.
    """
    onward: list[list[Loop]] = [list(loops) for loops in case.graph.loops]
    for healthy, stalled in case.graph.stalls:
        onward[healthy] += case.graph.loops[stalled]
    ahead: list[tuple[Loop, Memory]] = [(loop, None) for loop in case.graph.starts]
    met = set()
    while ahead:
        loop, before = ahead.pop()
        begins = loop.source is None or loop.stimulus.beat is Beat.STARTS
        now = after(loop, None if begins else before)
        if now == BROKEN:
            return True
        if (loop.target, now) not in met:
            met.add((loop.target, now))
            ahead += [(each, now) for each in onward[loop.target]]
    return False


def _driven(case: Case) -> Iterable[tuple[int, Output]]:
    return [(at, output) for at, output in case.hazards if output.name in case.model.owner]


def _with_role(case: Case, *roles: Role) -> tuple[tuple[int, Input], ...]:
    return tuple((n, item) for n, item in enumerate(case.model.inputs) if item.role in roles)


def _away(loop: Loop, at: int, output: Output) -> bool:
    return loop.left.outputs[at] != output.rest


def _is_unsafe(loop: Loop, number: int, item: Input) -> bool:
    """Tell whether a stop or reset is active or a guard not safe, as told or as it truly is."""
    return any(_is_active(item, each[number].steady) for each in (loop.left.inputs, loop.seen))


def _is_active(item: Input, value: str) -> bool:
    return value != (item.safe if item.safe is not None else item.values[0])
