"""Asks a drive's numbers how long a move takes, and reports what it is not given for that.

It knows what is moved how far, and leaves every formula to `numbers`.
"""

from math import ceil
from typing import TypeVar

from behaviour import model
from behaviour.findings import Label
from behaviour.language import syntax
from behaviour.language.phrases import listed
from behaviour.language.resolve_names import Names
from behaviour.language.syntax import Word
from behaviour.numbers.figures import Missing, figures_of
from behaviour.numbers.motion import move_window, passing_window, steps_of
from behaviour.numbers.results import MOVED, guesses_behind
from behaviour.numbers.stopping import stop
from behaviour.source import Span
from behaviour.wording import amount_words

Result = TypeVar("Result")

Window = tuple[model.Time, model.Time]

TIMED = (*MOVED, "stations.count", "tolerance")
"""Beginnings of the paths of figures that the window of a move rests on."""

_EXAMPLES = {
    "steps": "steps: 200",
    "speed": "speed: 40 rpm",
    "ramp": "ramp: 150 rpm/s",
    "stations.count": "stations: {count: 6}",
    "tolerance": "tolerance: 5 %",
    "load.inertia": "load: {inertia: 0.02 kg m2}",
    "load.friction": "load: {friction: 0.3 N m}",
    "torque": "torque: [[0 rpm, 1.9 N m]]",
}
"""How a figure is written that a drive lacks."""


def resolve_move(
    names: Names, setting: syntax.Setting, motor: model.Output | None
) -> model.Move | None:
    """Work out a move by distance; None where it cannot be, which is then reported."""
    drive = _drive(names, setting.output, setting.value.span, f"`{setting.value.text}`")
    amount = setting.amount
    if motor is None or drive is None or amount is None or not _may_move(names, setting, motor):
        return None
    if isinstance(amount, model.Unknown):
        return model.Move(number=0, amount=_OPEN, low=amount, high=amount)
    says = f"`{setting.value.text} {amount_words(amount)}`"
    exact = _given(names, drive, steps_of(drive, amount), amount.span, says)
    if exact is None or isinstance(exact, model.Unknown):
        low = high = exact
        return None if low is None or high is None else _open_move(amount, low)
    steps = round(exact)
    if steps < 1:
        message = f"{says} of `{drive.output}` is less than a step"
        names.reading.mistakes.add(amount.span, message, hint="a step is the least that it turns")
        return None
    window = _given(names, drive, move_window(drive, steps), amount.span, says)
    if window is None or isinstance(window, model.Unknown):
        return None if window is None else _open_move(amount, window)
    return model.Move(
        number=0,
        amount=amount,
        low=window[0],
        high=window[1],
        steps=steps,
        guesses=guesses_behind(figures_of(drive), *TIMED),
    )


_OPEN = model.Quantity(number=0, unit="")


def _open_move(amount: model.Quantity, time: model.Unknown) -> model.Move:
    return model.Move(number=0, amount=amount, low=time, high=time)


def _may_move(names: Names, setting: syntax.Setting, motor: model.Output) -> bool:
    problem = ""
    if setting.value.text == motor.rest:
        problem = f"`{motor.name}` rests at `{motor.rest}`, and so goes nowhere"
        hint = f"name a direction, as in `{next(v for v in motor.values if v != motor.rest)}`"
    elif motor.keeps:
        problem = f"`{motor.name}` keeps its value, and a move leaves it at rest"
        hint = "take out `keeps: yes`, or write the bare value"
    if problem:
        names.reading.mistakes.add(setting.span, problem, label="no move", hint=hint)
    return not problem


def resolve_turn(names: Names, turn: syntax.Turn) -> Window | None:
    """Give the window in which a drive goes through an angle or stations, while it is driven."""
    drive = _drive(names, turn.of, turn.of.span, "`takes`")
    if drive is None or turn.amount is None:
        return None
    if isinstance(turn.amount, model.Unknown):
        return turn.amount, turn.amount
    says = f"`turn: {amount_words(turn.amount)}`"
    steps = _given(names, drive, steps_of(drive, turn.amount), turn.amount.span, says)
    if steps is None or isinstance(steps, model.Unknown):
        return None if steps is None else (steps, steps)
    window = _given(names, drive, passing_window(drive, float(steps)), turn.amount.span, says)
    return (window, window) if isinstance(window, model.Unknown) else window


def turn_guesses(names: Names, turn: syntax.Turn) -> tuple[str, ...]:
    """Name the guesses that the window of a turn rests on."""
    drive = names.drives.get(turn.of.text)
    return () if drive is None else guesses_behind(figures_of(drive), *TIMED)


def stop_guesses(drive: model.Drive | None) -> tuple[str, ...]:
    """Name the guesses that coming to rest rests on: any figure but those of stations may be."""
    if drive is None:
        return ()
    every = guesses_behind(figures_of(drive), "")
    return tuple(name for name in every if ".stations." not in name)


def stop_time(names: Names, motor: Word, span: Span) -> model.Time | None:
    """Give how long a motor may go on turning once its output rests."""
    drive = _drive(names, motor, span, "`is moving`")
    if drive is None:
        return None
    found = _given(names, drive, stop(drive), span, "`is moving`")
    if found is None or isinstance(found, model.Unknown):
        return found
    return ceil(found.time * 1_000_000)


# --- What a drive does not say ------------------------------------------------------------------


def _drive(names: Names, motor: Word, span: Span, says: str) -> model.Drive | None:
    drive = names.drives.get(motor.text)
    if drive is None and names.whole:
        names.reading.mistakes.add_once(
            ("drive", motor.text, says),
            span,
            f"{says} needs the numbers of `{motor.text}`, and it has no drive",
            label="how fast it turns is not known",
            hint=f"write `drives: {{{motor.text}: {{kind: stepper, steps: 200, speed: 40 rpm, "
            "ramp: 150 rpm/s, tolerance: 5 %}}`",
        )
    return drive


def _given(
    names: Names, drive: model.Drive, found: Result | Missing, span: Span, says: str
) -> Result | model.Unknown | None:
    """Give what was worked out, what is `unknown` of it, or None for what is reported here."""
    if not isinstance(found, Missing):
        return found
    unknowns = names.reading.unknowns
    lacking = [figure for figure in found.figures if figure not in unknowns]
    if not lacking:
        return unknowns[found.figures[0]]
    figures = [figure.removeprefix(f"{drive.output}.") for figure in lacking]
    forms = [_EXAMPLES[figure] for figure in figures if figure in _EXAMPLES]
    names.reading.mistakes.add_once(
        ("figures", drive.output, says, *figures),
        span,
        f"{says} needs {listed(figures, 'and')} of the drive `{drive.output}`",
        label="cannot be worked out without",
        related=(Label(drive.span, "not given here"),),
        hint=f"write {listed(forms, 'and')} there" if forms else "",
    )
    return None
