"""The concrete prop with its inputs held: does a hazard start, whatever the mechanisms do?

Every loop that can follow is walked with `step` itself, until nothing new comes.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace

from behaviour.explore.circling import Walk
from behaviour.findings import Run, Stimulus
from behaviour.model import Model

MOST_HELD = 6_000
"""How many states are walked from one run before it is given up."""


@dataclass(frozen=True, slots=True)
class Held:
    """What comes of holding inputs: a run to a loop in which a hazard starts, if there is one.

    `settled` is a run to the last state that was new. With `is_whole` all that can come was walked;
    else nothing follows from there being no `started`.
    """

    started: Run | None
    settled: Run
    is_whole: bool


def hold(model: Model, run: Run, held: Sequence[str | None], hazard: str) -> Held | None:
    """Go on from a run with inputs held; where `held` has None an input stays as it is.

    None where the run cannot be so.
    """
    walk = Walk(model, None, None, run.stimuli[-1].stalled)
    begin = walk.at_end_of(run, held)
    if begin is None:
        return None
    at, rest = model.output_index[hazard], model.output[hazard].rest
    came: dict[object, tuple[object, Stimulus] | None] = {begin: None}
    ahead = deque([begin])
    last = begin
    while ahead:
        if len(came) > MOST_HELD:
            return Held(None, run, is_whole=False)
        last = ahead.popleft()
        for to, stimulus, _ in walk.loops(last):
            if to.prop.outputs[at] != rest == last.prop.outputs[at]:
                came_to = [*_path(came, last), stimulus]
                return Held(_longer(run, came_to), run, is_whole=True)
            if to not in came:
                came[to] = (last, stimulus)
                ahead.append(to)
    return Held(None, _longer(run, _path(came, last)), is_whole=not _draws(model))


def _path(came: dict[object, tuple[object, Stimulus] | None], end: object) -> list[Stimulus]:
    found: list[Stimulus] = []
    while (step := came[end]) is not None:
        end, stimulus = step
        found.append(stimulus)
    return found[::-1]


def _longer(run: Run, more: Sequence[Stimulus]) -> Run:
    stimuli = (*run.stimuli, *more)
    return replace(run, stimuli=stimuli, breach=len(stimuli) - 1)


def _draws(model: Model) -> bool:
    """Tell whether times are drawn, of which the walk tries the shortest and the longest alone."""
    return any(
        way.after is not None and way.after.low != way.after.high
        for region in model.regions
        for way in region.transitions()
    )
