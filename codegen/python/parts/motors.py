"""Motors."""


class Motor(Switches):
    """A motor with a pin for each way that it turns; the ways can be exchanged."""

    def __init__(self, pins, on_when, rest, turns, pause_ms):
        if turns == "other way":
            exchanged = [values for _, values in reversed(pins)]
            pins = [(pin, values) for (pin, _), values in zip(pins, exchanged, strict=True)]
        super().__init__(pins, on_when, rest)
        self.reversing = Reversing(pause_ms, rest)

    def drive(self, value, now_ms):
        super().drive(self.reversing.allowed(value, now_ms), now_ms)
