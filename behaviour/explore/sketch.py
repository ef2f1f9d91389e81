"""A prop drawn roughly: some regions as they are, the others anywhere at any time.

A region that is only looked at becomes an input that people turn at will, with a value for each of
its leaves; so does a counter that only others count, or that nobody asks for. So a sketch can do
all that the prop can, and more: what it never does, the prop never does. What it does is no proof
of anything.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from operator import is_

from behaviour.explore.guards import atoms
from behaviour.model import (
    And,
    Becomes,
    Compare,
    Condition,
    Counter,
    Done,
    HeldFor,
    Input,
    InState,
    Is,
    Mechanism,
    MechanismState,
    Model,
    Not,
    Or,
    Region,
    State,
    Transition,
)
from behaviour.semantics import compare

MOST_COUNTED = 64
"""A counter with more values is kept as it is, with those who count it."""


def sketches(
    model: Model, regions: Iterable[str], mechanisms: Iterable[str] = (), *, moving: bool = False
) -> Iterator[Model]:
    """Draw a model rougher and then finer: first with only `regions` as they are.

    Then those that they look at are drawn as they are too, and so on. Mechanisms are first left
    out, and what they force is turned at will, unless `moving` keeps them; those that are named
    are kept, with the regions that move them. The model itself is not given.
    """
    named = _moved_with(model, mechanisms)
    movers = {name for each in named for name in _Parts(model).movers(each)}
    everything = {region.name for region in model.regions}
    bare = _with_mechanisms(model, named)
    has_others = len(named) < len(model.mechanism) and not moving
    for kept in _wider(_Parts(bare), {*regions, *movers}) if has_others else ():
        yield _drawn(bare, kept)
    for kept in _wider(_Parts(model), {*regions, *movers}):
        drawn = _drawn(model, kept)
        is_new = not has_others or len(drawn.mechanism) > len(named)
        if kept != everything and is_new:
            yield drawn


def _wider(parts: "_Parts", regions: set[str]) -> Iterator[set[str]]:
    """Give these regions, then with them those that they look at, and so on."""
    kept: set[str] = set()
    wider = parts.closed(regions)
    while wider != kept:
        kept = wider
        yield kept
        wider = parts.closed(kept | {name for each in kept for name in parts.looks_at(each)})


def _moved_with(model: Model, names: Iterable[str]) -> tuple[Mechanism, ...]:
    """Give the mechanisms that are named, and those whose states they ask for."""
    found: set[str] = set()
    more = set(names)
    while more:
        found |= more
        conditions = [m.during for name in more for m in model.mechanisms[name].movements()]
        asked = {a.region for c in conditions for a in atoms(c) if isinstance(a, InState)}
        more = (asked & model.mechanism_index.keys()) - found
    return tuple(each for each in model.mechanism if each.name in found)


def _with_mechanisms(model: Model, named: tuple[Mechanism, ...]) -> Model:
    key = ("with mechanisms", tuple(each.name for each in named))
    known: Model | None = model.worked_out.get(key)
    if known is None:
        known = model.worked_out[key] = replace(model, mechanism=named)
    return known


def _drawn(model: Model, kept: set[str]) -> Model:
    """Draw a model with some regions kept as they are; equal drawings are one model."""
    key = ("drawn", frozenset(kept))
    known: Model | None = model.worked_out.get(key)
    if known is None:
        known = model.worked_out[key] = _draw(model, kept)
    return known


def _draw(model: Model, kept: set[str]) -> Model:
    parts = _Parts(model)
    rough = _Rough(
        {region.name: region for region in model.regions if region.name not in kept},
        {
            counter.name: tuple(range(counter.low, counter.high + 1))
            for counter in model.counters
            if counter.high - counter.low < MOST_COUNTED
            and parts.counted.get(counter.name, set()).isdisjoint(kept)
        },
    )
    return replace(
        model,
        inputs=(*model.inputs, *rough.inputs()),
        regions=tuple(rough.region(region) for region in model.regions if region.name in kept),
        mechanism=tuple(
            rough.mechanism(each) for each in model.mechanism if parts.movers(each) <= kept
        ),
    )


def uncounted(model: Model, asked: Collection[str]) -> Model | None:
    """Draw the counters but those that are `asked` for as inputs, even where they are counted.

    Such an input has a value for all counts that no condition tells apart. None if no counter is
    left that any region of the model counts.
    """
    key = ("uncounted", frozenset(asked))
    if key not in model.worked_out:
        model.worked_out[key] = _uncounted(model, asked)
    known: Model | None = model.worked_out[key]
    return known


def _uncounted(model: Model, asked: Collection[str]) -> Model | None:
    counted = {a.counter for r in model.regions for way in r.transitions() for a in way.does}
    drawn = [each for each in model.counters if each.name in counted and each.name not in asked]
    if not drawn:
        return None
    compared = [a for c in _conditions(model) for a in atoms(c) if isinstance(a, Compare)]
    rough = _Rough({}, {counter.name: _told_apart(counter, compared) for counter in drawn})
    return replace(
        model,
        inputs=(*model.inputs, *rough.inputs()),
        regions=tuple(map(rough.region, model.regions)),
        mechanism=tuple(map(rough.mechanism, model.mechanism)),
    )


def _conditions(model: Model) -> Iterator[Condition | None]:
    for region in model.regions:
        yield from (way.when for way in region.transitions())
    for mechanism in model.mechanism:
        yield from (movement.during for movement in mechanism.movements())


def _told_apart(counter: Counter, compared: Iterable[Compare]) -> tuple[int, ...]:
    """Give a count for each part of a counter's range in which every comparison comes out alike."""
    found = {counter.low}
    for atom in compared:
        if atom.name == counter.name:
            around = (atom.number - 1, atom.number, atom.number + 1)
            found |= {
                count
                for before, count in pairwise(around)
                if compare(before, atom.sign, atom.number) != compare(count, atom.sign, atom.number)
            }
    return tuple(sorted(count for count in found if counter.low <= count <= counter.high))


