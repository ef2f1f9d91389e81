"""Sentences on regions: where they can be, what each state drives, and what leads on.

What is said first wins: interlocks before all else, then the ways of a state in their order, then
those of the states around it.
"""

from collections.abc import Iterator

from behaviour.model import Cue, Model, Region, State, Transition, Unknown
from behaviour.tell.clauses import action, clause, driven, lasting, thing, time
from behaviour.tell.sheet import Section, listed, marked, quoted, remark

ORDER = (
    "Where several of these could be followed at once, the first one is: what comes before all "
    "else, then what is said of a state, in this order, then what is said of the states around it. "
    "What a state drives counts before what the states around it drive."
)


def regions(model: Model) -> tuple[Section, ...]:
    """Say of each region what it does, state by state."""
    return tuple(
        _region(model, region, "" if place else ORDER) for place, region in enumerate(model.regions)
    )


def _region(model: Model, region: Region, note: str) -> Section:
    lines = [f"{marked(region.name)} {_whereabouts(region, None, 'is always in one of')}."]
    if region.about:
        lines.append(f"A word on all of {marked(region.name)}: {quoted(region.about)}")
    lines += _interlocks(model, region, region.name, region.interlocks)
    parts = tuple(
        Section(marked(state.name), tuple(_state(model, region, state))) for state in region.states
    )
    return Section(f"What {marked(region.name)} does", tuple(lines), note, parts)


def _whereabouts(region: Region, parent: int | None, verb: str) -> str:
    children = [state for state in region.states if state.parent == parent]
    begins = region.begins if parent is None else region.states[parent].begins
    names = listed(marked(state.name) for state in children)
    first = region.states[begins or 0].name
    return f"{verb} {names}, and begins in {marked(first)}"


def _state(model: Model, region: Region, state: State) -> Iterator[str]:
    name = marked(state.name)
    if state.children:
        yield f"{name} {_whereabouts(region, state.number, 'is made up of')}."
    if state.about:
        yield f"A word on {name}: {quoted(state.about)}"
    if state.sets:
        yield f"{_within(state)}, {driven(model, state.sets)}."
    if state.operator:
        yield f"{_within(state)}, whoever runs the show is told: {quoted(state.operator)}"
    if state.lockout:
        yield f"Nothing leaves {name} but switching off."
    yield from _interlocks(model, region, state.name, state.interlocks)
    for place, way in enumerate(state.leave):
        where = _within(state)
        start = f"Otherwise {where[0].lower()}{where[1:]}" if place else where
        yield f"{start}, {_reason(model, way)}, it {_course(region, way)}{remark(way.about)}."
    for cue in state.cues[: len(state.cues) - (state.end is not None)]:
        yield _cue(model, name, cue)
    if state.end is not None:
        last = state.cues[-1]
        yield (
            f"{time(last.at)} into {name}{remark(last.about)} comes its end, and it "
            f"{_course(region, state.end)}{remark(state.end.about)}."
        )
    if state.ignores:
        left = listed((thing(model, name) for name in state.ignores), "or")
        yield f"{_within(state)}, it is meant that nothing answers {left}."


def _within(state: State) -> str:
    return f"{'Anywhere in' if state.children else 'In'} {marked(state.name)}"


def _interlocks(
    model: Model, region: Region, around: str, ways: tuple[Transition, ...]
) -> Iterator[str]:
    for place, way in enumerate(ways):
        start = "Otherwise anywhere" if place else "Anywhere"
        yield (
            f"{start} in {marked(around)}, before all else, {_reason(model, way)}, it "
            f"{_course(region, way)}{remark(way.about)}."
        )


def _cue(model: Model, name: str, cue: Cue) -> str:
    says = driven(model, cue.sets) if cue.sets else "nothing changes"
    return f"From {time(cue.at)} into {name} on, {says}{remark(cue.about)}."


def _reason(model: Model, way: Transition) -> str:
    """Say what a transition waits for."""
    if way.when is None:
        return "at the next look" if way.after is None else f"after {lasting(way.after)}"
    when = f"when {clause(model, way.when)}"
    return when if way.after is None else f"{when}, but only after {lasting(way.after)} there"


def _course(region: Region, way: Transition) -> str:
    """Say what a region does on a transition, and where it goes."""
    match way.target:
        case None:
            goes = "stays"
        case Unknown(what=what):
            goes = f"goes where nobody knows yet ({marked(what)})"
        case number:
            goes = f"goes to {marked(region.states[number].name)}"
    return listed([*map(action, way.does), goes])
