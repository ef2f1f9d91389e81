"""What the hardware does by itself: where each mechanism stands and when it may move.

It knows the model and how conditions are judged; it does not know what the controller will do.

Strategy: each movement of the state that a mechanism is in runs a small clock of its own. In a
loop the mechanism first `choose`s among what is possible; when the loop's outputs are known it is
`settle`d on them, which starts and breaks the runs of its movements.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from behaviour.model import Condition, Mechanism, Model, Movement, Unknown
from behaviour.semantics import NotKnownError

NEVER = 1 << 40
"""The last loop in which a movement ends that may last."""

Judge = Callable[[Condition | None], bool]
"""Judges a `while` on what the last loop left."""


class Phase(Enum):
    """How far a movement of the present state has come."""

    FRESH = "not yet begun since the state was entered"
    FIRST = "in a first unbroken run, so it ends in its window"
    BROKEN = "begun and broken off"
    LATER = "in a run that may be near its end already"

    @property
    def is_running(self) -> bool:
        return self is Phase.FIRST or self is Phase.LATER

    # members are single objects, and a search hashes them all the time
    __hash__ = object.__hash__


class Progress(NamedTuple):
    """One movement's phase, and the loops since its `while` came to hold (0 unless running)."""

    phase: Phase
    clock: int = 0


class Stand(NamedTuple):
    """Where a mechanism stands: its state, and the progress of each movement of that state.

    `entered` tells that the state was entered in this very loop.
    """

    state: int
    progress: tuple[Progress, ...]
    entered: bool = True


@dataclass(frozen=True, slots=True)
class Choice:
    """What a mechanism may do in a loop; `movements` are those that end in it, in order."""

    stand: Stand
    movements: tuple[Movement, ...] = ()


def enter(mechanism: Mechanism, state: int) -> Stand:
    """Give the stand in the loop in which `state` is entered, before it is settled."""
    count = len(mechanism.states[state].movements)
    return Stand(state, (Progress(Phase.FRESH),) * count)


def at_power_up(mechanism: Mechanism) -> tuple[Stand, ...]:
    """List where a mechanism may stand at power-up; with `begins: any` it may be half-way."""
    if mechanism.begins is not None:
        return (enter(mechanism, mechanism.begins),)
    found = []
    for state in mechanism.states:
        broken = (Progress(Phase.BROKEN),) * len(state.movements)
        found.append(Stand(state.number, broken, entered=False))
    return tuple(found)


def settle(mechanism: Mechanism, stand: Stand, judge: Judge) -> Stand:
    """Start and break the runs of a stand by what the loop has left."""
    movements = mechanism.states[stand.state].movements
    several = len(movements) > 1
    progress = tuple(
        _settled(now, judge(movement.during), surely_whole=stand.entered or not several)
        for now, movement in zip(stand.progress, movements, strict=True)
    )
    return Stand(stand.state, progress, entered=False)


def _settled(now: Progress, holds: bool, *, surely_whole: bool) -> Progress:  # noqa: FBT001
    if not holds:
        return Progress(Phase.FRESH if now.phase is Phase.FRESH else Phase.BROKEN)
    match now.phase:
        case Phase.FRESH:
            return Progress(Phase.FIRST if surely_whole else Phase.LATER)
        case Phase.BROKEN:
            return Progress(Phase.LATER)
        case Phase.FIRST | Phase.LATER:
            return now


def window(model: Model, movement: Movement, phase: Phase) -> tuple[int, int]:
    """Give the first and the last loop of a run in which the movement may end.

    Rounded outwards; a later run may end at once, which is one loop after it began.
    """
    if isinstance(movement.low, Unknown):
        raise NotKnownError(movement.low)
    if isinstance(movement.high, Unknown):
        raise NotKnownError(movement.high)
    low = model.loops_down(movement.low) if phase is Phase.FIRST else 1
    return max(low, 1), NEVER if movement.may_last else max(model.loops_up(movement.high), 1)


def may_be_passed(model: Model, movement: Movement) -> bool:
    """Tell whether a movement is so short that its state can be passed between two looks."""
    return not isinstance(movement.low, Unknown) and model.loops_down(movement.low) == 0


def choose(
    model: Model,
    mechanism: Mechanism,
    stand: Stand,
    judge: Judge,
    loops: int = 1,
    stalled: frozenset[int] = frozenset(),
) -> Iterator[Choice]:
    """List what a mechanism may do in the next loop; `judge` sees what the last loop left.

    `stalled` holds the numbers of movements that never end. At least one choice is given.
    """
    movements = mechanism.states[stand.state].movements
    progress = tuple(
        Progress(now.phase, now.clock + loops) if now.phase.is_running else now
        for now in stand.progress
    )
    must_move = False
    for movement, now in zip(movements, progress, strict=True):
        if not now.phase.is_running or movement.number in stalled:
            continue
        low, high = window(model, movement, now.phase)
        must_move = must_move or now.clock >= high
        if now.clock >= low:
            yield from _arrive(model, mechanism, movement, judge, stalled)
    if not must_move:
        yield Choice(Stand(stand.state, progress, entered=False))


def _arrive(
    model: Model,
    mechanism: Mechanism,
    movement: Movement,
    judge: Judge,
    stalled: frozenset[int],
    passed: tuple[Movement, ...] = (),
) -> Iterator[Choice]:
    ended = (*passed, movement)
    yield Choice(enter(mechanism, movement.target), ended)
    for onward in mechanism.states[movement.target].movements:
        is_free = onward.number not in stalled and onward not in ended
        if is_free and may_be_passed(model, onward) and judge(onward.during):
            yield from _arrive(model, mechanism, onward, judge, stalled, ended)
