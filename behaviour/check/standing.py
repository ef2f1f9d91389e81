"""What a prop does while everybody stands still: hazards that stay away from rest, and rounds."""

from collections.abc import Collection
from dataclasses import replace
from functools import cache

from behaviour.check.asking import Asking, may, where
from behaviour.check.driving import Driver, driving, setter
from behaviour.check.marking import Resting
from behaviour.check.powering import moves_at_power_up
from behaviour.check.standstill import going_round
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.walks import walked
from behaviour.explore.budget import LimitError
from behaviour.explore.circling import circle
from behaviour.explore.places import asked
from behaviour.explore.reach import Lookout, meet
from behaviour.explore.rounds import Going, may_go_round, rounds
from behaviour.explore.situations import Move, Question, Situation
from behaviour.explore.sketch import standing_for
from behaviour.findings import Finding, Run, Severity
from behaviour.model import Model, Output, Region, Role
from behaviour.semantics import NotKnownError, is_open
from behaviour.story import replay


def check_standing(asking: Asking) -> Told:
    """Check runaway, self-running and moves-at-power-up."""
    runaway, running, powered = (
        Verdicts("runaway"),
        Verdicts("self-running"),
        Verdicts("moves-at-power-up"),
    )
    findings: list[Finding] = []
    for output in asking.model.outputs:
        if output.hazard and output.name in asking.model.owner:
            runaway.decide(lambda o=output: _runaway(asking, o, findings))  # type: ignore[misc]
            powered.decide(lambda o=output: moves_at_power_up(asking, o, findings))  # type: ignore[misc]
    settling = cache(lambda: _settling(asking))
    for region in asking.model.regions:
        running.decide(lambda r=region: _running(asking, r, settling(), findings))  # type: ignore[misc]
    return Told((runaway.verdict(), running.verdict(), powered.verdict()), tuple(findings))


def _runaway(asking: Asking, output: Output, findings: list[Finding]) -> bool:
    if not _may_stay_away(asking.model, output):
        return False
    run = _runaway_in_any_world(asking, output)
    if run is None:
        return False
    findings.append(
        finding(
            "runaway",
            f"`{output.name}` can stay away from `{output.rest}` for ever while everybody "
            "stands still",
            setter(asking.model, output.name),
            "nothing ends this by itself",
            run=run,
            place=where(asking.model, asking.model.owner[output.name], run),
            hint="a time after which the state is left, such as `{after: 2 s, go: ...}`",
        )
    )
    return True


def _runaway_in_any_world(asking: Asking, output: Output) -> Run | None:
    """Look with a stall first: whatever can be without one can be there too.

    What is found without one is the plainer story, and may be found where a limit stops the other.
    """
    if not asking.model.written_mechanism:
        return _runaway_in(asking, output, may_stall=False)
    try:
        stalled = _runaway_in(asking, output, may_stall=True)
    except LimitError:
        run = _runaway_in(asking, output, may_stall=False)
        if run is None:
            raise
        return run
    if stalled is None:
        return None
    try:
        return _runaway_in(asking, output, may_stall=False) or stalled
    except LimitError:
        return stalled


def _may_stay_away(model: Model, output: Output) -> bool:
    """Tell whether the states that drive an output could last, by what is written of them alone.

    A state does not last if a time alone ends it, and no `stay` may come first; those that do not
    last may still lead round.
    """
    if output.keeps:
        return True
    region = model.region[model.owner[output.name]]
    leaves = driving(model, output)
    if not all(_ends_by_itself(region, leaf) for leaf in leaves):
        return True
    return bool(going_round(model, region, leaves))


def _ends_by_itself(region: Region, leaf: int) -> bool:
    path = region.path(leaf)
    ways = [w for w in region.transitions() if w.source is None or w.source in path]
    return all(way.target is not None for way in ways) and any(
        way.when is None and is_open(region, leaf, way) for way in ways
    )


def _runaway_in(asking: Asking, output: Output, *, may_stall: bool) -> Run | None:
    number = asking.model.output_index[output.name]
    question = Question(observers=(Resting(output, number),), may_stall=may_stall)
    mark = ("rests", output.name)

    def going(model: Model) -> Going:
        return _staying_away(model, output)

    for rough in asking.sketches(question, outputs=(output.name,), at_rest=True):
        plain = replace(rough, question=replace(rough.question, observers=()))
        if not may(lambda r=rough: meet(r, mark) is not None) and not may(  # type: ignore[misc]
            lambda r=plain: may_go_round(r, going(r.model))  # type: ignore[misc]
        ):
            return None
    lookout = asking.lookout(Question(may_stall=may_stall), outputs=(output.name,))
    number = lookout.model.output_index[output.name]
    watching = replace(lookout.question, observers=(Resting(output, number),))
    witness = meet(replace(lookout, question=watching, follow=_held_to_run(lookout.model)), mark)
    if witness is not None:
        stimuli = witness.run.stimuli
        return asking.whole(lookout.model, Run(stimuli, repeats_from=len(stimuli) - 1))
    return _round(asking, lookout, going(lookout.model))


