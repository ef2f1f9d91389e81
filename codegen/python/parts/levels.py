"""Analogue inputs, through a converter."""

from gpiozero import MCP3008


class Levels:
    """A channel of an MCP3008, since a Raspberry Pi has no converter of its own.

    A value counts below or above its level; between levels what was read last stands.
    """

    def __init__(self, channel, levels, full, first):
        self.levels, self.full, self.last = levels, full, first
        self.device = MCP3008(channel=channel)

    def read(self):
        count = round(self.device.value * self.full)
        for value, side, level in self.levels:
            if count < level if side == "below" else count > level:
                self.last = value
        return self.last

    def close(self):
        self.device.close()
