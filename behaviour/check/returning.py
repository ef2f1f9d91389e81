"""What must stay possible: leaving each state, and coming back to where a region begins."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from functools import partial

from behaviour.check.asking import Asking, may
from behaviour.check.barring import Course
from behaviour.check.leaving import is_always_left
from behaviour.check.staying import Prospect, is_possible
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.explore.backwards import Bounds
from behaviour.explore.budget import LimitError
from behaviour.explore.going_on import goes_on
from behaviour.explore.graphs import strongly_connected
from behaviour.explore.places import asked
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Move, Question, Situation, Stay
from behaviour.explore.ways import NoReturn, Possible
from behaviour.findings import Finding, Label
from behaviour.model import Model, Region
from behaviour.semantics import PropState


def check_returning(asking: Asking) -> Told:
    """Check dead-end and no-way-back in the healthy world and with a stall."""
    stuck, back = Verdicts("dead-end"), Verdicts("no-way-back")
    findings: list[Finding] = []
    returns: set[str] = set()
    for region in asking.model.regions:

        def comes_back(region: Region = region) -> bool:
            is_lost = _no_way_back(asking, region, findings)
            if not is_lost and not _has_lockout(asking.model):
                returns.add(region.name)
            return is_lost

        back.decide(comes_back)
    for region in asking.model.regions:
        stuck.decide(lambda r=region: _dead_end(asking, r, findings, returns))  # type: ignore[misc]
    stuck.broken = any(each.kind.name == "dead-end" for each in findings)
    return Told((stuck.verdict(), back.verdict()), tuple(findings))


def _worlds(asking: Asking) -> tuple[bool, ...]:
    return (True,) if asking.model.written_mechanism else (False,)


def _dead_end(
    asking: Asking, region: Region, findings: list[Finding], returns: Collection[str] = ()
) -> bool:
    """Look for states that are never left.

    Of a region that always `returns` to where it begins, only the states there could be.
    """
    found = False
    doubtful = _perhaps_stuck(asking, region, returns)
    if not doubtful:
        return False

    def leaves(lookout: Lookout) -> Possible:
        lookout = _following_lockouts(lookout)
        number = lookout.model.region_index[region.name]

        def is_good(at: Situation, step: Move | Stay) -> Bounds | None:
            if isinstance(step, Stay) or step.to.stalled != at.stalled:
                return None
            way = step.moment.ways[number]
            return () if way is not None and way.restarts else None

        def counts(at: Situation) -> bool:
            return at.places[number].leaf in doubtful

        return Possible(lookout, is_good, counts, kind=partial(_leaf_of, number))

    def may_leave(course: Course) -> bool:
        return any((region.name, leaf) in course.left for leaf in doubtful)

    prospect = Prospect(may_leave)
    for may_stall in _worlds(asking):
        question = Question(may_stall=may_stall)
        if is_possible(asking, question, leaves, prospect, regions=(region.name,)):
            continue
        lookout = asking.lookout(question, regions=(region.name,))
        number = lookout.model.region_index[region.name]
        possible = leaves(lookout)
        for place in possible.nowhere():
            state = region.states[place.situation.places[number].leaf]
            found = True
            findings.append(
                finding(
                    "dead-end",
                    f"`{region.name}` can get into `{state.name}` and never leaves it again"
                    + _because(place),
                    state.span,
                    "no way out from here",
                    run=asking.whole(lookout.model, place.witness.run),
                    place=(region.name, state.name),
                    hint="a transition that can be taken then, or `lockout: yes` if only a power "
                    "cycle is to leave it",
                )
            )
        if possible.stopped is not None:
            raise possible.stopped
    return found


def _perhaps_stuck(asking: Asking, region: Region, returns: Collection[str]) -> frozenset[int]:
    """Give the leaves of a region that the file itself does not show to be left."""
    found: set[int] = set()
    for state in region.states:
        path = region.path(state.number)
        is_away = region.name in returns and region.begins not in path
        if state.children or is_away or any(region.states[each].lockout for each in path):
            continue
        if asking.faults or not is_always_left(asking.model, region, state.number):
            found.add(state.number)
    return frozenset(found)


def _no_way_back(asking: Asking, region: Region, findings: list[Finding]) -> bool:
    def is_home(at: Situation, number: int) -> bool:
        return region.contains(region.begins, at.places[number].leaf)

    def comes_back(lookout: Lookout) -> Possible:
        lookout = _following_lockouts(lookout)
        number = lookout.model.region_index[region.name]

        def is_good(at: Situation, step: Move | Stay) -> Bounds | None:
            if isinstance(step, Stay):
                return () if is_home(at, number) else None
            return () if step.to.stalled == at.stalled and is_home(step.to, number) else None

        def counts(at: Situation) -> bool:
            return not is_locked(at) and not is_home(at, number)

        is_locked = partial(_is_locked, lookout.model)
        kind = partial(_leaf_of, number)
        ends_well = is_locked if _shows_lockouts(asking.model, lookout.model) else None
        return Possible(lookout, is_good, counts, kind=kind, ends_well=ends_well)

    def may_come(course: Course) -> bool:
        return any(region.contains(region.begins, leaf) for leaf in course.leaves[region.name])

    ends = _may_lock(region)
    prospect = Prospect(may_come, _has_lockout, quickly=ends)
    for may_stall in _worlds(asking):
        question = Question(may_stall=may_stall)
        if is_possible(asking, question, comes_back, prospect, regions=(region.name,)):
            continue
        if _has_lockout(asking.model) and not ends:
            alone = comes_back(asking.lookout(question, regions=(region.name,)))
            if not may(lambda p=alone: not p.is_proved()):  # type: ignore[misc]
                continue
        everything = [each.name for each in asking.model.regions]
        wanted = everything if _has_lockout(asking.model) else [region.name]
        lookout = asking.lookout(Question(may_stall=may_stall), regions=wanted)
        model = lookout.model
        possible = comes_back(lookout)
        doubted: set[Situation] = set()
        possible.is_excused = partial(_is_excused, partial(_is_locked, model), doubted)
        places = possible.nowhere()
        if places:
            place = _unexcused(model, places, doubted)
            state = region.states[_leaf_of(model.region_index[region.name], place.situation)]
            home = region.states[region.begins]
            findings.append(
                finding(
                    "no-way-back",
                    f"after this `{region.name}` can never come back to `{home.name}`"
                    + _because(place),
                    state.span,
                    f"from here `{home.name}` is out of reach",
                    run=asking.whole(lookout.model, place.witness.run),
                    place=(region.name, state.name),
                    related=(Label(home.span, "where the region begins"),),
                )
            )
            return True
    return False


def _is_locked(model: Model, at: Situation) -> bool:
    return any(
        region.states[state].lockout
        for region, place in zip(model.regions, at.places, strict=True)
        for state in region.path(place.leaf)
    )


def _is_excused(
    is_locked: Callable[[Situation], bool],
    doubted: set[Situation],
    onward: dict[Situation, list[Move]],
) -> bool:
    """Excuse what leads to lockouts alone; what may go on for ever beside them is `doubted`."""
    if not any(is_locked(at) for at in onward):
        return False
    if _goes_round(onward, is_locked):
        doubted.add(next(iter(onward)))
        return False
    return True


def _unexcused(
    model: Model, places: Sequence[NoReturn], doubted: Collection[Situation]
) -> NoReturn:
    """Give the place with the shortest run that no lockout excuses.

    None is ahead of it, or people can go on beside it for ever. Raises LimitError where neither is
    shown.
    """
    shortest = sorted(places, key=lambda each: len(each.witness.run.stimuli))
    for place in shortest:
        if place.situation not in doubted:
            return place
    for place in shortest:
        if goes_on(model, place.witness.run, partial(_is_locked_in, model)):
            return place
    raise LimitError("a lockout", "whether every way ends in a lockout is not shown")


def _is_locked_in(model: Model, prop: PropState) -> bool:
    return any(
        region.states[number].lockout
        for region, state in zip(model.regions, prop.regions, strict=True)
        for number in region.path(state.leaf)
    )


def _goes_round(
    onward: dict[Situation, list[Move]], is_locked: Callable[[Situation], bool]
) -> bool:
    """Tell whether regions can go on doing something for ever without a lockout."""
    free = {
        at: [move.to for move in moves if not is_locked(move.to)]
        for at, moves in onward.items()
        if not is_locked(at)
    }
    return any(
        move.to in group and any(way is not None for way in move.moment.ways)
        for group in strongly_connected(free)
        for at in group
        for move in onward[at]
    )


def _has_lockout(model: Model) -> bool:
    return any(map(_may_lock, model.regions))


def _shows_lockouts(model: Model, part: Model) -> bool:
    """Tell whether a part or drawing of a model shows what leads to lockouts, and to nothing else.

    Where all regions are as they are, each run of the prop is one of the drawing in which the same
    is done. So what surely ends in a lockout there, whatever the others do, can end in one in the
    prop; and where nothing goes round beside it there, nothing does in the prop.
    """
    return _has_lockout(model) and len(part.regions) == len(model.regions)


def _may_lock(region: Region) -> bool:
    """Tell whether a region has a lockout of its own: then a way back is seldom always possible."""
    return any(state.lockout for state in region.states)


def _leaf_of(number: int, at: Situation) -> int:
    return at.places[number].leaf


def _because(place: NoReturn) -> str:
    return ", once a movement has stalled" if place.situation.stalled is not None else ""


def _following_lockouts(lookout: Lookout) -> Lookout:
    """Follow the inputs that can lead into a lockout: only so is it seen that they did not."""
    return replace(lookout, follow=_lockout_inputs(lookout.model) - lookout.question.free)


def _lockout_inputs(model: Model) -> frozenset[int]:
    """Give the inputs that can lead into a lockout: only by following them is it seen."""
    ways = [
        t.when
        for region in model.regions
        for t in region.transitions()
        if isinstance(t.target, int) and region.states[t.target].lockout
    ]
    return asked(model, ways).inputs
