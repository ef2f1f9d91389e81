"""Whether a motor still turns: a mechanism region that no file holds, for `MOTOR is moving`.

It knows how long a motor may go on once its output rests, and not where that comes from.
"""

from behaviour.model import (
    And,
    Condition,
    Done,
    InState,
    Is,
    Mechanism,
    MechanismState,
    Micros,
    Movement,
    Or,
    Output,
    Time,
)
from behaviour.source import Span

STILL, MOVING = 0, 1


def motion_name(motor: str) -> str:
    """Name the region so that no name of a file can be the same."""
    return f"{motor}-motion"


def motion_of(motor: Output, loop: Micros, stop: Time, guesses: tuple[str, ...] = ()) -> Mechanism:
    """Give the region: a motor moves from the loop after it is driven until it has run down.

    That takes at most `stop` after its output came to rest, which rests on `guesses`; a move by
    distance that has ended has run down already. Everything takes a loop at least, so that none
    of it is passed between two looks.
    """
    longest = max(stop, loop) if isinstance(stop, int) else stop
    rests = Is(motor.name, (motor.rest,))
    starts = Movement(
        number=0,
        source=STILL,
        during=Is(motor.name, (motor.rest,), negated=True),
        low=loop,
        high=loop,
        target=MOVING,
    )
    runs_down = Movement(
        number=1,
        source=MOVING,
        during=rests,
        low=loop,
        high=longest,
        target=STILL,
        guesses=guesses,
    )
    ends = Movement(
        number=2, source=MOVING, during=Done(motor.name), low=loop, high=loop, target=STILL
    )
    return Mechanism(
        name=motion_name(motor.name),
        begins=STILL,
        states=(
            MechanismState(number=STILL, name="still", movements=(starts,)),
            MechanismState(number=MOVING, name="moving", movements=(runs_down, ends)),
        ),
        motion_of=motor.name,
    )


def is_moving(motor: Output, span: Span, *, negated: bool = False) -> Condition:
    """Give what `MOTOR is moving` asks: it is driven, or has not run down yet."""
    motion, name = motion_name(motor.name), motor.name
    if negated:
        says = f"{name} is not moving"
        stands = Or((InState(motion, MOVING, negated=True), Done(name)))
        return And((Is(name, (motor.rest,)), stands), span, says)
    runs_on = And((InState(motion, MOVING), Done(name, negated=True)))
    return Or((Is(name, (motor.rest,), negated=True), runs_on), span, f"{name} is moving")