def lasting(model: Model) -> Model | None:
    """Draw every movement that can stall so that it may take for ever; None if there is none.

    So a mechanism can do all that it can with any one movement stalled from any moment on, and all
    that it can without: where it stands after either is where it may stand here.
    """
    if all(mechanism.motion_of for mechanism in model.mechanism):
        return None
    return replace(model, mechanism=tuple(map(_lasting, model.mechanism)))


def is_lasting(model: Model) -> bool:
    """Tell whether a model is drawn so that movements may take for ever."""
    return any(m.may_last for mechanism in model.mechanism for m in mechanism.movements())


def drawn_as(part: Model) -> object:
    """Give something equal for parts and drawings of one prop that are alike."""
    key = ("drawn as",)
    known: object = part.worked_out.get(key)
    if known is None:
        names = (*part.region_index, *part.mechanism_index, *part.input_index)
        does = (way.does for region in part.regions for way in region.transitions())
        counted = tuple(tuple(action.counter for action in each) for each in does)
        known = part.worked_out[key] = (names, is_lasting(part), counted)
    return known


def _lasting(mechanism: Mechanism) -> Mechanism:
    if mechanism.motion_of:
        return mechanism
    states = (
        replace(state, movements=tuple(replace(m, may_last=True) for m in state.movements))
        for state in mechanism.states
    )
    return replace(mechanism, states=tuple(states))


def left_to_others(model: Model, rough: Model) -> frozenset[int]:
    """List by number the inputs of a sketch that neither people move nor anything in it.

    They stand for regions, or a mechanism that was left out moves them.
    """
    kept = {mechanism.name for mechanism in rough.mechanism}
    moved = {
        name
        for mechanism in model.mechanism
        if mechanism.name not in kept
        for state in mechanism.states
        for name, _ in state.reads
    }
    return frozenset(
        number
        for number, item in enumerate(rough.inputs)
        if item.name in moved or item.name not in model.input_index
    )


def standing_for(rough: Model, regions: Iterable[str]) -> frozenset[int]:
    """Give by number the inputs of a sketch that say where some regions are."""
    names = (_place_of(name) for name in regions)
    return frozenset(rough.input_index[name] for name in names if name in rough.input_index)


def _place_of(region: str) -> str:
    """Name the input that says where a region is."""
    return f"in {region}"


