"""All numbers of a prop: the table of contents of this room."""

from behaviour.model import Model, Quantity
from behaviour.numbers.block_motion import motion_block
from behaviour.numbers.block_noise import noise_block
from behaviour.numbers.block_power import power_block
from behaviour.numbers.block_stations import stations_block
from behaviour.numbers.block_torque import torque_block
from behaviour.numbers.results import Block


def numbers_of(model: Model, distances: tuple[Quantity, ...] = ()) -> tuple[Block, ...]:
    """Work out every block; each drive's moves are through `distances`, or one that is usual."""
    blocks: list[Block] = []
    for drive in model.drives:
        blocks += [
            motion_block(model, drive, distances),
            torque_block(model, drive),
            stations_block(model, drive),
        ]
    if model.power is not None:
        blocks.append(power_block(model))
    return (*blocks, noise_block(model))
