"""Pins that are read."""

from gpiozero import InputDevice

PULLS = {"up": True, "down": False, "none": None}


class Contact:
    """A pin that stands for one value while it is low, and for another while it is high."""

    def __init__(self, pin, pull, low, values):
        self.pull, self.low = pull, low
        self.high = next(value for value in values if value != low)
        is_free = pull == "none"
        self.device = InputDevice(pin, pull_up=PULLS[pull], active_state=True if is_free else None)

    def is_low(self):
        return bool(self.device.value) == (self.pull == "up")

    def read(self):
        return self.low if self.is_low() else self.high

    def close(self):
        self.device.close()