class _Parts:
    """Who looks at whom in a model."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.counted: dict[str, set[str]] = {}
        for region in model.regions:
            for transition in region.transitions():
                for action in transition.does:
                    self.counted.setdefault(action.counter, set()).add(region.name)

    def looks_at(self, region: str) -> set[str]:
        """Name the regions that a region looks at: their states, counters, or what they move."""
        conditions = [way.when for way in self.model.region[region].transitions()]
        names = {
            atom.name
            for each in conditions
            for atom in atoms(each)
            if not isinstance(atom, InState)
        }
        found = self._asked(conditions)
        for mechanism in self.model.mechanism:
            if any(name in names for state in mechanism.states for name, _ in state.reads):
                found |= self.movers(mechanism)
        return found

    def movers(self, mechanism: Mechanism) -> set[str]:
        """Name the regions that a mechanism watches, by their outputs, counters or states."""
        return self._asked(movement.during for movement in mechanism.movements())

    def closed(self, kept: set[str]) -> set[str]:
        """Add the regions that share with others what cannot be drawn roughly.

        Those are a counter that several count, and a mechanism that several move. A mechanism
        that only others move is left to people.
        """
        shared = [*self.counted.values(), *(self.movers(m) for m in self.model.mechanism)]
        wide = {c.name for c in self.model.counters if c.high - c.low >= MOST_COUNTED}
        size = -1
        while size != len(kept):
            size = len(kept)
            for owners in shared:
                if owners & kept:
                    kept = kept | owners
            for name in list(kept) if wide else ():
                for way in self.model.region[name].transitions():
                    for atom in atoms(way.when):
                        if isinstance(atom, Compare) and atom.name in wide:
                            kept = kept | self.counted.get(atom.name, set())
        return kept

    def _asked(self, conditions: Iterable[Condition | None]) -> set[str]:
        found: set[str] = set()
        for condition in conditions:
            for atom in atoms(condition):
                match atom:
                    case InState(region=name):
                        found |= {name} & self.model.region_index.keys()
                    case Compare(name=name):
                        found |= self.counted.get(name, set())
                    case Is(name=name) | Becomes(name=name) | HeldFor(name=name) | Done(name=name):
                        owner = self.model.owner.get(name)
                        found |= set() if owner is None else {owner}
        return found


@dataclass(frozen=True, slots=True)
class _Rough:
    """The regions and counters that are drawn as inputs.

    What looks at none of them is drawn as the very thing that it is.
    """

    regions: dict[str, Region]
    counters: dict[str, tuple[int, ...]]
    """The counts that each is drawn with."""

    def inputs(self) -> Iterator[Input]:
        for region in self.regions.values():
            leaves = (str(state.number) for state in region.states if not state.children)
            yield _input(_place_of(region.name), tuple(leaves))
        for name, counts in self.counters.items():
            yield _input(f"count {name}", tuple(map(str, counts)))

    def region(self, region: Region) -> Region:
        def ways(old: tuple[Transition, ...]) -> tuple[Transition, ...]:
            return tuple(map(self._way, old))

        def state(old: State) -> State:
            interlocks, leave = ways(old.interlocks), ways(old.leave)
            end = None if old.end is None else self._way(old.end)
            if _are_same((*interlocks, *leave, end), (*old.interlocks, *old.leave, old.end)):
                return old
            return replace(old, interlocks=interlocks, leave=leave, end=end)

        interlocks = ways(region.interlocks)
        states = tuple(state(each) for each in region.states)
        if _are_same((*interlocks, *states), (*region.interlocks, *region.states)):
            return region
        return replace(region, interlocks=interlocks, states=states)

    def mechanism(self, mechanism: Mechanism) -> Mechanism:
        def state(old: MechanismState) -> MechanismState:
            movements = (replace(m, during=self._condition(m.during)) for m in old.movements)
            return replace(old, movements=tuple(movements))

        return replace(mechanism, states=tuple(state(each) for each in mechanism.states))

    def _way(self, way: Transition) -> Transition:
        does = tuple(action for action in way.does if action.counter not in self.counters)
        when = self._condition(way.when)
        if when is way.when and len(does) == len(way.does):
            return way
        return replace(way, when=when, does=does)

    def _condition(self, condition: Condition | None) -> Condition | None:
        match condition:
            case And(parts=parts) | Or(parts=parts):
                drawn = self._conditions(parts)
                return condition if _are_same(drawn, parts) else type(condition)(drawn)
            case Not(part=part):
                (inner,) = self._conditions((part,))
                return condition if inner is part else Not(inner)
            case InState(region=name, state=state, negated=negated) if name in self.regions:
                region = self.regions[name]
                inside = tuple(
                    str(leaf.number)
                    for leaf in region.states
                    if not leaf.children and region.contains(state, leaf.number)
                )
                return Is(_place_of(name), inside, negated)
            case Compare(name=name, sign=sign, number=number) if name in self.counters:
                fits = tuple(str(n) for n in self.counters[name] if compare(n, sign, number))
                return Is(f"count {name}", fits)
            case _:
                return condition

    def _conditions(self, parts: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(part for old in parts if (part := self._condition(old)) is not None)


def _input(name: str, values: tuple[str, ...]) -> Input:
    several = values if len(values) > 1 else (*values, "another")
    return Input(name=name, kind="switch", values=several, steady=(0,) * len(several), drawn=True)


def _are_same(drawn: Sequence[object], parts: Sequence[object]) -> bool:
    """Tell whether all parts of something were drawn as the very things that they are."""
    return all(map(is_, drawn, parts))
