"""Sentences on what the hardware does by itself."""

from collections.abc import Iterator

from behaviour.model import Mechanism, Model, Movement
from behaviour.tell.clauses import clause, thing, time, window
from behaviour.tell.sheet import Section, listed, marked, quoted, remark


def mechanism(model: Model) -> Section:
    """Say how each part of the hardware moves, and what it makes inputs read."""
    parts = tuple(
        Section(marked(each.name), tuple(_mechanism(model, each))) for each in model.mechanism
    )
    return Section("What the hardware does by itself", parts=parts)


def _mechanism(model: Model, found: Mechanism) -> Iterator[str]:
    if found.motion_of:
        longest = found.movements()[1].high
        motor = thing(model, found.motion_of)
        yield f"Once {motor} rests, it may turn on for up to {time(longest)}."
        return
    names = listed(marked(state.name) for state in found.states)
    begins = "in any of them"
    if found.begins is not None:
        begins = f"in {marked(found.states[found.begins].name)}"
    yield f"{marked(found.name)} is always in one of {names}, and begins {begins}."
    if found.about:
        yield f"A word on all of {marked(found.name)}: {quoted(found.about)}"
    for state in found.states:
        name = marked(state.name)
        if state.about:
            yield f"A word on {name}: {quoted(state.about)}"
        if state.reads:
            reads = listed(f"{thing(model, item)} reads {value}" for item, value in state.reads)
            yield f"In {name}, {reads}."
        for movement in state.movements:
            yield f"{_movement(model, found, movement)}{remark(movement.about)}."


def _movement(model: Model, found: Mechanism, movement: Movement) -> str:
    source, target = (found.states[n].name for n in (movement.source, movement.target))
    takes = f"takes {window(movement.low, movement.high)} from {marked(source)} to {marked(target)}"
    if movement.during is None:
        return f"It {takes}"
    return f"While {clause(model, movement.during)}, it {takes}"
