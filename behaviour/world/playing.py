"""One loop time of a prop: what its controller does in it, be it a loop, nothing, or power-up."""

from behaviour.findings import Beat, Stimulus
from behaviour.model import Model
from behaviour.semantics import PropState, power_up, step, without_fired


def play(model: Model, before: PropState | None, stimulus: Stimulus, skipped: int = 0) -> PropState:
    """Give the prop as a loop time leaves it; `before` is None at the first power-up.

    `skipped` counts the loop times just before in which the controller did nothing. Where it does
    nothing the prop is as it was, with outputs at rest while the controller is off. Raises
    NotKnownError where the file leaves open what is needed.
    """
    draws = dict(stimulus.draws)
    if before is None or stimulus.beat is Beat.STARTS:
        return power_up(model, stimulus.raw, draws)
    match stimulus.beat:
        case Beat.SKIPS:
            return without_fired(before)
        case Beat.IS_DOWN:
            rest = tuple(output.rest for output in model.outputs)
            return without_fired(before)._replace(outputs=rest)
        case _:
            return step(model, before, stimulus.raw, draws, skipped + 1)


def skipped_after(stimulus: Stimulus, skipped: int) -> int:
    """Count on the loop times in which the controller did nothing."""
    return skipped + 1 if stimulus.beat is Beat.SKIPS else 0