def _held_to_run(model: Model) -> frozenset[int]:
    """List by number the inputs that are let go when everybody stands still."""
    return frozenset(n for n, item in enumerate(model.inputs) if item.role is Role.HOLD_TO_RUN)


def _staying_away(model: Model, output: Output) -> Going:
    drive = Driver(model, output)
    return Going(
        keeps=lambda situation: drive(situation) != output.rest,
        turns=lambda _, __: True,
        region=None,
        hazard=output.name,
    )


def _round(asking: Asking, lookout: Lookout, going: Going) -> Run | None:
    """Find a round, or show that there is none, and tell it for the whole prop."""

    def tried() -> Run | None:
        return _tried(asking, lookout.model, lookout.question, going, quickly=False)

    run = rounds(lookout, going, tried)
    return None if run is None else asking.whole(lookout.model, run)


def _settling(asking: Asking) -> frozenset[str]:
    """Name the regions of which it is soon shown that they never go round by themselves.

    With everybody standing still each leaves or enters states so many times and never again. So
    whatever goes on for ever beside it goes on while it stays where it is, and of the others it is
    asked whether they go round so: first of what is written of them, then of their first sketches.
    """
    found: set[str] = set()
    news: set[str] | None = None
    while news is None or news:
        found |= _written_to_settle(asking.model, found)
        last, news = news, set()
        for region in asking.model.regions:
            if region.name not in found and _settles(asking, region, found, last):
                news.add(region.name)
        found |= news
    return frozenset(found)


def _written_to_settle(model: Model, settling: Collection[str]) -> set[str]:
    found = set(settling)
    size = -1
    while size != len(found):
        size = len(found)
        found |= {
            region.name
            for region in model.regions
            if region.name not in found and not going_round(model, region, resting=found)
        }
    return found


def _settles(
    asking: Asking, region: Region, settling: Collection[str], news: Collection[str] | None
) -> bool:
    """Ask the first sketch, if it has not been asked, or shows where some of the `news` are."""
    leaves = going_round(asking.model, region, resting=settling)
    drawn = asking.sketches(Question(), regions=(region.name,), at_rest=True)
    try:
        rough = next(drawn, None)
        if rough is None or not (news is None or _looks_at(rough.model, news)):
            return False
        held = _held(rough, settling)
        return not may(lambda: may_go_round(held, _turning(held.model, region, leaves, None)))
    except NotKnownError:
        return False


def _looks_at(rough: Model, regions: Collection[str]) -> bool:
    """Tell whether a sketch looks at where some regions are."""
    ways = (way.when for region in rough.regions for way in region.transitions())
    return not standing_for(rough, regions).isdisjoint(asked(rough, ways).inputs)


def _held(rough: Lookout, settling: Collection[str]) -> Lookout:
    """Hold what a sketch has for regions that stay where they are in the end."""
    free = rough.question.free - standing_for(rough.model, settling)
    return replace(rough, question=replace(rough.question, free=free))


def _running(
    asking: Asking, region: Region, settling: Collection[str], findings: list[Finding]
) -> bool:
    """Look for any round of a region, and, if no hazard moves in it, for one with a hazard.

    Where the second is not decided, what was found first is told all the same.
    """
    leaves = going_round(asking.model, region, resting=settling)
    if not leaves or region.name in settling:
        return False
    run = _going_on(asking, region, leaves, settling, None)
    if run is None:
        return False
    findings.append(_told_round(asking.model, region, run))
    for hazard in _hazards(asking.model, region):
        if findings[-1].severity is not Severity.BROKEN:
            run = _going_on(asking, region, leaves, settling, hazard)
            if run is not None:
                findings[-1] = _told_round(asking.model, region, run)
    return True


def _hazards(model: Model, region: Region) -> list[Output]:
    return [o for o in model.outputs if o.hazard and model.owner.get(o.name) == region.name]


