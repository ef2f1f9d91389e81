"""What can go wrong, in the words of the trade: on what, how, and what that does.

It knows the model and the faults; it does not know what becomes of a prop by them.
"""

from behaviour.faults import (
    LATEST,
    Backwards,
    BrownOut,
    Chatters,
    ControllerFault,
    Fault,
    Hangs,
    InputFault,
    Late,
    Restart,
    Slow,
    Stalls,
    Stuck,
    Swapped,
    Unplugged,
    Welded,
    directions,
    touched,
)
from behaviour.model import Model, Movement
from behaviour.wording import duration, time_words


def item_words(fault: Fault) -> str:
    """Name the thing that fails."""
    return ", ".join(touched(fault)) or "controller"


def mode_words(model: Model, fault: Fault) -> str:
    """Say how it fails: the failure mode."""
    match fault:
        case Stuck() | Unplugged() | Chatters() | Swapped():
            return _mode_of_input(fault)
        case Stalls(mechanism=name, movement=number):
            return f"stalls: {movement_words(model, name, number)}"
        case Slow(mechanism=name, movement=number):
            return f"slow: {movement_words(model, name, number)}"
        case Backwards():
            return "runs backwards"
        case Welded(value=value):
            return f"stays {value}"
        case _:
            return _mode_of_controller(fault)


def _mode_of_input(fault: InputFault) -> str:
    match fault:
        case Stuck(value=value):
            return f"stuck at {value}"
        case Unplugged(value=value):
            return f"unplugged, reads {value}"
        case Chatters(longer=longer):
            return "chatters for longer than its steady" if longer else "chatters"
        case Swapped():
            return "plugs swapped"


def _mode_of_controller(fault: ControllerFault) -> str:
    match fault:
        case Late():
            return "one loop late"
        case Restart():
            return "starts again"
        case BrownOut():
            return "starts again as a hazard starts"
        case Hangs():
            return "hangs"


def effect_words(model: Model, fault: Fault) -> str:
    """Say what that does, before anybody reacts to it."""
    match fault:
        case Stuck() | Unplugged() | Chatters() | Swapped():
            return _effect_on_input(fault)
        case Stalls(mechanism=name, movement=number):
            return f"from any moment on {movement_words(model, name, number)} never ends"
        case Slow(mechanism=name, movement=number):
            usual = time_words(_movement(model, name, number).high)
            return f"{movement_words(model, name, number)} takes up to twice its {usual}"
        case Backwards(output=name):
            one, other = directions(model.output[name]) or ("", "")
            return f"set {one} it goes {other}, and the other way about"
        case Welded(output=name, value=value):
            return f"from any moment on `{name}` is {value}, whatever is set"
        case _:
            return _effect_of_controller(model, fault)


def _effect_on_input(fault: InputFault) -> str:
    match fault:
        case Stuck(input=name, value=value) | Unplugged(input=name, value=value):
            return f"from any moment on `{name}` reads {value}, whatever is there"
        case Chatters(input=name, longer=longer):
            time = "for as long as it likes" if longer else "for less than its filter takes"
            return f"`{name}` reads what is not there {time}, again and again"
        case Swapped(first=first, second=second):
            return f"`{first}` reads what `{second}` should, and the other way about"


def _effect_of_controller(model: Model, fault: ControllerFault) -> str:
    match fault:
        case Late():
            most = duration(LATEST * model.loop)
            return f"one loop begins up to {most} after the one before"
        case Restart():
            return "at any moment, once; outputs are at rest until it is back"
        case BrownOut():
            return "each time a hazard leaves its rest"
        case Hangs():
            dog = model.watchdog
            back = "for ever" if dog is None else f"until the watchdog, after {time_words(dog)}"
            return f"no loops, and outputs stay as they are, {back}"


def movement_words(model: Model, mechanism: str, number: int) -> str:
    """Name a movement by where it begins and where it leads."""
    movement = _movement(model, mechanism, number)
    states = model.mechanisms[mechanism].states
    return f"`{states[movement.source].name} -> {states[movement.target].name}`"


def _movement(model: Model, mechanism: str, number: int) -> Movement:
    movements = model.mechanisms[mechanism].movements()
    return next(each for each in movements if each.number == number)
