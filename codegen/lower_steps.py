"""The numbers of a model's steppers made into what their step generators are written from."""

from collections.abc import Iterator
from dataclasses import dataclass

from behaviour.model import Drive, Model
from behaviour.numbers.figures import Missing
from behaviour.numbers.motion import Motion, motion_of
from behaviour.numbers.ramp import COUNTS, LONGEST, PART, plan, steps_to_speed
from codegen.module import Define
from codegen.names import shouted
from codegen.spelling import IN_C, Spelling

MOST_LEVEL = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class StepGenerator:
    """A step generator: its names, its numbers, and how it comes to rest."""

    output: str
    file: str
    prefix: str
    upper: str
    defines: tuple[Define, ...]
    ramps_down: bool
    shortest_us: int

    @property
    def how_it_rests(self) -> str:
        if self.ramps_down:
            return "Slow down as it gained speed, and rest then."
        return "Make no further step: what turns is held by the motor, or runs on."


def step_generators(
    model: Model, prefix: str, spelling: Spelling = IN_C
) -> tuple[StepGenerator, ...]:
    """Give the generators of all drives whose motor has a pin for steps.

    Their numbers must be there and fit: `refusals_of_steps` tells.
    """
    found = []
    for drive in _stepping(model):
        motion = motion_of(drive)
        if isinstance(motion, Motion):
            found.append(_generator(drive, motion, prefix, spelling))
    return tuple(found)


def refusals_of_steps(model: Model) -> Iterator[str]:
    """Tell what a step generator lacks, or cannot reckon with."""
    for drive in _stepping(model):
        motion = motion_of(drive)
        if isinstance(motion, Missing):
            for name in motion.figures:
                yield f"`{name}` is not given, and the step generator of `{drive.output}` needs it"
            continue
        made = plan(motion.speed, motion.ramp)
        if max(made.first, made.shortest) > LONGEST:
            yield f"`{drive.output}` is too slow, or gains speed too slowly, for a step generator"
        if made.shortest == 0 or steps_to_speed(motion.speed, motion.ramp) > MOST_LEVEL:
            yield f"`{drive.output}` is too fast for a step generator: a step a microsecond is most"


def _stepping(model: Model) -> Iterator[Drive]:
    for drive in model.drives:
        output = model.output.get(drive.output)
        if output is not None and "step" in dict(output.wiring.pins):
            yield drive


def _generator(drive: Drive, motion: Motion, prefix: str, spelling: Spelling) -> StepGenerator:
    made = plan(motion.speed, motion.ramp)
    upper = shouted(prefix, f"{drive.output}_steps")
    line = f"{drive.span.line}: " if drive.span.line else ""
    first = max(made.first, made.shortest)
    gains = f"{first / PART:.1f} us gain {motion.ramp:.6g} steps a second each second"
    runs = f"{made.shortest / PART:.0f} us are {COUNTS * PART / made.shortest:.6g} steps a second"
    return StepGenerator(
        output=drive.output,
        file=f"{prefix}_{drive.output}_steps",
        prefix=f"{prefix}_{drive.output}_steps",
        upper=upper,
        ramps_down=drive.ramp_down,
        shortest_us=round(made.shortest / PART),
        defines=(
            Define(
                f"{upper}_FIRST",
                spelling.long_number(first),
                f"{line}first interval, in 1/256 us: {gains}",
            ),
            Define(
                f"{upper}_SHORTEST",
                spelling.long_number(made.shortest),
                f"{line}interval of full speed, in 1/256 us: {runs}",
            ),
        ),
    )
