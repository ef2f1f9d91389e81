"""Inputs: what counts of what is read."""


def in_loops(time_ms):
    """Count a time in loops, rounded up."""
    return -(-time_ms // LOOP_MS)


class Input:
    """An input: `now` is what counts, for `since` loops; it `became` so if that is of this loop.

    `steady_ms` says how long each value must have been read to count. `presumed` is the safe value
    of what protects people, and what it counts as until it has been safe for long enough.
    """

    def __init__(self, steady_ms, presumed=None):
        self.steady = {value: in_loops(time_ms) for value, time_ms in steady_ms.items()}
        self.presumed = presumed
        self.now = self.raw = ""
        self.raw_for = self.since = 0
        self.became = False

    def first(self, raw):
        """Take the first reading, which counts at once."""
        self.now = self.raw = raw
        self.raw_for = self.since = 0
        self.became = False
        if self.presumed is not None and raw == self.presumed[0] and self.steady.get(raw, 0) > 0:
            self.now = self.presumed[1]

    def read(self, raw, loops):
        """Take a later reading; it counts when it has been the same for long enough."""
        self.raw_for = self.raw_for + loops if raw == self.raw else 0
        self.raw = raw
        self.since += loops
        self.became = raw != self.now and self.raw_for >= self.steady.get(raw, 0)
        if self.became:
            self.now = raw
            self.since = 0
