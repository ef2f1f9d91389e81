"""Sound boards that are triggered."""


class Sounds(Switches):
    """Pins that trigger a sound: a pulse as a value is set, and a gap before the next."""

    def __init__(self, pins, on_when, rest, pulse_ms, gap_ms):
        super().__init__(pins, on_when, rest)
        self.pulse_ms, self.gap_ms = pulse_ms, gap_ms
        self.wanted, self.is_due = rest, False
        self.began_ms = self.ended_ms = None

    def drive(self, value, now_ms):
        if value != self.wanted:
            self.wanted, self.is_due = value, value != self.at_rest
        if self.began_ms is not None and now_ms - self.began_ms >= self.pulse_ms:
            super().drive(self.at_rest, now_ms)
            self.began_ms, self.ended_ms = None, now_ms
        is_quiet = self.ended_ms is None or now_ms - self.ended_ms >= self.gap_ms
        if self.is_due and self.began_ms is None and is_quiet:
            super().drive(self.wanted, now_ms)
            self.began_ms, self.is_due = now_ms, False

    def rest(self):
        self.wanted, self.is_due, self.began_ms = self.at_rest, False, None
        super().rest()
