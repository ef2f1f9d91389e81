"""What the world may do in one loop, as the search sees it: inputs change, mechanisms move.

Strategy: an input that people move is free. Its filter then asks only that a change to v comes
at least the filter loops of v, and one, after the last change: raw can always be made to fit. An
input that a mechanism may force, and one that is held still, goes through the filter as it is.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from behaviour.explore.guards import Clock, Limit, Lows, Seen
from behaviour.explore.opened import Change, Reading
from behaviour.explore.sight import Sight
from behaviour.model import Input, Mechanism, Model, Movement
from behaviour.semantics import filter_loops
from behaviour.world.mechanism import NEVER, Phase, may_be_passed, window


class Standing(NamedTuple):
    """Where one mechanism is; a phase for each movement of its state."""

    state: int
    phases: tuple[Phase, ...]


class Motion(NamedTuple):
    """What one mechanism may do in a loop: stay, or end movements, or stall one for ever."""

    state: int
    ended: tuple[Movement, ...]
    lows: Lows = ()
    highs: Lows = ()
    stalls: int | None = None


# --- Inputs -------------------------------------------------------------------------------------


def filter_clock(at: int) -> Clock:
    return ("filter", at, 0)


def since_clock(at: int) -> Clock:
    return ("since", at, 0)


def truly_clock(model: Model, at: int) -> Clock:
    """Give the clock of the last true change: its own only where a presumption can part the two."""
    return ("truly", at, 0) if is_presumed(model, at) else since_clock(at)


def is_presumed(model: Model, at: int) -> bool:
    """Tell whether an input may count as unsafe at power-up while it is safe."""
    key = ("is presumed", at)
    known: bool | None = model.worked_out.get(key)
    if known is None:
        item = model.inputs[at]
        known = model.worked_out[key] = (
            item.presumed is not None
            and item.safe is not None
            and _loops(model, item, item.safe) > 0
        )
    return known


def first_readings(model: Model, at: int, true: str) -> Reading:
    """Give an input's reading in loop 0 when its true value is `true`."""
    item = model.inputs[at]
    if item.presumed is not None and is_presumed(model, at) and true == item.safe:
        return Reading(item.presumed, true, true)
    return Reading(true, true, true)


def free_changes(model: Model, at: int, now: Reading, only: str | None = None) -> Iterator[Change]:
    """List what an input that only people move may do next; with `only` they bring it to that.

    As long as it is presumed unsafe its filter is followed loop by loop.
    """
    item = model.inputs[at]
    wanted = item.values if only is None else (only,)
    if now.steady != now.truly:
        for true in wanted:
            yield from filtered_changes(model, at, now, true)
        return
    clocks = spacing(model, at)
    yield _same(model, at, now, now.steady)
    for value in wanted:
        if value != now.steady:
            loops = _loops(model, item, value)
            lows = tuple((clock, loops + 1) for clock in clocks)
            yield _changed(model, at, now, value, lows)


def loose_changes(model: Model, at: int, only: str | None = None) -> Iterator[Change]:
    """List what an input may show when nobody has kept what it was: any value, just come or not.

    With `only` it comes to nothing but that. A guard may also still be presumed unsafe while it is
    safe, be told safe at last though it long was, or truly come to what it was presumed to be.
    """
    item = model.inputs[at]
    for value in item.values:
        seen = Seen(value, since=since_clock(at), is_loose=True)
        yield Change(Reading(value, value), seen, seen, value)
    wanted = item.values if only is None else (only,)
    for value in wanted:
        edge = Seen(value, became=True)
        yield Change(Reading(value, value), edge, edge, value)
    if is_presumed(model, at) and item.presumed and item.safe:
        told = Seen(item.presumed, since=since_clock(at), is_loose=True)
        truly = Seen(item.safe, since=truly_clock(model, at), is_loose=True)
        yield Change(Reading(item.presumed, item.safe), told, truly, item.safe)
        if item.safe in wanted:
            edge = Seen(item.safe, became=True)
            yield Change(Reading(item.safe, item.safe), edge, truly, item.safe)
        if item.presumed in wanted:
            edge = Seen(item.presumed, became=True)
            yield Change(Reading(item.presumed, item.presumed), told, edge, item.presumed)


def held_changes(
    model: Model, at: int, now: Reading, filtered: Sequence[str] = ()
) -> Iterator[Change]:
    """List what an input may do that people hold at what it reads, for nobody knows how long.

    `filtered` lists what it may truly be where its filter must be followed.
    """
    if filtered:
        for true in filtered:
            yield from filtered_changes(model, at, now, true)
        return
    seen = Seen(now.steady, since=since_clock(at), is_loose=True)
    yield Change(now, seen, seen, now.steady)


def turned_change(model: Model, at: int, now: Reading, value: str) -> Change:
    """Give what an input does in the loop in which its filter lets a turn to `value` through."""
    change = _changed(model, at, now, value, ())
    return Change(change.to._replace(raw=now.raw and value), change.seen, change.truly, value)


