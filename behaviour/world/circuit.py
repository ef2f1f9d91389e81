"""What lies between the world and the controller, and may be at fault: lines, outputs, power.

It knows what is truly there and what the controller is given of it; it knows no program.

Strategy: a `Life` says how far one fault has come and what it makes the controller do in a loop.
Everybody who plays a faulty prop asks here: which lives may follow, what an input may read, what an
output really has.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cached_property
from itertools import product
from typing import NamedTuple

from behaviour.faults import (
    LATEST,
    SLOWER,
    Backwards,
    BrownOut,
    Chatters,
    ControllerFault,
    Fault,
    Hangs,
    Late,
    Overdue,
    Restart,
    Slow,
    Stalls,
    Stuck,
    Swapped,
    Unplugged,
    Welded,
    directions,
    swapped_value,
    touched,
)
from behaviour.findings import Beat
from behaviour.model import Mechanism, Model, Movement, Output, Unknown
from behaviour.semantics import filter_loops, loops_of


class Stage(Enum):
    """How far a fault has come."""

    WAITING = "it may still begin"
    ACTING = "it acts"
    SKIPPING = "the controller does nothing, and outputs stay"
    SAGGING = "a hazard began in this loop, and power fails after it"
    DOWN = "the controller is off, and outputs are at rest"
    STARTING = "the controller starts again in this loop"
    OVER = "it has been; power may fail again all the same"

    # members are single objects, and a search hashes them all the time
    __hash__ = object.__hash__


class Life(NamedTuple):
    """Where one fault stands in a loop: `left` more loops of its stage (below 0: for ever).

    `late` counts the loops that were passed over before the controller went on in this one.
    """

    stage: Stage
    left: int = 0
    late: int = 0


Lives = tuple[Life, ...]
"""Where each fault of a circuit stands."""

_BEATS = {
    Stage.SKIPPING: Beat.SKIPS,
    Stage.DOWN: Beat.IS_DOWN,
    Stage.STARTING: Beat.STARTS,
}


def beat(lives: Lives) -> Beat:
    """Give what the controller does in a loop."""
    for life in lives:
        if life.stage in _BEATS:
            return _BEATS[life.stage]
    return Beat.RUNS


def is_whole(lives: Lives) -> bool:
    """Tell whether nothing has gone wrong so far."""
    return all(life.stage in (Stage.WAITING, Stage.SAGGING) for life in lives)


def loops_since(lives: Lives) -> int:
    """Count the loop times since the controller's last loop, when it runs in this one."""
    return 1 + max((life.late for life in lives), default=0)


def acting(lives: Lives) -> tuple[int, ...]:
    """List by number the faults that act on lines, outputs or movements in a loop."""
    return tuple(at for at, life in enumerate(lives) if life.stage is Stage.ACTING)


