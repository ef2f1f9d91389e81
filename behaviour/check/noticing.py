"""How a prop would notice that something failed, and what its file then does: read off the file.

It searches nothing: it says what is written for such a case, not whether that is enough.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.explore.guards import atoms
from behaviour.faults import ControllerFault, Fault, Hangs, Late, Stuck, Unplugged, touched
from behaviour.model import (
    Becomes,
    Condition,
    HeldFor,
    InState,
    Is,
    Model,
    Part,
    Region,
    State,
    Transition,
)
from behaviour.wording import after_words, condition_words, time_words


@dataclass(frozen=True, slots=True)
class Notice:
    """One way in which a prop notices, and what it does about it."""

    how: str
    does: str


def notices(model: Model, fault: Fault) -> tuple[Notice, ...]:
    """List every timeout and interlock that a file has against a fault; none: it has nothing."""
    if isinstance(fault, ControllerFault):
        return tuple(_of_controller(model, fault))
    inputs = frozenset(_inputs(model, fault))
    found = (
        each
        for region in model.regions
        for way, each in _of_region(model, region, inputs)
        if way.part is not Part.INTERLOCK or _can_hold(way.when, fault)
    )
    return tuple(dict.fromkeys(found))


def _can_hold(condition: Condition | None, fault: Fault) -> bool:
    """Tell whether a condition can still hold as far as an input is concerned that stays."""
    if not isinstance(fault, Stuck | Unplugged):
        return True
    return any(
        (fault.value in atom.values) != atom.negated
        if isinstance(atom, Is)
        else fault.value == atom.value
        for atom in atoms(condition)
        if isinstance(atom, Is | Becomes | HeldFor) and atom.name == fault.input
    )


def _of_controller(model: Model, fault: ControllerFault) -> Iterator[Notice]:
    if isinstance(fault, Late):
        return
    if isinstance(fault, Hangs) and model.watchdog is not None:
        yield Notice(f"the watchdog, after {time_words(model.watchdog)}", "starts again")
    if isinstance(fault, Hangs) and model.watchdog is None:
        return
    guards = [item.name for item in model.inputs if item.is_protective]
    begins = ", ".join(
        f"{region.name} in {region.states[region.begins].name}" for region in model.regions
    )
    how = f"counts {', '.join(guards)} as not safe at first" if guards else "starts again"
    yield Notice(how, f"begins with {begins}")


def _inputs(model: Model, fault: Fault) -> Iterator[str]:
    """Name the inputs by which a failure could be noticed."""
    for name in touched(fault):
        if name in model.input:
            yield name
        for mechanism in model.mechanism:
            moved = any(name in _named(m.during) for m in mechanism.movements())
            if mechanism.name == name or moved:
                yield from (read for state in mechanism.states for read, _ in state.reads)


def _of_region(
    model: Model, region: Region, inputs: frozenset[str]
) -> Iterator[tuple[Transition, Notice]]:
    for way in region.transitions():
        if way.when and way.part is Part.INTERLOCK and _named(way.when) & inputs:
            yield way, Notice(condition_words(model, way.when), _goes(region, way))
    for state in region.states:
        waits = _waits_for(region, state, inputs)
        for way in state.leave if waits else ():
            if way.after is not None and not _named(way.when) & inputs:
                yield way, Notice(f"{after_words(way.after)} in {state.name}", _goes(region, way))


def _waits_for(region: Region, state: State, inputs: frozenset[str]) -> bool:
    inside = (each for each in region.states if region.contains(state.number, each.number))
    return any(_named(way.when) & inputs for each in inside for way in each.leave)


def _named(condition: Condition | None) -> frozenset[str]:
    return frozenset(
        atom.region if isinstance(atom, InState) else atom.name for atom in atoms(condition)
    )


def _goes(region: Region, way: Transition) -> str:
    if not isinstance(way.target, int):
        return f"{region.name} goes on in its state"
    return f"{region.name} goes to {region.states[way.target].name}"
