"""An input on a line that may be at fault: what it reads and what is truly there, loop by loop.

It knows filters and clocks; what a fault makes of a line it is told.

Strategy: such an input has two of everything: what its line reads and what the controller believes
of it, what is truly there and what a healthy filter would say of that. Both go through the same
filter, each with clocks of its own; as long as nothing is wrong they go together.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from behaviour.explore.guards import Clock, Limit, Lows, Seen
from behaviour.explore.opened import Change, Reading
from behaviour.explore.surroundings import filter_clock, first_readings, since_clock
from behaviour.model import Model
from behaviour.semantics import filter_loops
from behaviour.world.circuit import Circuit


def true_filter_clock(at: int) -> Clock:
    """Name the clock of the last change of what is truly there."""
    return ("truth", at, 0)


def true_clock(at: int) -> Clock:
    """Name the clock of the last change of what a healthy filter would say."""
    return ("truly", at, 0)


def flip_clock(at: int) -> Clock:
    """Name the clock of the present flip."""
    return ("flip", at, 0)


def first_line(model: Model, reader: int, true: str, read: str) -> Change:
    """Give what the input numbered `reader` reads in loop 0, and what is truly on its wire."""
    told = first_readings(model, reader, read)
    to = Reading(told.steady, true, read, true)
    return Change(to, Seen(told.steady), Seen(true), read)


def loose_line(model: Model, at: int, reader: int) -> Iterator[Change]:
    """List what a wire may show when nobody has kept what was read, nor what is truly there."""
    reads, values = model.inputs[reader].values, model.inputs[at].values
    for told, came, truly, truly_came in product(reads, (False, True), values, (False, True)):
        yield Change(
            Reading(told, truly),
            _loosely(told, came, since_clock(reader)),
            _loosely(truly, truly_came, true_clock(at)),
            told,
        )


def _loosely(value: str, came: bool, since: Clock) -> Seen:  # noqa: FBT001
    if came:
        return Seen(value, became=True)
    return Seen(value, since=since, is_loose=True)


@dataclass(frozen=True, slots=True)
class _Passed:
    """What a filter may make of a reading: the steady value, and when it can be so."""

    steady: str
    came: bool
    lows: Lows = ()
    highs: Lows = ()
    restarts: tuple[Clock, ...] = ()


def line_changes(  # noqa: PLR0913
    model: Model,
    at: int,
    reader: int,
    now: Reading,
    true: str,
    read: str,
    *,
    most_flipped: int | None = None,
    is_whole: bool = False,
    samples: bool = True,
) -> Iterator[Change]:
    """List what may happen on the wire of input `at`: `reader` reads `read`, `true` is there.

    `most_flipped` counts the loops for which it may read that if it is not so; None is for ever.
    With `is_whole` nothing has been wrong so far. Without `samples` the controller does not look in
    this loop.
    """
    flip = _flip(reader, now, true, read, most_flipped) if samples else ((), (flip_clock(reader),))
    if flip is None:
        return
    highs, restarts = flip
    tolds: tuple[_Passed, ...] = (_Passed(now.steady, came=False),)
    if samples:
        tolds = tuple(
            _passed(
                model, reader, now.steady, now.raw, read, filter_clock(reader), since_clock(reader)
            )
        )
    trues = _truly_passed(model, at, now, true)
    together = is_whole and read == true and now.steady == now.truly
    for told in tolds:
        for truly in trues:
            if together and told.steady != truly.steady:
                continue
            yield Change(
                Reading(told.steady, truly.steady, read if samples else now.raw, true),
                _seen(told, since_clock(reader)),
                _seen(truly, true_clock(at)),
                read,
                told.lows + truly.lows,
                told.highs + truly.highs + highs,
                (*told.restarts, *truly.restarts, *restarts),
            )


def turned_line(at: int, reader: int, to: Reading, now: Reading) -> Change:
    """Give what happens on a wire in the loop in which its filters let a turn through."""
    told = _Passed(to.steady, came=to.steady != now.steady)
    truly = _Passed(to.truly, came=to.truly != now.truly)
    restarts = [since_clock(reader)] if told.came else []
    restarts += [true_clock(at)] if truly.came else []
    seen, really = _seen(told, since_clock(reader)), _seen(truly, true_clock(at))
    return Change(to, seen, really, to.raw, restarts=tuple(restarts))


def restarted_line(
    model: Model, at: int, reader: int, now: Reading, true: str, read: str
) -> Iterator[Change]:
    """List what may happen on a wire in the loop in which the controller starts again."""
    told = first_readings(model, reader, read).steady
    begun = (filter_clock(reader), since_clock(reader), flip_clock(reader))
    for truly in _truly_passed(model, at, now, true):
        yield Change(
            Reading(told, truly.steady, read, true),
            Seen(told, since=None),
            _seen(truly, true_clock(at)),
            read,
            truly.lows,
            truly.highs,
            (*begun, *truly.restarts),
        )


def _truly_passed(model: Model, at: int, now: Reading, true: str) -> tuple[_Passed, ...]:
    """List what a healthy filter makes of what is truly there."""
    return tuple(
        _passed(model, at, now.truly, now.true, true, true_filter_clock(at), true_clock(at))
    )


def _passed(
    model: Model, at: int, steady: str, last: str, read: str, clock: Clock, since: Clock
) -> Iterator[_Passed]:
    """List what a filter makes of the next reading, as `next_reading` has it."""
    loops = filter_loops(model, model.inputs[at], read)
    if read != last:
        if read != steady and loops == 0:
            yield _Passed(read, came=True, restarts=(clock, since))
        else:
            yield _Passed(steady, came=False, restarts=(clock,))
        return
    if read == steady:
        yield _Passed(steady, came=False)
        return
    yield _Passed(read, True, ((clock, loops),) if loops > 1 else (), (), (since,))  # noqa: FBT003
    if loops > 1:
        yield _Passed(steady, came=False, highs=((clock, loops - 1),))


def _flip(
    at: int, now: Reading, true: str, read: str, most: int | None
) -> tuple[Lows, tuple[Clock, ...]] | None:
    """Give the bound on a flip and the clock that it starts; None where it lasts too long."""
    if read == true or most is None:
        return (), ()
    if most == 0:
        return None
    if now.raw == read and now.true != read:
        return (((flip_clock(at), most - 1),), ()) if most > 1 else None
    return (), (flip_clock(at),)


def _seen(passed: _Passed, since: Clock) -> Seen:
    return Seen(passed.steady, became=passed.came, since=None if passed.came else since)


def line_limits(circuit: Circuit, at: int, now: Reading) -> Iterator[tuple[Clock, Limit]]:
    """Give the clocks of the wire of input `at` and the most they are asked for."""
    model, reader = circuit.model, circuit.wires[at]
    for number, clock, reads, steady in (
        (reader, filter_clock(reader), now.raw, now.steady),
        (at, true_filter_clock(at), now.true, now.truly),
    ):
        if reads != steady:
            loops = filter_loops(model, model.inputs[number], reads)
            yield clock, Limit(loops, loops - 1)
    most = circuit.most_flipped(reader, now.raw)
    if now.raw != now.true and most is not None:
        yield flip_clock(reader), Limit(high=most - 1)
