"""Lights that dim and fade."""

from gpiozero import PWMOutputDevice


class Light:
    """Pins that dim: for each value how bright a pin is. It fades from one value to the next."""

    def __init__(self, pins, on_when, rest, fade_ms):
        self.at_rest, self.fade_ms, self.last_ms = rest, fade_ms, None
        self.devices = [
            (
                PWMOutputDevice(
                    pin, active_high=on_when == "high", initial_value=shares.get(rest, 0)
                ),
                shares,
            )
            for pin, shares in pins
        ]

    def drive(self, value, now_ms):
        """Go towards what a value stands for, as far as the time since the last loop lets it."""
        went_by = 0 if self.last_ms is None else now_ms - self.last_ms
        most = went_by / self.fade_ms if self.fade_ms else 1
        self.last_ms = now_ms
        for device, shares in self.devices:
            wanted, is_now = shares.get(value, 0), device.value
            if wanted != is_now:
                device.value = max(min(wanted, is_now + most), is_now - most)

    def rest(self):
        for device, shares in self.devices:
            device.value = shares.get(self.at_rest, 0)

    def close(self):
        for device, _ in self.devices:
            device.close()
