"""All that runs can go through, each thing with its name, and what of it can never be."""

from behaviour.explore.guards import atoms
from behaviour.model import Condition, HeldFor, Model, Part, Region, Time, Transition
from behaviour.wording import condition_words, time_words
from codegen.conform.edges import CUE, Edge, edges_of, place_name, way_name
from codegen.conform.timeline import random_window
from codegen.vocabulary import phases

Item = tuple[object, ...]
"""Something that runs can go through, such as ("place", region, leaf, cue)."""


def parts_of(when: Condition | None) -> tuple[Condition, ...]:
    """List a condition and, where it has several, its parts."""
    if when is None:
        return ()
    parts = atoms(when)
    return (when,) if len(parts) == 1 else (when, *parts)


def all_places(model: Model) -> dict[Item, str]:
    return {
        ("place", region.name, state.number, cue): place_name(region, state.number, cue)
        for region in model.regions
        for state in region.states
        if state.begins is None
        for cue in range(phases(state))
    }


def all_ways(model: Model) -> dict[Item, str]:
    return {
        ("way", region.name, way.number): way_name(model, region.name, way)
        for region in model.regions
        for way in region.transitions()
    }


def all_outcomes(model: Model) -> dict[Item, str]:
    return {
        (
            "if",
            region.name,
            way.number,
            number,
            outcome,
        ): f"`{condition_words(model, part)}` {'true' if outcome else 'false'} in "
        f"{way_name(model, region.name, way)}"
        for region in model.regions
        for way in region.transitions()
        for number, part in enumerate(parts_of(way.when))
        for outcome in (False, True)
    }


def all_times(model: Model) -> dict[Item, str]:
    """Name the last loop before each time, and the loop at it; of random times, both ends."""
    found: dict[Item, str] = {}
    for item in model.inputs:
        for value, time in zip(item.values, item.steady, strict=True):
            found |= _bounds(
                ("filter", item.name, value), time, f"the filter of `{item.name}` {value}"
            )
    for region in model.regions:
        for state in region.states:
            for number, cue in enumerate(state.cues):
                if number < len(state.cues) - 1 or state.end is None:
                    words = f"cue {number + 1} of {region.name}.{state.name}"
                    found |= _bounds(("cue", region.name, state.number, number), cue.at, words)
        for way in region.transitions():
            found |= _times_of(model, region, way)
    return found


def _times_of(model: Model, region: Region, way: Transition) -> dict[Item, str]:
    found: dict[Item, str] = {}
    key, name = (region.name, way.number), way_name(model, region.name, way)
    if way.part is Part.END and way.source is not None:
        found |= _bounds(("after", *key), region.states[way.source].cues[-1].at, name)
    if way.after is not None:
        found |= _bounds(("after", *key), way.after.high, name)
    if random_window(model, way) is not None:
        for at, end in enumerate(("shortest", "longest")):
            found["drawn", *key, at] = f"the {end} random time of {name}"
    for number, part in enumerate(parts_of(way.when)):
        if isinstance(part, HeldFor):
            words = f"`{condition_words(model, part)}` in {name}"
            found |= _bounds(("held", *key, number), part.time, words)
    return found


def _bounds(item: Item, time: Time, words: str) -> dict[Item, str]:
    if not isinstance(time, int) or time == 0:
        return {}
    return {
        (*item, False): f"the last loop before {time_words(time)} of {words}",
        (*item, True): f"the loop at {time_words(time)} of {words}",
    }


# --- What can never be ---------------------------------------------------------------------------


def lost_places(model: Model, never: frozenset[Edge]) -> frozenset[Item]:
    """List the places of which not one edge can be, and which no region begins in."""
    edges = edges_of(model)
    alive = {(edge.region, edge.leaf, edge.cue) for edge in edges if edge not in never}
    known = {(edge.region, edge.leaf, edge.cue) for edge in edges}
    begins = {(region.name, region.leaf(region.begins), 0) for region in model.regions}
    return frozenset(("place", *place) for place in known - alive - begins)


def lost_ways(model: Model, ways: set[tuple[str, int]]) -> frozenset[Item]:
    return frozenset(
        ("way", region.name, way.number)
        for region in model.regions
        for way in region.transitions()
        if (region.name, way.number) not in ways
    )


def lost_outcomes(model: Model, ways: set[tuple[str, int]]) -> frozenset[Item]:
    return frozenset(item for item in all_outcomes(model) if (item[1], item[2]) not in ways)


def lost_times(model: Model, ways: set[tuple[str, int]], never: frozenset[Edge]) -> frozenset[Item]:
    def is_lost(item: Item) -> bool:
        match item:
            case ("after" | "drawn" | "held", region, number, *_):
                return (region, number) not in ways
            case ("cue", str(region), int(leaf), int(cue), _):
                return Edge(region, leaf, cue, CUE) in never
            case _:
                return False

    return frozenset(filter(is_lost, all_times(model)))
