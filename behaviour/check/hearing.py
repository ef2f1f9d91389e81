"""What the controller is told of inputs with one thing wrong, beside what they truly are.

It knows filters and faults, and no region. What is said of a loop is said of those in which the
controller runs. It may always be told of a guard or stop what is presumed of that since it last
started, for as long as it has been told nothing else since.

Strategy: a line that stays at a value shows it whenever a whole one would, so a filter lets it
through no later, and lets nothing else through that a whole line would not. A controller that
starts again reads as at power-up: of two values one is presumed, and once the other has passed the
filter since then, a filter that was never interrupted has let it pass too, and both go on alike.
What is not filtered is told as it is read. A loop that comes late may pass over what a filter saw.
"""

from behaviour.faults import (
    BrownOut,
    ControllerFault,
    Fault,
    Hangs,
    InputFault,
    Late,
    Restart,
    Stuck,
    Unplugged,
    touched,
)
from behaviour.model import Input, Model
from behaviour.semantics import filter_loops


def hears(model: Model, fault: Fault | None, name: str, value: str) -> bool:
    """Tell whether the controller is told that an input is a value whenever it truly is.

    That it became so it may be told sooner.
    """
    match fault:
        case Stuck(value=stays) | Unplugged(value=stays) if name in touched(fault):
            return stays == value
        case Restart() | BrownOut():
            return _begins_alike(model, model.input[name])
        case Late() | Hangs():
            return False
        case _:
            return not is_of_line(fault, name)


def hears_news(fault: Fault | None, name: str, value: str) -> bool:
    """Tell whether an input truly becomes a value in each loop in which that is told.

    A line that stays at another value is whole up to the last loop in which it is told so.
    """
    match fault:
        case Stuck(value=stays) | Unplugged(value=stays) if name in touched(fault):
            return stays != value
        case _:
            return not isinstance(fault, ControllerFault) and not is_of_line(fault, name)


def is_of_line(fault: Fault | None, name: str) -> bool:
    """Tell whether something is wrong with the line of an input."""
    return isinstance(fault, InputFault) and name in touched(fault)


def _begins_alike(model: Model, item: Input) -> bool:
    """Tell whether what is told of an input never parts from what is so by starting again."""
    is_presumed = item.presumed is not None and len(item.values) == 2  # noqa: PLR2004
    return is_presumed or not any(filter_loops(model, item, value) for value in item.values)