def filtered_changes(model: Model, at: int, now: Reading, true: str) -> Iterator[Change]:
    """List what an input whose true value is `true` may do next, by its filter's clock."""
    loops = _loops(model, model.inputs[at], true)
    clock = filter_clock(at)
    pending = now.steady != true or now.truly != true
    if true != now.raw:
        reread = now._replace(raw=true)
        if not pending or loops == 0:
            change = (
                _changed(model, at, reread, true, ()) if pending else _same(model, at, reread, true)
            )
            yield _restarting(change, clock)
        else:
            yield _restarting(_same(model, at, reread, true), clock)
        return
    if not pending:
        yield _same(model, at, now, true)
        return
    yield _changed(model, at, now, true, ((clock, loops),) if loops > 1 else ())
    if loops > 1:
        same = _same(model, at, now, true)
        yield Change(same.to, same.seen, same.truly, true, (), ((clock, loops - 1),))


def _same(model: Model, at: int, now: Reading, raw: str) -> Change:
    seen = Seen(now.steady, became=False, since=since_clock(at))
    truly = Seen(now.truly, became=False, since=truly_clock(model, at))
    return Change(now, seen, truly, raw)


def _changed(model: Model, at: int, now: Reading, value: str, lows: Lows) -> Change:
    lows = tuple((clock, least) for clock, least in lows if least > 1)
    restarts: list[Clock] = [filter_clock(at)] if is_presumed(model, at) else []
    seen = Seen(value, became=False, since=since_clock(at))
    truly = Seen(value, became=False, since=truly_clock(model, at))
    if value != now.steady:
        seen = Seen(value, became=True)
        restarts.append(since_clock(at))
    if value != now.truly:
        truly = Seen(value, became=True)
        restarts.append(truly_clock(model, at))
    to = Reading(value, value, now.raw)
    return Change(to, seen, truly, value, lows, (), tuple(restarts))


def _restarting(change: Change, clock: Clock) -> Change:
    restarts = (*change.restarts, clock)
    return Change(change.to, change.seen, change.truly, change.raw, change.lows, (), restarts)


def free_limits(model: Model, at: int, now: Reading) -> Iterator[tuple[Clock, Limit]]:
    """Give the clocks that keep a free input's changes apart, and the most they are asked for."""
    if now.steady != now.truly:
        yield filtered_limit(model, at, now)
    item = model.inputs[at]
    needs = [_loops(model, item, value) + 1 for value in item.values if value != now.steady]
    for clock in spacing(model, at):
        yield clock, Limit(max(needs))


def filtered_limit(model: Model, at: int, now: Reading) -> tuple[Clock, Limit]:
    """Give the clock of a filter, and the most it is asked for: nothing unless news is in it."""
    is_pending = now.raw != now.steady or now.raw != now.truly
    loops = _loops(model, model.inputs[at], now.raw) if is_pending else -1
    return filter_clock(at), Limit(loops, loops - 1) if is_pending else Limit()


def spacing(model: Model, at: int) -> tuple[Clock, ...]:
    """Name the clocks that keep a free input's changes apart: both of them, where they differ."""
    clocks = (since_clock(at), truly_clock(model, at))
    return clocks if clocks[0] != clocks[1] else clocks[:1]


def _loops(model: Model, item: Input, value: str) -> int:
    return filter_loops(model, item, value)


# --- Mechanisms ---------------------------------------------------------------------------------


def movement_clock(at: int, which: int) -> Clock:
    return ("movement", at, which)


def motions(
    model: Model, at: int, now: Standing, sight: Sight, stalled: int | None, *, may_stall: bool
) -> Iterator[Motion]:
    """List what mechanism number `at` may do; `sight` is what the last loop left.

    `stalled` numbers the movement that never ends, if it is one of this mechanism. Numbers beyond
    the model's go round again: a second mechanism of the same kind, with clocks of its own.
    """
    mechanism = model.mechanism[at % len(model.mechanism)]
    going = [
        (movement_clock(at, which), movement, *window(model, movement, phase))
        for which, (movement, phase) in enumerate(
            zip(mechanism.states[now.state].movements, now.phases, strict=True)
        )
        if phase.is_running and movement.number != stalled
    ]
    for clock, movement, low, _ in going:
        lows = ((clock, low),) if low > 1 else ()
        for state, ended in _arrivals(model, mechanism, movement, sight, stalled):
            yield Motion(state, ended, lows)
    highs = tuple(sorted((clock, high - 1) for clock, _, _, high in going if high < NEVER))
    if all(most > 0 for _, most in highs):
        yield Motion(now.state, (), (), highs)
    if may_stall and not mechanism.motion_of:
        for which, movement in enumerate(mechanism.states[now.state].movements):
            clock = movement_clock(at, which)
            others = tuple(bound for bound in highs if bound[0] != clock)
            if all(most > 0 for _, most in others):
                yield Motion(now.state, (), (), others, movement.number)


def _arrivals(
    model: Model,
    mechanism: Mechanism,
    movement: Movement,
    sight: Sight,
    stalled: int | None,
    passed: tuple[Movement, ...] = (),
) -> Iterator[tuple[int, tuple[Movement, ...]]]:
    ended = (*passed, movement)
    yield movement.target, ended
    for onward in mechanism.states[movement.target].movements:
        is_free = onward.number != stalled and onward not in ended
        if is_free and may_be_passed(model, onward) and sight.judge(onward.during):
            yield from _arrivals(model, mechanism, onward, sight, stalled, ended)
