"""What the loops of a run were given, kept short: equal loops once, with how often they came.

It knows stimuli and nothing of what they do. Runs that part share the trail up to there.
"""

from typing import NamedTuple

from behaviour.findings import Run, Stimulus

Draws = tuple[tuple[tuple[str, int], int], ...]

Stalled = tuple[int, int]


class Trail(NamedTuple):
    """A run from power-up: what its last `times` loops were given; `length` counts all."""

    before: "Trail | None"
    times: int
    stimulus: Stimulus
    length: int

    def run(self) -> Run:
        """Lay out every loop, the last one as the breach."""
        parts: list[Trail] = []
        at: Trail | None = self
        while at is not None:
            parts.append(at)
            at = at.before
        stimuli: list[Stimulus] = []
        for part in reversed(parts):
            stimuli += [part.stimulus] * part.times
        return Run(tuple(stimuli), breach=self.length - 1)


class Trails:
    """Makes trails longer; stimuli that draw no time are made once."""

    def __init__(self) -> None:
        self._plain: dict[tuple[object, ...], Stimulus] = {}

    def stimulus(
        self, raw: tuple[str, ...], at: tuple[int, ...], draws: Draws, stalled: Stalled | None
    ) -> Stimulus:
        if draws:
            return Stimulus(raw, at, draws, stalled)
        found = self._plain.get((raw, at, stalled))
        if found is None:
            found = self._plain[raw, at, stalled] = Stimulus(raw, at, (), stalled)
        return found

    def longer(self, trail: Trail, stimulus: Stimulus, loops: int) -> Trail:
        """Add `loops`: the last is given `stimulus`, those before it the same as before."""
        length = trail.length + loops
        last = trail.stimulus
        if stimulus is last and not last.draws:
            return Trail(trail.before, trail.times + loops, stimulus, length)
        if loops > 1:
            same = self.stimulus(last.raw, last.mechanism, (), last.stalled)
            is_same = not last.draws
            before, times = (trail.before, trail.times) if is_same else (trail, 0)
            trail = Trail(before, times + loops - 1, same, length - 1)
        return Trail(trail, 1, stimulus, length)
