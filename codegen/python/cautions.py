"""What somebody must know who runs a prop on a Raspberry Pi, as sentences without a full stop."""

from collections.abc import Iterator

from behaviour.controllers import controller
from behaviour.model import Model
from behaviour.numbers.motion import Motion, motion_of


def cautions(model: Model) -> tuple[str, ...]:
    """List them: of every such prop, and of this one."""
    return (*controller("pi").cautions, *_of(model))


def _of(model: Model) -> Iterator[str]:
    if not isinstance(model.watchdog, int):
        yield "The file names no watchdog, so outputs stay as they are where a loop hangs"
    for item in model.inputs:
        if item.wiring.silent is not None:
            yield (
                f"{item.name} has `silent`, which this module does not watch, since a pin alone "
                "does not tell what is news"
            )
        if item.wiring.levels:
            yield f"{item.name} is read through an MCP3008 at SPI0, which has to be there"
    speeds = {drive.output: motion_of(drive) for drive in model.drives}
    for output in model.outputs:
        if "step" not in dict(output.wiring.pins):
            continue
        motion = speeds.get(output.name)
        fast = f", {motion.speed:.0f} a second at full speed" if isinstance(motion, Motion) else ""
        yield (
            f"The steps of {output.name}{fast}, are made by software and come unevenly, so it may "
            "stall where a microcontroller would not, and nothing here feels that"
        )
