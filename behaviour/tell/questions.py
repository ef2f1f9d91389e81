"""What a file does not say, as questions: values left open, and changes that a state leaves out."""

from collections.abc import Iterator

from behaviour.explore.guards import atoms
from behaviour.model import InState, Model, Region
from behaviour.tell.clauses import thing
from behaviour.tell.happenings import (
    Happening,
    changes,
    happenings,
    is_ignored,
    is_locked,
    is_there_already,
    leaves,
    mentioned,
    moved_by_hardware,
    ways,
)
from behaviour.tell.sheet import listed, marked


def questions(model: Model) -> tuple[str, ...]:
    """Ask for every `unknown`, and for each change that other states of a region answer."""
    asked = [f"What is {marked(each.what)}? It is not known yet." for each in model.unknowns]
    for region in model.regions:
        asked += _unguarded(model, region)
        asked += _blanks(model, region)
    return tuple(asked)


def blanks(model: Model, region: Region, leaf: int) -> tuple[Happening, ...]:
    """List the changes that a state says nothing of, though another state of the region does.

    What is ignored is said, a lockout answers nothing, and what the hardware moves is no question
    that a person asks. A state that looks at an input at all has said what it means there.
    """
    if is_locked(region, leaf):
        return ()
    said = moved_by_hardware(model) | mentioned(region, leaf)
    return tuple(
        each
        for each in happenings(model, region)
        if each.input not in said
        and not is_ignored(region, leaf, each.input)
        and not is_there_already(model, region, leaf, each)
    )


def _unguarded(model: Model, region: Region) -> Iterator[str]:
    """Ask what a region does when somebody needs it to stop, where no state of it answers that.

    One that drives nothing dangerous, or looks at another region, may leave it to others.
    """
    moves = any(
        model.output[each.output].hazard
        for state in region.states
        for sets in (state.sets, *(cue.sets for cue in state.cues))
        for each in sets
    )
    if not moves or _looks_at_regions(region):
        return
    answered = happenings(model, region)
    left = [
        each
        for item in model.inputs
        if item.is_protective
        for each in changes(item)
        if each.value != item.safe and each not in answered
    ]
    if left:
        asks = listed(
            (f"{thing(model, each.input)} becomes {each.value}" for each in left), "or when"
        )
        yield f"What should happen to {marked(region.name)} when {asks}? Nothing there answers it."


def _looks_at_regions(region: Region) -> bool:
    return any(
        isinstance(atom, InState)
        for leaf in leaves(region)
        for way in ways(region, leaf.number)
        for atom in atoms(way.when)
    )


def _blanks(model: Model, region: Region) -> Iterator[str]:
    for leaf in leaves(region):
        left = blanks(model, region, leaf.number)
        if left:
            values = {
                each.input: [other.value for other in left if other.input == each.input]
                for each in left
            }
            changes = listed(
                (
                    f"{thing(model, name)} becomes {listed(each, 'or')}"
                    for name, each in values.items()
                ),
                "or when",
            )
            where = f"{marked(leaf.name)} of {marked(region.name)}"
            yield f"In {where}, what should happen when {changes}?"
