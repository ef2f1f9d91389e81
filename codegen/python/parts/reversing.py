"""Motors that rest before they turn the other way."""


class Reversing:
    """Keeps a motor at rest for `pause_ms` before it turns another way than it did last."""

    def __init__(self, pause_ms, rest):
        self.pause_ms, self.rest = pause_ms, rest
        self.driven, self.turned, self.rests_since = rest, rest, 0

    def allowed(self, value, now_ms):
        """Give what the motor may do now of what it is to do."""
        if value not in (self.rest, self.turned) and self.turned != self.rest:
            is_resting = self.driven == self.rest
            if not is_resting or now_ms - self.rests_since < self.pause_ms:
                value = self.rest
        if value == self.rest and self.driven != self.rest:
            self.rests_since = now_ms
        if value != self.rest:
            self.turned = value
        self.driven = value
        return value
