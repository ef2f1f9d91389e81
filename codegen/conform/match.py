"""Compares a model's C with the definition, and says how much of the behaviour was gone through."""

from collections.abc import Sequence
from dataclasses import dataclass

from behaviour.findings import Run
from behaviour.model import Model
from codegen.conform.build import built
from codegen.conform.lockstep import Mismatch, first_mismatch
from codegen.conform.timeline import timeline_of
from codegen.conform.walk import everything, walk


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much is run: about `calls` calls of runs made from `seed`.

    Where they leave out a transition or cue there are more, up to about `most_calls`.
    """

    seed: int = 1
    calls: int = 16_000
    most_calls: int = 80_000


USUAL = Effort()


@dataclass(frozen=True, slots=True, kw_only=True)
class LockstepReport:
    """How the comparison went.

    `runs` and `calls` count what was compared, `taken` of `total` transitions and cues; `missed`
    names those that no run took. `mismatch` is the first difference, None if there was none.
    """

    runs: int
    calls: int
    taken: int
    total: int
    missed: tuple[str, ...]
    mismatch: Mismatch | None

    @property
    def is_alike(self) -> bool:
        return self.mismatch is None


def match(
    model: Model,
    source_name: str,
    *,
    runs: Sequence[Run] = (),
    compiler: str = "gcc",
    effort: Effort = USUAL,
    sanitize: bool = False,
) -> LockstepReport:
    """Build a model's C and run it beside the definition.

    Compared are `runs`, found elsewhere, and runs made here: punctual and late, across the
    rollover, towards every transition. Raises CannotBuildError
    where there is no compiler or it refuses, CannotEmitError where the model cannot become C,
    ProgramError where the program stops by itself.
    """
    walked = walk(model, effort.seed, effort.calls, effort.most_calls)
    given = [timeline_of(model, f"story {at}", run) for at, run in enumerate(runs, 1)]
    timelines = (*given, *walked.timelines)
    with built(model, source_name, compiler=compiler, sanitize=sanitize) as program:
        mismatch = first_mismatch(model, program, timelines)
    total = everything(model)
    return LockstepReport(
        runs=len(timelines),
        calls=sum(len(timeline.calls) for timeline in timelines),
        taken=len(walked.taken & total.keys()),
        total=len(total),
        missed=tuple(name for key, name in total.items() if key not in walked.taken),
        mismatch=mismatch,
    )