def _going_on(
    asking: Asking,
    region: Region,
    leaves: frozenset[int],
    settling: Collection[str],
    hazard: Output | None,
) -> Run | None:
    """Find a round of a region; if a hazard is named, one with it away from rest in some loop.

    The first sketch shows rounds of a region that is not `settling`, and is asked for a hazard.
    """
    outputs = (hazard.name,) if hazard else ()
    lookout = asking.lookout(Question(), regions=(region.name,), outputs=outputs)

    def turning(model: Model) -> Going:
        return _turning(model, region, leaves, hazard)

    going = turning(lookout.model)
    quickly = cache(lambda: _tried(asking, lookout.model, lookout.question, going, quickly=True))
    tried = cache(
        lambda: quickly() or _tried(asking, lookout.model, lookout.question, going, quickly=False)
    )
    drawn = asking.sketches(Question(), regions=(region.name,), outputs=outputs, at_rest=True)
    for number, rough in enumerate(drawn):
        held = _held(rough, settling)
        is_asked = number or hazard is not None
        if number and quickly() is not None:
            break
        if is_asked and not may(lambda r=held: may_go_round(r, turning(r.model))):  # type: ignore[misc]
            return None
        if number and tried() is not None:
            break
    found = tried()
    return asking.whole(lookout.model, found) if found else _round(asking, lookout, going)


def _told_round(model: Model, region: Region, run: Run) -> Finding:
    states, drives = _round_of(model, region, run)
    told = finding(
        "self-running",
        f"states of `{region.name}` go round by themselves: {', '.join(states)}",
        region.span,
        "goes round with everybody standing still",
        run=run,
        place=(region.name, states[0]),
        hint="a state that waits for a person, or an excuse if it is meant",
    )
    return replace(told, severity=Severity.BROKEN if drives else Severity.DOUBTFUL)


LOOPS_AT_ONCE, LOOPS_TRIED = 100, 2000
"""How many loops are walked from each run that is tried at first, and then."""


def _tried(
    asking: Asking, part: Model, question: Question, going: Going, *, quickly: bool
) -> Run | None:
    """Look for a round from where a short walk has been, before everything is looked through.

    If `quickly`, no further than where mechanisms and times that are as quick as can be lead soon.
    """
    loops = LOOPS_AT_ONCE if quickly else LOOPS_TRIED
    name = _part(part, going)
    as_they_are = (None,) * len(part.inputs)
    runs = walked(asking, part, may_stall=question.may_stall)
    for mark in runs:
        if isinstance(mark, tuple) and mark[0] == "state" and mark[1] == name:
            run, region, hazard = runs[mark], going.region, going.hazard
            round_found = circle(
                part, run, as_they_are, region, hazard, loops, branching=not quickly
            )
            if round_found is not None:
                return round_found
    return None


def _part(model: Model, going: Going) -> str:
    """Name the region that is to go round, or that drives what is to stay away from rest."""
    return going.region or model.owner[going.hazard or ""]


def _turning(model: Model, region: Region, leaves: Collection[int], hazard: Output | None) -> Going:
    """Say what goes round: with a hazard, by a move from or to where it is away from rest.

    A cue counts then: whoever comes to it again has left the state in between.
    """
    number = model.region_index[region.name]
    drive = None if hazard is None else Driver(model, hazard)

    def turns(at: Situation, move: Move) -> bool:
        way = move.moment.ways[number]
        if way is None:
            return False
        if drive is None or hazard is None:
            return way.transition is not None and way.transition.target is not None
        stays = way.transition is not None and way.transition.target is None
        return not stays and (drive(at) != hazard.rest or drive(move.to) != hazard.rest)

    return Going(
        lambda at: at.places[number].leaf in leaves,
        turns,
        region.name,
        None if hazard is None else hazard.name,
    )


def _round_of(model: Model, region: Region, run: Run) -> tuple[list[str], bool]:
    """Name the states of a round, and tell whether a hazard of the region moves in it.

    The first is one in which a hazard moves, if any does.
    """
    number = model.region_index[region.name]
    owned = _hazards(model, region)
    names: dict[str, bool] = {}
    for view in replay(model, run).happenings(run.repeats_from or 0):
        name = region.states[view.state.regions[number].leaf].name
        drives = any(view.state.outputs[model.output_index[o.name]] != o.rest for o in owned)
        names[name] = names.get(name, False) or drives
    order = list(names)
    first = next((at for at, name in enumerate(order) if names[name]), 0)
    return order[first:] + order[:first], any(names.values())
