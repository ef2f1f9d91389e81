"""Where a prop is long after people have begun to hold its inputs, wherever it was before.

Strategy: each sketch of a few regions is asked by itself, from all its situations, with nothing
known of what is left out. A situation that time ends for certain, and that nothing comes back to,
is passed once and for all; what may be rested in or gone round in, and all that can follow that, is
late. Once other regions are late they stay where they are late: a sketch in which such a region
is an input that has but one place left is asked with that input held there. A part of the prop is
late where each of its regions is, so it is never searched as a whole.

Whatever people bring about from everything that is late they can bring about from everywhere: they
hold the inputs until the prop is late, and go on from there.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple, TypeVar

from behaviour.explore.forgetting import counted_by, is_idle
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.opened import Reading
from behaviour.explore.places import Place
from behaviour.explore.reach import Lookout
from behaviour.explore.search import explore
from behaviour.explore.situations import Situation
from behaviour.explore.space import Space
from behaviour.explore.surroundings import Standing
from behaviour.model import Model, Region
from behaviour.semantics import settings
from behaviour.world.mechanism import Phase

Node = TypeVar("Node")

Held = Mapping[str, str]
"""What people hold each input at, by name."""


class Spot(NamedTuple):
    """Where some regions are: their places, and what they have counted and keep, by name."""

    places: tuple[tuple[str, Place], ...]
    counters: tuple[tuple[str, int], ...]
    kept: tuple[tuple[str, str], ...]


def late_in(lookout: Lookout, held: Held, settled: Held) -> tuple[Spot, ...] | None:
    """List where the regions of a sketch are late, with no mechanism in it; None where it has one.

    Others do what they like with what is left to them, but for inputs that have `settled`.
    """
    model = lookout.model
    if model.mechanism:
        return None
    free = frozenset(n for n in lookout.question.free if model.inputs[n].name not in settled)
    still = lookout.asked(replace(lookout.question, holds=True, free=free), frozenset())
    reached = explore(lookout.space(frozenset()), lookout.budget).by_situation
    onward = _followed(lookout, still, [_read(still, at, {**held, **settled}) for at in reached])
    return tuple(dict.fromkeys(_spot(model, at) for at in _late(still, onward)))


def _followed(
    lookout: Lookout, still: Space, starts: Iterable[Situation]
) -> dict[Situation, list[Situation]]:
    """Map all that may come while people stand still to what may come next."""
    onward: dict[Situation, list[Situation]] = {}
    ahead = list(starts)
    while ahead:
        at = ahead.pop()
        if at not in onward:
            lookout.budget.spend()
            onward[at] = [move.to for move in still.moves(at).moves]
            ahead += onward[at]
    return onward


def _late(still: Space, onward: dict[Situation, list[Situation]]) -> list[Situation]:
    """List what may be rested in or gone round in, and all that can follow that."""
    late: set[Situation] = set()
    ahead = [*_rests(still, onward), *_rounds(onward)]
    while ahead:
        at = ahead.pop()
        if at not in late:
            late.add(at)
            ahead += onward[at]
    return [at for at in onward if at in late]


def _rests(still: Space, onward: dict[Situation, list[Situation]]) -> Iterator[Situation]:
    """List the situations that no time is sure to end, or that nothing leaves."""
    for at, later in onward.items():
        if not later or any(not stay.moment.highs for stay in still.moves(at).stays):
            yield at


def _rounds(onward: dict[Node, list[Node]]) -> Iterator[Node]:
    for group in strongly_connected(onward):
        if len(group) > 1 or any(at in onward[at] for at in group):
            yield from group


def _spot(model: Model, at: Situation) -> Spot:
    counted = _counted(model)
    names = {region.name for region in model.regions}
    return Spot(
        tuple(zip(model.region_index, at.places, strict=True)),
        tuple(
            (each.name, value)
            for each, value in zip(model.counters, at.counters, strict=True)
            if each.name in counted
        ),
        tuple(
            (output.name, value)
            for output, value in zip(model.outputs, at.kept, strict=True)
            if output.keeps and model.owner.get(output.name) in names
        ),
    )


def spot_in(model: Model, region: Region, leaf: int, told: Collection[str]) -> Spot | None:
    """Give the one spot with a region in a leaf, whatever came before.

    None where it hangs on that how far cues or random times are, or what outputs keep; or what the
    region has counted, if that is `told` or somebody may ask for it.
    """
    if region.states[leaf].cues or any(map(region.chances, region.path(leaf))):
        return None
    counted = [each for each in model.counters if each.name in counted_by(region)]
    if any(c.name in told or not is_idle(model, region, leaf, c.name) for c in counted):
        return None
    sets = settings(region, leaf, 0)
    kept = [o.name for o in model.outputs if o.keeps and model.owner.get(o.name) == region.name]
    if not sets.keys() >= set(kept):
        return None
    return Spot(
        ((region.name, Place(leaf)),),
        tuple((each.name, each.begins) for each in counted),
        tuple((name, sets[name]) for name in kept),
    )


def _counted(model: Model) -> set[str]:
    return {a.counter for r in model.regions for way in r.transitions() for a in way.does}


def late_together(
    lookout: Lookout, parts: Sequence[Sequence[Spot]], held: Held
) -> list[Situation] | None:
    """List the situations of a drawing in which each of its regions is late.

    Mechanisms may stand anywhere, each movement as one that was broken off, which may end whenever
    it might otherwise. If none comes round again by itself, there is a last movement, and once its
    news is told all inputs have settled: that is followed from wherever it may have led. None where
    one may come round, or may have stalled.
    """
    model = lookout.model
    if lookout.question.may_stall and model.mechanism:
        return None
    standing = [
        [Standing(s.number, (Phase.BROKEN,) * len(s.movements)) for s in mechanism.states]
        for mechanism in model.mechanism
    ]
    several = [
        _at(model, spots, standings)
        for spots, standings in product(product(*parts), product(*standing))
    ]
    space = lookout.space(frozenset())
    if standing:
        still = _still(lookout)
        onward = _followed(lookout, still, [_read(still, at, held) for at in several])
        if _comes_round(still, onward):
            return None
        return list(dict.fromkeys(_as_seen(space, at) for at in _late(still, onward)))
    return list(dict.fromkeys(_read(space, at, held) for at in several))


def _comes_round(still: Space, followed: Iterable[Situation]) -> bool:
    """Tell whether mechanisms may go on moving by themselves, wherever regions are meanwhile.

    So they may wherever a movement asks for an input that some mechanism forces.
    """
    moved: dict[tuple[int, ...], list[tuple[int, ...]]] = {}
    for at in followed:
        for move in still.moves(at).moves:
            if any(motion.ended for motion in move.moment.motions):
                moved.setdefault(_states(at), []).append(_states(move.to))
    rounds: Iterator[tuple[int, ...]] = _rounds(moved)
    return bool(moved and still.forced & still.parts.while_inputs) or any(rounds)


def _states(at: Situation) -> tuple[int, ...]:
    return tuple(standing.state for standing in at.standings)


def _still(lookout: Lookout) -> Space:
    asked = replace(lookout.question, may_stall=False, holds=True)
    return lookout.asked(asked, frozenset(), lookout.follow)


def _at(model: Model, spots: Sequence[Spot], standings: tuple[Standing, ...]) -> Situation:
    counted = _counted(model)
    places = {name: place for spot in spots for name, place in spot.places}
    counters = {n: value for spot in spots for n, value in spot.counters if n in counted}
    kept = {name: value for spot in spots for name, value in spot.kept}
    return Situation(
        tuple(places[name] for name in model.region_index),
        tuple(counters.get(each.name, each.begins) for each in model.counters),
        standings,
        (None,) * len(model.inputs),
        tuple(kept.get(o.name, o.rest) if o.keeps else "" for o in model.outputs),
        None,
    )


def _as_seen(space: Space, at: Situation) -> Situation:
    """Give a situation of still people with no more of the inputs than is part of it otherwise."""
    readings = enumerate(at.readings)
    return at._replace(
        readings=tuple(now if number in space.followed else None for number, now in readings)
    )


def _read(space: Space, at: Situation, held: Held) -> Situation:
    """Give a situation with all that is part of it reading what it has long been."""
    forces = space.parts.forces(tuple(standing.state for standing in at.standings))

    def reading(number: int, name: str) -> Reading | None:
        if number in space.question.free or number not in space.followed:
            return None
        value = forces.get(number, held[name])
        return Reading(value, value, value if number in space.forced else "")

    items = enumerate(space.model.inputs)
    return at._replace(readings=tuple(reading(number, item.name) for number, item in items))
