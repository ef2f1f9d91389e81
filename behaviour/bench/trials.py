"""What to try on the bench, in which order, and what is to be seen: from the model alone.

It knows nothing of how it is printed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from behaviour.model import (
    Change,
    Input,
    Model,
    Output,
    Pause,
    Restart,
    See,
    Unknown,
    WalkStep,
    Walkthrough,
)
from behaviour.wording import condition_words, duration, time_words


@dataclass(frozen=True, slots=True)
class Trial:
    """One thing to do, and what is to be seen."""

    does: str
    sees: str


@dataclass(frozen=True, slots=True)
class Part:
    """Trials that belong together, with what must be so before the first of them."""

    title: str
    before: str
    trials: tuple[Trial, ...]


def trials(model: Model, beyond: Sequence[str] = ()) -> tuple[Part, ...]:
    """List every part of the sheet that has something in it.

    `beyond` says what no program can tell, which a cut-off without software must take.
    """
    parts = (
        Part(
            "wires",
            "everything off, motors uncoupled, air and pressure away",
            tuple(_wires(model)),
        ),
        Part(
            "switched on",
            "supply limited in its current, motors still uncoupled",
            tuple(_switched_on(model)),
        ),
        Part("inputs", "as before; watch the trace", tuple(_inputs(model))),
        Part("guards and stops", "as before; one at a time", tuple(_protection(model))),
        Part(
            "the cut-off without software",
            "as before; no program can tell these",
            tuple(Trial(each, "the cut-off takes power from it") for each in beyond),
        ),
        Part(
            "the story",
            "motors coupled, everybody clear; each step as it stands",
            tuple(_stories(model)),
        ),
        Part("lamps and words", "whoever runs the show reads them", tuple(_signs(model))),
        Part("how fast it may be", "nobody near; a hand at the switch", tuple(_ladders(model))),
    )
    return tuple(part for part in parts if part.trials)


def _wires(model: Model) -> Iterator[Trial]:
    for item in model.inputs:
        pins = _pins(item)
        if pins and item.wiring.low is not None:
            yield Trial(
                f"measure `{item.name}` ({pins}) against ground while it is {item.wiring.low}",
                "a closed circuit; open at its other value",
            )
        elif pins:
            yield Trial(f"follow the wires of `{item.name}`", pins)
    for output in model.outputs:
        pins = _pins(output)
        if pins:
            yield Trial(f"follow the wires of `{output.name}`", pins)


def _pins(item: Input | Output) -> str:
    pins = [] if item.wiring.pin is None else [f"pin {_pin(item.wiring.pin)}"]
    pins += [f"{what} pin {_pin(pin)}" for what, pin in item.wiring.pins]
    return ", ".join(pins)


def _pin(pin: str | Unknown) -> str:
    return "not known yet" if isinstance(pin, Unknown) else pin


def _switched_on(model: Model) -> Iterator[Trial]:
    rests = ", ".join(f"{output.name} {output.rest}" for output in model.outputs if output.hazard)
    if rests:
        yield Trial("switch on, and touch nothing for a minute", f"nothing moves: {rests}")
    for region in model.regions:
        state = region.states[region.leaf(region.begins)].name
        yield Trial(
            f"look at the trace for `{region.name}`", f"`{state}`, or where an interlock holds it"
        )
    yield Trial("switch off and on again ten times", "the same each time, and no twitch")


def _inputs(model: Model) -> Iterator[Trial]:
    for item in model.inputs:
        for value, steady in zip(item.values, item.steady, strict=True):
            filtered = f" after {time_words(steady)}" if steady else ""
            yield Trial(
                f"let `{item.name}` be {value}",
                f"the trace says {item.name} {value}{filtered}, once",
            )
        if item.unplugged is not None:
            yield Trial(f"pull the plug of `{item.name}`", f"it reads {item.unplugged}")


def _protection(model: Model) -> Iterator[Trial]:
    within = "" if model.reaction is None else f" within {time_words(model.reaction)}"
    hazards = [output for output in model.outputs if output.hazard and output.name in model.owner]
    for item in model.inputs:
        if not item.is_protective:
            continue
        unsafe = next(value for value in item.values if value != item.safe)
        for output in hazards:
            yield Trial(
                f"while `{output.name}` is not {output.rest}, let `{item.name}` be {unsafe}",
                f"{output.name} {output.rest}{within}",
            )
        yield Trial(f"let `{item.name}` be {item.safe} again", "nothing starts by itself")


def _stories(model: Model) -> Iterator[Trial]:
    for walkthrough in model.walkthroughs:
        yield from _story(model, walkthrough)
    if model.walkthroughs:
        yield Trial(
            "keep what the trace said from switching on: `tablework compare SPEC FILE`",
            "it agrees; what it did not show is named",
        )


def _story(model: Model, walkthrough: Walkthrough) -> Iterator[Trial]:
    """Put what is done up to each look in one line with what is seen."""
    done: list[str] = []
    for step in walkthrough.steps:
        if isinstance(step, See):
            within = "" if step.within is None else f" within {duration(step.within)}"
            does = ", ".join(done) or "wait"
            yield Trial(
                f"{walkthrough.name}: {does}", f"{condition_words(model, step.condition)}{within}"
            )
            done = []
        else:
            done.append(_does(step))


def _does(step: WalkStep) -> str:
    match step:
        case Change(input=name, value="pressed"):
            return f"press {name}"
        case Change(input=name, value="released"):
            return f"release {name}"
        case Change(input=name, value=value):
            return f"let {name} be {value}"
        case Pause(time=time):
            return f"wait {duration(time)}"
        case Restart():
            return "switch off and on"
        case See():
            return "look"


def _signs(model: Model) -> Iterator[Trial]:
    for region in model.regions:
        for state in region.states:
            if state.operator:
                yield Trial(
                    f"bring `{region.name}` into `{state.name}`",
                    f"they know what to do: {state.operator}",
                )


def _ladders(model: Model) -> Iterator[Trial]:
    for drive in model.drives:
        yield Trial(
            f"climb the ladder of `{drive.output}`: `bench SPEC --ladder {drive.output}`",
            "speed and ramp of the file stand well below what stalled",
        )
