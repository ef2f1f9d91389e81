"""Compares a model's code with the definition, and says how much of it was gone through."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from behaviour.findings import Run
from behaviour.model import Model
from codegen.conform.build import Program, built
from codegen.conform.coverage import TRANSITIONS, Coverage
from codegen.conform.lockstep import Mismatch, first_mismatch
from codegen.conform.on_pi import built_for_pi, not_looked_at
from codegen.conform.runs import USUAL, Effort, Runs, runs_of
from codegen.conform.upsets import first_upset_mismatch, upsets_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LockstepReport:
    """How the comparison went.

    `families` counts the runs by what they do, and `calls` the loops that were compared in all.
    `coverage` says what was gone through. `open` tells whether the search for edges met its limit:
    then what is wanting may also never be. `mismatch` is the first difference, None if there was
    none. `how` says what was compared.
    """

    families: tuple[tuple[int, str], ...]
    calls: int
    coverage: Coverage
    open: bool
    mismatch: Mismatch | None
    compiler: str
    sanitized: bool
    how: str

    @property
    def is_alike(self) -> bool:
        return self.mismatch is None

    @property
    def is_whole(self) -> bool:
        """Tell whether every transition that can be taken was."""
        return not self.coverage.row(TRANSITIONS).wanting

    @property
    def runs(self) -> int:
        return sum(count for count, _ in self.families)


def match(
    model: Model,
    source_name: str,
    *,
    stories: Sequence[Run] = (),
    compiler: str = "gcc",
    effort: Effort = USUAL,
    sanitize: bool = True,
) -> LockstepReport:
    """Build a model's C and run it beside the definition.

    Compared are all of `runs.py`, `stories` found elsewhere among them, and upsets of memory.
    Raises CannotBuildError where there is no compiler or it refuses, CannotEmitError where the
    model cannot become C, ProgramError where the program stops by itself.
    """
    with built(model, source_name, compiler=compiler, sanitize=sanitize) as program:
        runs = runs_of(model, effort, stories)
        return _compared(model, program, runs, compiler=compiler, sanitize=sanitize)


def match_on(
    model: Model, source_name: str, runs: Runs, *, compiler: str = "gcc", sanitize: bool = True
) -> LockstepReport:
    """Do the same on runs that were made already."""
    with built(model, source_name, compiler=compiler, sanitize=sanitize) as program:
        return _compared(model, program, runs, compiler=compiler, sanitize=sanitize)


def match_on_pi(model: Model, source_name: str, runs: Runs) -> LockstepReport:
    """Run a model's Python, at mock pins of gpiozero, beside the definition.

    Raises CannotBuildError where a package is missing, CannotEmitError where the model cannot
    become a module, ProgramError where the program stops by itself.
    """
    hidden = ", ".join(f"`{name}`" for name in not_looked_at(model))
    but = f"; not at those of {hidden}" if hidden else ""
    with built_for_pi(model, source_name) as program:
        report = _compared(model, program, runs, compiler="python", sanitize=False)
    return replace(report, how=f"in Python, at the mock pins of gpiozero{but}")


def _compared(
    model: Model, program: Program, runs: Runs, *, compiler: str, sanitize: bool
) -> LockstepReport:
    upsets = upsets_of(model, runs.families[0].timelines)
    mismatch = first_mismatch(model, program, runs.timelines)
    mismatch = mismatch or first_upset_mismatch(model, program, upsets)
    return LockstepReport(
        families=(
            *((len(family.timelines), family.what) for family in runs.families),
            (len(upsets), "find a state that cannot be, and must rest"),
        ),
        calls=sum(len(timeline.calls) for timeline in runs.timelines),
        coverage=runs.coverage,
        open=not runs.is_explored,
        mismatch=mismatch,
        compiler=compiler,
        sanitized=sanitize,
        how=f"built by {compiler}{', under the sanitizers' if sanitize else ''}",
    )
