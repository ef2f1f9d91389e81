"""Sentences on the prop as a whole, and on what it reads, drives and counts."""

from collections.abc import Iterator

from behaviour.model import Counter, Input, Model, Output, Role
from behaviour.tell import clauses
from behaviour.tell.clauses import count, is_words, thing
from behaviour.tell.sheet import Section, article, listed, marked, quoted

ROLES: dict[Role, str] = {
    Role.GUARD: "guards people",
    Role.STOP: "is for stopping",
    Role.START: "is for starting",
    Role.RESET: "is for resetting",
    Role.HOLD_TO_RUN: "is for running only while it is held",
    Role.MODE: "is for choosing how it runs",
}


def prop(model: Model) -> Section:
    """Say what the prop is, and what holds for all of it."""
    return Section("The prop", tuple(_prop(model)))


def inputs(model: Model) -> Section:
    return Section("What it looks at", tuple(_of_all(model, model.inputs)))


def outputs(model: Model) -> Section:
    return Section("What it drives", tuple(_of_all(model, model.outputs)))


def counters(model: Model) -> Section:
    return Section("What it counts", tuple(_of_all(model, model.counters)))


def show(model: Model) -> Section:
    """Say what whoever runs the show must know."""
    heads = {"switch_on": "To switch it on", "make_safe": "To make it safe", "call": "Whom to call"}
    lines = tuple(f"{heads[key]}: {quoted(text)}" for key, text in model.show)
    return Section("For whoever runs the show", lines)


def _prop(model: Model) -> Iterator[str]:
    yield f"The prop is called {quoted(model.prop)}"
    if model.about:
        yield f"What it does: {quoted(model.about)}"
    yield f"The controller looks at everything once every {clauses.time(model.loop)}."
    if model.controller is not None:
        yield f"The controller is of the kind {marked(model.controller)}."
    if model.reaction is not None:
        reaction = clauses.time(model.reaction)
        yield f"Once a guard is really unsafe, all that is dangerous must rest within {reaction}."
    if model.watchdog is not None:
        again = clauses.time(model.watchdog)
        yield f"Should the controller hang, it is started again after {again}."
    if model.boot is not None:
        yield f"Started again, the controller needs {clauses.time(model.boot)} before it looks."


def _of_all(
    model: Model, items: tuple[Input, ...] | tuple[Output, ...] | tuple[Counter, ...]
) -> Iterator[str]:
    for item in items:
        match item:
            case Input():
                yield from _input(model, item)
                name = thing(model, item.name)
            case Output():
                yield from _output(model, item)
                name = thing(model, item.name)
            case Counter():
                yield (
                    f"{marked(item.name)} is a count from {item.low} to {item.high},"
                    f" and begins at {item.begins}."
                )
                name = count(item.name)
        if item.about:
            yield f"A word on {name}: {quoted(item.about)}"


def _input(model: Model, item: Input) -> Iterator[str]:
    name = _begun(thing(model, item.name))
    yield f"{marked(item.name)} is {article(item.kind)}, and reads {listed(item.values, 'or')}."
    if item.role is not None:
        safe = "" if item.safe is None else f", and is safe when {item.safe}"
        yield f"{name} {ROLES[item.role]}{safe}."
    yield _filter(model, item)
    if item.unplugged is not None:
        yield f"With its wire cut {thing(model, item.name)} reads {item.unplugged}."


def _filter(model: Model, item: Input) -> str:
    """Say for how long a reading must last before it counts."""
    name, times = thing(model, item.name), tuple(clauses.time(each) for each in item.steady)
    if set(item.steady) == {0}:
        return f"What {name} reads counts at once."
    if len(set(item.steady)) == 1:
        return f"To count, {name} must have read the same for {times[0]}."
    pairs = zip(item.values, times, strict=True)
    reads = listed((f"{value} for {lasts}" for value, lasts in pairs), "or")
    return f"To count, {name} must have read {reads}."


def _output(model: Model, item: Output) -> Iterator[str]:
    name = _begun(thing(model, item.name))
    yield f"{marked(item.name)} is {article(item.kind)}, and can be {listed(item.values, 'or')}."
    if item.keeps:
        yield f"{name} begins {item.rest}, and then keeps what it was last given."
    else:
        yield f"{name} is {item.rest} whenever no state says otherwise."
    if item.hazard:
        yield f"{name} can hurt somebody when it {is_words((item.rest,), negated=True)}."
    else:
        yield f"{name} can hurt nobody."
    if item.pause is not None:
        yield f"{name} needs {clauses.time(item.pause)} of rest before it turns the other way."
    if item.least is not None:
        least = clauses.time(item.least)
        yield f"What {thing(model, item.name)} is given must last at least {least}."


def _begun(words: str) -> str:
    return words[0].upper() + words[1:]
