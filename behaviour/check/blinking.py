"""Mechanism states so short that the firmware can look before and after, and not in between."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from behaviour.check.asking import Asking
from behaviour.check.false_jams import wanted_values
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.explore.reach import meet
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.findings import Finding, Label, Run, Severity
from behaviour.model import (
    Mechanism,
    MechanismState,
    Model,
    Movement,
    Region,
    State,
    Transition,
    Unknown,
)
from behaviour.semantics import NotKnownError, candidates, is_open, settings

NAME = "blink-missed"


@dataclass(frozen=True, slots=True)
class Passing:
    """Marks each mechanism state that a loop passes: entered and left between two looks."""

    model: Model

    def __call__(self, moment: Moment, to: Situation) -> Iterable[Mark]:
        del to
        for mechanism, motion in zip(self.model.mechanism, moment.motions, strict=False):
            for movement in motion.ended[:-1]:
                yield Mark(("passed", mechanism.name, movement.target))


def check_blinking(asking: Asking) -> Told:
    """Check every mechanism state that moves on by itself within a loop and that somebody reads."""
    verdict = Verdicts(NAME)
    found: list[Finding] = []
    for mechanism in asking.model.mechanism:
        for state in mechanism.states:

            def look(mechanism: Mechanism = mechanism, state: MechanismState = state) -> bool:
                if not state.reads or not any(_is_brief(asking.model, m) for m in state.movements):
                    return False
                run = _passed(asking, mechanism, state)
                if run is not None:
                    found.append(_missed(asking.model, mechanism, state, run))
                return run is not None

            verdict.decide(look)
    return Told((verdict.verdict(),), tuple(found))


def _is_brief(model: Model, movement: Movement) -> bool:
    """Tell whether a movement may be over before the next look."""
    if isinstance(movement.low, Unknown):
        raise NotKnownError(movement.low)
    return model.loops_down(movement.low) == 0


def _passed(asking: Asking, mechanism: Mechanism, state: MechanismState) -> Run | None:
    """Find a run that passes the state, or show that there is none."""
    lookout = asking.lookout(Question(), mechanisms=(mechanism.name,))
    question = Question(observers=(Passing(lookout.model),))
    witness = meet(replace(lookout, question=question), ("passed", mechanism.name, state.number))
    return None if witness is None else asking.whole(lookout.model, witness.run)


def _missed(model: Model, mechanism: Mechanism, state: MechanismState, run: Run) -> Finding:
    waits = _waiting_hazard(model, state)
    reads = " and ".join(f"`{name}` `{value}`" for name, value in state.reads)
    found = finding(
        NAME,
        f"the mechanism can pass `{mechanism.name}.{state.name}` between two looks, and {reads} "
        "is never seen",
        state.span,
        f"may be over within one loop of {model.loop // 1000} ms",
        run=run,
        subject=(mechanism.name, state.name),
        related=() if waits is None else (Label(waits[1].span, "waits for it with a hazard on"),),
        place=(mechanism.name, state.name),
        hint="a shorter `loop`, a mark that lasts longer, or a slower movement past it",
    )
    return replace(found, severity=Severity.DOUBTFUL if waits is None else Severity.BROKEN)


def _waiting_hazard(model: Model, passed: MechanismState) -> tuple[Region, State] | None:
    """Find a state that drives a hazard and waits for what the passed state reads."""
    reads = dict(passed.reads)
    for region in model.regions:
        for state in region.states:
            if state.children or not drives_hazard(model, region, state):
                continue
            for way in candidates(region, state.number, 0):
                if (
                    isinstance(way, Transition)
                    and way.when is not None
                    and is_open(region, state.number, way)
                    and any(reads.get(n) in values for n, values in wanted_values(model, way.when))
                ):
                    return region, state
    return None


def drives_hazard(model: Model, region: Region, state: State) -> bool:
    """Tell whether a hazard is away from rest in a state, at any of its cues."""
    return any(
        model.output[name].hazard and value != model.output[name].rest
        for done in range(len(state.cues) + 1)
        for name, value in settings(region, state.number, done).items()
    )