@dataclass(frozen=True)
class Circuit:
    """A prop with some things wrong; with none it is healthy.

    Not more than one of the faults is the controller's.
    """

    model: Model
    faults: tuple[Fault, ...] = ()

    # --- What becomes of the faults ---

    def at_power_up(self) -> Iterator[Lives]:
        """List how the faults may stand in loop 0."""
        return product(*(tuple(_at_power_up(fault)) for fault in self.faults))

    def onward(self, lives: Lives) -> Iterator[Lives]:
        """List how they may stand in the next loop."""
        each = (
            tuple(self._onward(fault, life)) for fault, life in zip(self.faults, lives, strict=True)
        )
        return product(*each)

    def unmoved(self, lives: Lives) -> Iterator[Lives]:
        """List how they may stand in the next loop if none begins that has not begun."""
        each = (
            (life,) if life.stage is Stage.WAITING else tuple(self._onward(fault, life))
            for fault, life in zip(self.faults, lives, strict=True)
        )
        return product(*each)

    def left(self, lives: Lives, *, hazard_began: bool) -> Lives:
        """Give how they stand as a loop leaves them that took a hazard from rest, or did not."""
        if not hazard_began or not any(isinstance(fault, BrownOut) for fault in self.faults):
            return lives
        return tuple(
            Life(Stage.SAGGING) if isinstance(fault, BrownOut) else life
            for fault, life in zip(self.faults, lives, strict=True)
        )

    def _onward(self, fault: Fault, life: Life) -> Iterator[Life]:
        match life.stage:
            case Stage.ACTING:
                yield life
            case Stage.WAITING:
                yield life
                yield from self._begun(fault)
            case Stage.SKIPPING | Stage.DOWN if life.left:
                yield Life(life.stage, max(life.left - 1, -1), life.late)
            case Stage.SKIPPING if isinstance(fault, Overdue):
                return
            case Stage.SKIPPING if isinstance(fault, Late):
                yield Life(Stage.OVER, late=life.late)
            case Stage.SKIPPING | Stage.SAGGING:
                yield Life(Stage.DOWN, self._boot - 1)
            case Stage.DOWN:
                yield Life(Stage.STARTING)
            case Stage.STARTING | Stage.OVER:
                yield Life(Stage.OVER)

    def _begun(self, fault: Fault) -> Iterator[Life]:
        match fault:
            case Overdue():
                yield Life(Stage.SKIPPING, LATEST - 2, LATEST - 1)
            case Late():
                for passed in range(1, LATEST):
                    yield Life(Stage.SKIPPING, passed - 1, passed)
            case Restart():
                yield Life(Stage.DOWN, self._boot - 1)
            case Hangs():
                yield Life(Stage.SKIPPING, self._watchdog - 1)
            case BrownOut():
                return
            case _:
                yield Life(Stage.ACTING)

    @cached_property
    def _boot(self) -> int:
        return 1 if self.model.boot is None else max(loops_of(self.model, self.model.boot), 1)

    @cached_property
    def _watchdog(self) -> int:
        """Count the loops until the watchdog bites; 0 is never."""
        watchdog = self.model.watchdog
        return 0 if watchdog is None else max(loops_of(self.model, watchdog), 1)

    # --- Lines ---

    @cached_property
    def lines(self) -> frozenset[int]:
        """Number the inputs of which the controller may believe something else than is there."""
        if self.stops:
            return frozenset(n for n, item in enumerate(self.model.inputs) if not item.drawn)
        numbers = self.model.input_index
        names = {name for fault in self.faults for name in touched(fault)}
        return frozenset(numbers[name] for name in names if name in numbers)

    @cached_property
    def stops(self) -> bool:
        """Tell whether the controller may leave out loops, or start again."""
        return any(isinstance(fault, ControllerFault) for fault in self.faults)

    @property
    def parts(self) -> bool:
        """Tell whether what the controller believes of an input may part from what is there."""
        return bool(self.lines)

    @cached_property
    def wires(self) -> tuple[int, ...]:
        """Give for each input the number of the input whose wire it reads."""
        wires = list(range(len(self.model.inputs)))
        for fault in self.faults:
            if isinstance(fault, Swapped):
                first, second = (self.model.input_index[n] for n in (fault.first, fault.second))
                wires[first], wires[second] = wires[second], wires[first]
        return tuple(wires)

    def reads(self, wrong: Sequence[int], number: int, true: str) -> tuple[str, ...]:
        """List what an input may read in a loop while its wire truly has the value `true`.

        `wrong` numbers the faults that act in it. The value is one of the input whose wire it is.
        """
        item, source = self.model.inputs[number], self.model.inputs[self.wires[number]]
        value = true if source is item else swapped_value(source, true, item)
        values: tuple[str, ...] = (value,)
        for at in wrong:
            match self.faults[at]:
                case Stuck(input=name, value=stays) | Unplugged(input=name, value=stays):
                    values = (stays,) if name == item.name else values
                case Chatters(input=name) if name == item.name and values == (value,):
                    flipped = (v for v in item.values if v != value)
                    most = self.most_flipped
                    values = (value, *(v for v in flipped if most(number, v) != 0))
                case _:
                    pass
        return values

    def most_flipped(self, number: int, value: str) -> int | None:
        """Count the loops for which interference may make an input read `value`; None: for ever.

        A flip that lasts less than the `steady` of that value is seen in no more loops than its
        filter asks for beside the one in which it counts.
        """
        item = self.model.inputs[number]
        for fault in self.faults:
            if isinstance(fault, Chatters) and fault.input == item.name and not fault.longer:
                return filter_loops(self.model, item, value)
        return None

    # --- Outputs ---

    def real(self, wrong: Sequence[int], outputs: tuple[str, ...]) -> tuple[str, ...]:
        """Give what the outputs really have in a loop that sets them so.

        `wrong` numbers the faults that act in it.
        """
        for number in wrong:
            match self.faults[number]:
                case Welded(output=name, value=value):
                    outputs = self._with(outputs, name, value)
                case Backwards(output=name):
                    at = self.model.output_index[name]
                    outputs = self._with(
                        outputs, name, _turned(self.model.outputs[at], outputs[at])
                    )
                case _:
                    pass
        return outputs

    def _with(self, outputs: tuple[str, ...], name: str, value: str) -> tuple[str, ...]:
        at = self.model.output_index[name]
        return (*outputs[:at], value, *outputs[at + 1 :])

    # --- Movements ---

    @cached_property
    def world(self) -> Model:
        """Give the model whose mechanism moves as it does with these faults, stalls apart."""
        slow = {(f.mechanism, f.movement) for f in self.faults if isinstance(f, Slow)}
        if not slow:
            return self.model
        return replace(
            self.model, mechanism=tuple(_slowed(each, slow) for each in self.model.mechanism)
        )

    def stalled(self, wrong: Sequence[int]) -> tuple[int, int] | None:
        """Give the mechanism and its movement, by their numbers, that does not end in a loop."""
        for number in wrong:
            fault = self.faults[number]
            if isinstance(fault, Stalls):
                return self.model.mechanism_index[fault.mechanism], fault.movement
        return None


def _at_power_up(fault: Fault) -> Iterator[Life]:
    match fault:
        case Stuck() | Unplugged() | Welded() | Stalls():
            yield Life(Stage.WAITING)
            yield Life(Stage.ACTING)
        case Late() | Restart() | Hangs() | BrownOut():
            yield Life(Stage.WAITING)
        case _:
            yield Life(Stage.ACTING)


def _turned(motor: Output, value: str) -> str:
    both = directions(motor)
    if both is None or value not in both:
        return value
    return both[1 - both.index(value)]


def _slowed(mechanism: Mechanism, slow: set[tuple[str, int]]) -> Mechanism:
    def movement(old: Movement) -> Movement:
        if (mechanism.name, old.number) not in slow or isinstance(old.high, Unknown):
            return old
        return replace(old, high=SLOWER * old.high)

    states = (
        replace(state, movements=tuple(movement(each) for each in state.movements))
        for state in mechanism.states
    )
    return replace(mechanism, states=tuple(states))
