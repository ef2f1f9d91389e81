"""What can come about at all: states entered, transitions taken, counters past their bounds, races.

One search a region answers for all of it: whatever is worth knowing of a loop is marked, and a
mark that no run meets never comes true.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

from behaviour.check.asking import Asking, where
from behaviour.check.blinking import drives_hazard
from behaviour.check.covering import covered_healthy, covered_stalled, met
from behaviour.check.cues import cues_beaten, of_cues
from behaviour.check.races import shadow
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.explore.budget import LimitError
from behaviour.explore.guards import atoms
from behaviour.explore.meeting import Covered
from behaviour.findings import Finding, Label, Run, Severity
from behaviour.model import (
    Becomes,
    Mechanism,
    Model,
    Part,
    Region,
    Transition,
)
from behaviour.semantics import NotKnownError

CHECKS = {
    "state": "never-reached",
    "cue": "never-reached",
    "taken": "never-taken",
    "beyond": "out-of-range",
    "order": "order-matters",
    "deaf": "deaf",
    "false-jam": "false-jam",
}
"""The check that each kind of mark belongs to."""


def check_coverage(asking: Asking) -> Told:
    """Check what every region, counter and mechanism can come to, healthy and with a stall."""
    verdicts = {name: Verdicts(name) for name in CHECKS.values()}
    findings: list[Finding] = []
    for region in asking.model.regions:
        try:
            found = _asked(asking, region, verdicts)
        except (NotKnownError, LimitError) as stop:
            for verdict in verdicts.values():
                verdict.leave_open(stop)
            continue
        for each in found:
            verdicts[each.kind.name].broken = True
            findings.append(each)
    findings += _of_mechanisms(asking, verdicts["never-reached"])
    return Told(tuple(v.verdict() for v in verdicts.values()), tuple(findings))


def _asked(asking: Asking, region: Region, verdicts: Mapping[str, Verdicts]) -> list[Finding]:
    """List what is found of a region, and leave open what a limit stopped."""
    healthy = stalled = covered_healthy(asking, region)
    if asking.model.written_mechanism:
        stalled = covered_stalled(asking, region, healthy.runs)
    for mark, limit in (*healthy.open.items(), *stalled.open.items()):
        if isinstance(mark, tuple) and mark not in stalled.runs:
            verdicts[CHECKS[mark[0]]].leave_open(limit)
    stalled.open.update(healthy.open)
    return list(_of_region(asking.model, region, healthy.runs, stalled))


# --- Findings -----------------------------------------------------------------------------------


def _of_region(
    model: Model, region: Region, healthy: Mapping[object, Run], all_covered: Covered
) -> Iterator[Finding]:
    stalled = all_covered.runs
    met = {*stalled, *all_covered.open}
    entered = {n for n in range(len(region.states)) if ("state", region.name, n) in met}
    for state in region.states:
        if state.number not in entered:
            if state.parent is None or state.parent in entered:
                yield finding(
                    "never-reached",
                    f"no run ever enters `{region.name}.{state.name}`",
                    state.span,
                    "nothing leads here",
                    place=(region.name, state.name),
                )
        elif (
            (mark := ("state", region.name, state.number)) in stalled
            and mark not in healthy
            and mark not in all_covered.open
        ):
            note = finding(
                "never-reached",
                f"only a movement that never ends leads to `{region.name}.{state.name}`",
                state.span,
                "your safety net",
                place=(region.name, state.name),
                run=stalled[mark],
            )
            yield replace(note, severity=Severity.NOTE)
    beaten = cues_beaten(region, met, {n for n in entered if ("state", region.name, n) in stalled})
    yield from of_cues(region, healthy, all_covered, beaten)
    for way in region.transitions():
        is_told = way.part is Part.END and way.source in beaten
        if ("taken", region.name, way.number) not in all_covered.open and not is_told:
            yield from _of_transition(model, region, way, healthy, stalled)
    for counter in model.counters:
        run = healthy.get(("beyond", counter.name)) or stalled.get(("beyond", counter.name))
        owners = {action.counter for t in region.transitions() for action in t.does}
        if run is not None and counter.name in owners:
            yield finding(
                "out-of-range",
                f"`{counter.name}` can be taken past its bound of {counter.low} to {counter.high}",
                counter.span,
                "the firmware would hold it at the bound",
                run=run,
                place=where(model, region.name, run, loops_before_end=1),
                hint=f"a condition on `{counter.name}` where it is counted, such as "
                f"`{counter.name} < {counter.high}` before it goes up or "
                f"`{counter.name} > {counter.low}` before it goes down",
            )
    yield from _of_races(region, healthy)
    yield from _of_deaf(model, region, healthy)


def _of_transition(
    model: Model,
    region: Region,
    way: Transition,
    healthy: Mapping[object, Run],
    stalled: Mapping[object, Run],
) -> Iterator[Finding]:
    """Tell of a transition that no run takes, where some run enters its state."""
    mark = ("taken", region.name, way.number)
    source = region.name if way.source is None else region.states[way.source].name
    place = None if way.source is None else (region.name, source)
    if way.source is not None and ("state", region.name, way.source) not in stalled:
        return
    if mark not in stalled:
        before = shadow(region, model, way)
        yield finding(
            "never-taken",
            f"no run ever takes this transition of `{source}`",
            way.span,
            "never taken: what stands before it, or the state it is in, leaves it no loop"
            if before is None
            else "never taken: another always comes first",
            place=place,
            subject=(region.name, way.number),
            related=() if before is None else (Label(before.span, "this one"),),
        )
    elif mark not in healthy and (
        way.source is None or ("state", region.name, way.source) in healthy
    ):
        note = finding(
            "never-taken",
            f"only a movement that never ends takes this transition of `{source}`",
            way.span,
            "your safety net",
            place=place,
            run=stalled[mark],
        )
        yield replace(note, severity=Severity.NOTE)
    run = healthy.get(("false-jam", region.name, way.number))
    if run is not None:
        yield finding(
            "false-jam",
            f"the time in `{source}` can be up while a healthy movement is still on its way",
            way.span,
            "this time is up before the movement's news must have come",
            place=place,
            subject=(region.name, way.number),
            run=run,
            hint="a time longer than the longest healthy movement and its filter",
        )


def _of_races(region: Region, healthy: Mapping[object, Run]) -> Iterator[Finding]:
    ways = {way.number: way for way in region.transitions()}
    met = [
        mark for mark in healthy if isinstance(mark, tuple) and mark[:2] == ("order", region.name)
    ]
    for mark in sorted(met):
        _, _, first, second = mark
        winner, loser = ways[first], ways[second]
        source = "" if loser.source is None else region.states[loser.source].name
        waits = any(isinstance(atom, Becomes) for atom in atoms(loser.when))
        found = finding(
            "order-matters",
            f"in `{source}` two transitions can be due in one loop, and only their order decides",
            loser.span,
            "this one is passed over then" + (", and its change is lost" if waits else ""),
            place=(region.name, source),
            run=healthy[mark],
            related=(Label(winner.span, "this one is taken"),),
            subject=(region.name, first, second),
        )
        yield replace(found, severity=Severity.DOUBTFUL if waits else Severity.NOTE)


def _of_deaf(model: Model, region: Region, healthy: Mapping[object, Run]) -> Iterator[Finding]:
    done: set[int] = set()
    for mark in healthy:
        if not isinstance(mark, tuple) or mark[0] != "deaf" or mark[2] in done:
            continue
        _, _, number, name, value = mark
        done.add(number)
        state = region.states[number]
        drives = any(
            drives_hazard(model, region, leaf)
            for leaf in region.states
            if not leaf.children and region.contains(number, leaf.number)
        )
        found = finding(
            "deaf",
            f"`{state.name}` waits for `{name} becomes {value}`, and it can be so on entering",
            state.span,
            f"entered with {name} {value}, it waits for a change that has been",
            place=(region.name, state.name),
            run=healthy[mark],
            hint=f"`{name} is {value}` where the change is not what counts, or a time as a way out",
        )
        yield replace(found, severity=Severity.BROKEN if drives else Severity.DOUBTFUL)


def _of_mechanisms(asking: Asking, verdict: Verdicts) -> list[Finding]:
    found: list[Finding] = []
    for mechanism in asking.model.written_mechanism:

        def look(mechanism: Mechanism = mechanism) -> bool:
            found.extend(_of_mechanism(mechanism, met(asking, mechanism)))
            return False

        verdict.decide(look)
    return found


def _of_mechanism(mechanism: Mechanism, met: Collection[object]) -> Iterator[Finding]:
    for state in mechanism.states:
        here = f"{mechanism.name}.{state.name}"
        if ("stands", mechanism.name, state.number) not in met:
            message = f"the mechanism never comes to `{here}`"
            note = finding("never-reached", message, state.span, "nothing leads here")
            yield replace(note, severity=Severity.NOTE)
            continue
        for movement in state.movements:
            if ("ended", mechanism.name, movement.number) not in met:
                message = f"this movement of `{here}` never ends"
                note = finding("never-taken", message, movement.span, "never made")
                yield replace(note, severity=Severity.NOTE)
