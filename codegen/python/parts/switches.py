"""Outputs that are on or off."""

from gpiozero import DigitalOutputDevice


class Switches:
    """Pins that are on or off, each on for some of the values."""

    def __init__(self, pins, on_when, rest):
        self.at_rest = self.driven = rest
        self.devices = [
            (
                DigitalOutputDevice(
                    pin, active_high=on_when == "high", initial_value=rest in values
                ),
                values,
            )
            for pin, values in pins
        ]

    def drive(self, value, now_ms):
        """Give the pins what a value stands for: what goes off first, then what comes on."""
        if value != self.driven:
            self.driven = value
            for device, values in sorted(self.devices, key=lambda pair: value in pair[1]):
                device.value = value in values

    def rest(self):
        self.driven = self.at_rest
        for device, values in self.devices:
            device.value = self.at_rest in values

    def close(self):
        for device, _ in self.devices:
            device.close()
