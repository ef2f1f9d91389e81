"""What can be read off a file alone: filters, cut wires, guards, answers and looks.

Written from the page of the checks, each as its one sentence says; it knows no engine.
"""

from collections.abc import Iterator
from itertools import combinations

from behaviour.model import (
    Becomes,
    HeldFor,
    Is,
    Model,
    Region,
    Role,
    State,
    Transition,
)
from tests.twin.case import is_locked
from tests.twin.implied import atoms_of

Named = tuple[str, str]


def unfiltered_edges(model: Model) -> Iterator[Named]:
    """A `becomes` on a switch or button whose `steady` is under 5 ms."""
    for region in model.regions:
        for way in region.transitions():
            for atom, _ in atoms_of(way.when):
                if isinstance(atom, Becomes) and model.input[atom.name].kind in (
                    "switch",
                    "button",
                ):
                    item = model.input[atom.name]
                    steady = dict(zip(item.values, item.steady, strict=True))[atom.value]
                    if steady < 5_000:
                        yield item.name, atom.value


def broken_wires(model: Model) -> Iterator[str]:
    """A guard or stop that reads its safe value with a cut wire."""
    for item in model.inputs:
        if item.role in (Role.GUARD, Role.STOP) and item.safe == item.unplugged:
            yield item.name


def contradictions(model: Model) -> Iterator[str]:
    """Two values: pulled up, a cut wire reads the one that is not `low`; pulled down, `low`."""
    for item in model.inputs:
        if item.wiring.low is not None and item.unplugged is not None:
            is_low = item.unplugged == item.wiring.low
            if (item.wiring.pull == "up" and is_low) or (item.wiring.pull == "down" and not is_low):
                yield item.name


def unguarded(model: Model) -> Iterator[str]:
    """A motor, servo or heater that some state or cue drives, where no role protects people."""
    roles = {item.role for item in model.inputs}
    if roles & {Role.GUARD, Role.STOP, Role.HOLD_TO_RUN}:
        return
    for region in model.regions:
        for state in region.states:
            for each in [*state.sets, *(each for cue in state.cues for each in cue.sets)]:
                output = model.output[each.output]
                is_meant = output.kind in ("motor", "servo", "heater") and output.hazard
                if is_meant and each.value != output.rest:
                    yield output.name


def unanswered(model: Model) -> Iterator[Named]:
    """A leaf that does not answer what another of its region does, and does not ignore it."""
    forced = {n for each in model.mechanism for state in each.states for n, _ in state.reads}
    for region in model.regions:
        leaves = [state for state in region.states if not state.children]
        answered = {leaf.number: set(_answers(model, region, leaf)) for leaf in leaves}
        for leaf in leaves:
            around = [region.states[number] for number in region.path(leaf.number)]
            ignored = {name for state in around for name in state.ignores}
            others = {n for other in leaves if other != leaf for n in answered[other.number]}
            if not is_locked(region, leaf.number) and (
                others - answered[leaf.number] - ignored - forced
            ):
                yield region.name, leaf.name


def _answers(model: Model, region: Region, leaf: State) -> Iterator[str]:
    for way in _looked_at(region, leaf):
        for atom, _ in atoms_of(way.when):
            if isinstance(atom, Is | Becomes | HeldFor) and atom.name in model.input:
                yield atom.name


def _looked_at(region: Region, leaf: State) -> Iterator[Transition]:
    """The transitions that are looked at in a leaf: a lockout's only where they leave nothing."""
    path = region.path(leaf.number)
    interlocks = [*region.interlocks, *(w for n in path for w in region.states[n].interlocks)]
    leave = [way for number in path for way in region.states[number].leave]
    for way in (*interlocks, *leave):
        if way in interlocks and way.target in path:
            continue
        left = () if way.target is None else set(path) - set(region.path(_number(way))[:-1])
        if not any(region.states[number].lockout for number in left):
            yield way


def _number(way: Transition) -> int:
    assert isinstance(way.target, int)
    return way.target


def looks_alike(model: Model) -> Iterator[Named]:
    """Two leaves of a region with different `operator` texts that show the same all along."""
    for region in model.regions:
        leaves = [state for state in region.states if not state.children]
        for one, other in combinations(leaves, 2):
            texts = {_text(region, one), _text(region, other)}
            if len(texts) < 2 or "" in texts:
                continue
            if _shown(model, region, one) == _shown(model, region, other):
                yield region.name, other.name


def _text(region: Region, leaf: State) -> str:
    texts = [region.states[number].operator for number in region.path(leaf.number)]
    return ([""] + [text for text in texts if text])[-1]


def _shown(model: Model, region: Region, leaf: State) -> list[tuple[str, int, str]]:
    """What each lamp, light and sound of the region changes to, and in which loop."""
    changes = []
    for output in model.outputs:
        if output.kind not in ("lamp", "light", "sound") or model.owner.get(output.name) != (
            region.name
        ):
            continue
        now = "as it was" if output.keeps else output.rest
        for number in region.path(leaf.number):
            now = {s.output: s.value for s in region.states[number].sets}.get(output.name, now)
        changes.append((output.name, 0, now))
        for cue in leaf.cues:
            after = {s.output: s.value for s in cue.sets}.get(output.name, now)
            if after != now:
                assert isinstance(cue.at, int)
                changes.append((output.name, model.loops_up(cue.at), after))
            now = after
    return changes


def left_at_once(model: Model) -> Iterator[str]:
    """A state that sets something and has a way out with neither `when` nor `after`."""
    for region in model.regions:
        for state in region.states:
            for way in state.leave:
                if state.sets and way.when is None and way.after is None and way.target is not None:
                    yield f"{region.name}.{state.name}"


def cues_on_one_loop(model: Model) -> Iterator[str]:
    """Two cues of a state that are due in the same loop; the first loop that looks is 1."""
    for region in model.regions:
        for state in region.states:
            times = [cue.at for cue in state.cues if isinstance(cue.at, int)]
            for one, other in combinations(times, 2):
                if max(model.loops_up(one), 1) == max(model.loops_up(other), 1):
                    yield f"{region.name}.{state.name}"
