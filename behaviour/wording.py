"""The language written back: conditions, actions and times of the model in the words of a file.

It knows nothing of who prints them, nor of any layout.
"""

from typing import assert_never

from behaviour.model import (
    Action,
    AddTo,
    After,
    And,
    Becomes,
    Change,
    Compare,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Micros,
    Model,
    Not,
    Or,
    Pause,
    Quantity,
    Region,
    Restart,
    See,
    Setting,
    SetTo,
    State,
    Time,
    Unknown,
    WalkStep,
)

SECOND = 1_000_000
MINUTE = 60 * SECOND


def duration(time: Micros) -> str:
    """Write a duration of whole microseconds in the unit that reads best: `20 ms`, `1.5 s`."""
    if time and time % MINUTE == 0:
        return f"{time // MINUTE} min"
    if time >= SECOND:
        return f"{_plain(time, SECOND)} s"
    return f"{_plain(time, 1000)} ms"


def time_words(time: Time) -> str:
    """Write a time, or `unknown` where the file leaves it open."""
    return "unknown" if isinstance(time, Unknown) else duration(time)


def times(count: int) -> str:
    """Write how often something happens: `once`, `3 times`."""
    return "once" if count == 1 else f"{count} times"


def window_words(low: Time, high: Time) -> str:
    """Write a time between two bounds; one time where they are the same."""
    if low == high:
        return time_words(low)
    return f"{time_words(low)} to {time_words(high)}"


def after_words(after: After) -> str:
    """Write the `after` of a transition, with that word."""
    return f"after {window_words(after.low, after.high)}"


def condition_words(model: Model, condition: Condition) -> str:
    """Write a condition as the language has it, with brackets only where they are needed."""
    match condition:
        case Is(name=name, values=values, negated=negated):
            return f"{name} {_values(values, negated=negated)}"
        case Becomes(name=name, value=value):
            return f"{name} becomes {value}"
        case HeldFor(name=name, value=value, time=time):
            return f"{name} is {value} for {time_words(time)}"
        case Compare(name=name, sign=sign, number=number):
            return f"{name} {sign} {number}"
        case InState(region=region, state=state, negated=negated):
            return f"{region} {'not in' if negated else 'in'} {_state_name(model, region, state)}"
        case Done(name=name, negated=negated):
            return f"{name} is {'not done' if negated else 'done'}"
        case And(says=says) | Or(says=says) if says:
            return says
        case Not(part=part):
            return f"not {_bracketed(model, part)}"
        case And(parts=parts):
            return " and ".join(_bracketed(model, part) for part in parts)
        case Or(parts=parts):
            return " or ".join(_bracketed(model, part) for part in parts)
        case _:
            assert_never(condition)


def action_words(action: Action) -> str:
    """Write one of the actions of `do`."""
    match action:
        case AddTo(counter=counter, amount=amount) if amount < 0:
            return f"take {-amount} from {counter}"
        case AddTo(counter=counter, amount=amount):
            return f"add {amount} to {counter}"
        case SetTo(counter=counter, value=value):
            return f"set {counter} to {value}"
        case _:
            assert_never(action)


def step_words(model: Model, step: WalkStep) -> str:
    """Write a step of a walkthrough."""
    match step:
        case Change(input=name, value=value):
            verb = {"pressed": "press", "released": "release"}.get(value)
            is_button = model.input[name].kind == "button"
            return f"{verb} {name}" if verb and is_button else f"{name} becomes {value}"
        case Pause(time=time):
            return f"pause {duration(time)}"
        case See(condition=condition, within=within):
            due = "" if within is None else f" within {duration(within)}"
            return f"see {condition_words(model, condition)}{due}"
        case Restart():
            return "restart"
        case _:
            assert_never(step)


def setting_words(setting: Setting) -> str:
    """Write what a state gives an output: its name and the value."""
    if setting.move is None:
        return f"{setting.output} {setting.value}"
    return f"{setting.output} {setting.value} {amount_words(setting.move.amount)}"


def amount_words(amount: Quantity) -> str:
    """Write how far a move goes, such as `1 station`."""
    return f"{amount.number:.12g} {amount.unit}" if amount.unit else "unknown"


def full_name(region: Region, state: int) -> str:
    """Name a state with the states around it, such as `shot.open`."""
    return ".".join(region.states[number].name for number in region.path(state))


def cue_name(state: State, fired: int) -> str:
    """Name a state after `fired` of its cues, such as `shot@100ms`; its own name before any."""
    if not fired:
        return state.name
    return f"{state.name}@{time_words(state.cues[fired - 1].at).replace(' ', '')}"


def _values(values: tuple[str, ...], *, negated: bool) -> str:
    if len(values) == 1:
        return f"is not {values[0]}" if negated else f"is {values[0]}"
    if negated:
        return f"is neither {' nor '.join(values)}"
    return f"is either {' or '.join(values)}"


def _bracketed(model: Model, part: Condition) -> str:
    words = condition_words(model, part)
    is_joined = isinstance(part, Not) or (isinstance(part, And | Or) and not part.says)
    return f"({words})" if is_joined else words


def _state_name(model: Model, region: str, state: int) -> str:
    if region in model.region:
        return model.region[region].states[state].name
    return model.mechanisms[region].states[state].name


def _plain(time: Micros, unit: Micros) -> str:
    """Write a quotient without a needless nought; exact, since both are whole."""
    whole, rest = divmod(time, unit)
    if not rest:
        return str(whole)
    return f"{whole}.{str(unit + rest)[1:].rstrip('0')}"
