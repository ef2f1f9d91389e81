"""Whether people can keep a concrete prop going for ever from where a run has come to.

From the end of the run one input after the other is turned, and held until something happens, or
for as long as filters need. What comes to the same again, with something done on the way, can be
gone round for ever. It finds what a few turns of people bring about, and shows nothing else.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

from behaviour.explore.circling import State, Walk
from behaviour.explore.graphs import strongly_connected
from behaviour.findings import Run
from behaviour.model import Model
from behaviour.semantics import PropState, filter_loops

MOST_LOOPS = 10_000
"""How many loops are walked before it is given up."""


def goes_on(model: Model, run: Run, is_over: Callable[[PropState], bool]) -> bool:
    """Tell whether something is done for ever from the end of a run on, and never `is_over`.

    False too where that was not found.
    """
    turning = _Turning(model, run, is_over)
    start = turning.walk.at_end_of(run, (None,) * len(model.inputs))
    if start is None or is_over(start.prop):
        return False
    onward: dict[State, list[State]] = {}
    does: set[tuple[State, State]] = set()
    ahead = [start]
    while ahead and turning.left > 0:
        at = ahead.pop(0)
        if at in onward:
            continue
        onward[at] = []
        for to, is_done in turning.held(at):
            onward[at].append(to)
            if is_done:
                does.add((at, to))
            if to in onward and _comes_round(onward, does):
                return True
            ahead.append(to)
    return False


def _comes_round(onward: dict[State, list[State]], does: set[tuple[State, State]]) -> bool:
    """Tell whether something is done on some way from a state back to itself."""
    known = {at: [to for to in onward[at] if to in onward] for at in onward}
    return any(
        to in group and (at, to) in does
        for group in strongly_connected(known)
        for at in group
        for to in known[at]
    )


class _Doing(Walk):
    """A walk that tells of each loop whether any region does something in it."""

    def _turned(self, prop: PropState) -> bool:
        return any(region.fired is not None for region in prop.regions)


class _Turning:
    """People who turn one input, or none, and hold all of them; `left` counts the loops to walk."""

    def __init__(self, model: Model, run: Run, is_over: Callable[[PropState], bool]) -> None:
        self.model, self.is_over = model, is_over
        self.walk = _Doing(model, None, None, run.stimuli[-1].stalled)
        self.left = MOST_LOOPS
        self.filters = 1 + max(
            (filter_loops(model, item, value) for item in model.inputs for value in item.values),
            default=0,
        )

    def held(self, at: State) -> Iterator[tuple[State, bool]]:
        """Give where holding leads from a state, and whether anything is done on the way."""
        for raw in self._turned(at.raw):
            for most in (self.filters, MOST_LOOPS):
                found = self._held(replace(at, raw=raw), most)
                if found is not None:
                    yield found

    def _turned(self, raw: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        yield raw
        for number, item in enumerate(self.model.inputs):
            for value in item.values:
                if value != raw[number]:
                    yield (*raw[:number], value, *raw[number + 1 :])

    def _held(self, at: State, most: int) -> tuple[State, bool] | None:
        """Hold until something is done, nothing changes any more, or for so many loops.

        None where it is over then, or there is not time enough.
        """
        for _ in range(most):
            self.left -= 1
            to, _, is_done = next(self.walk.loops(at))
            if self.left <= 0 or self.is_over(to.prop):
                return None
            if is_done or to == at:
                return to, is_done
            at = to
        return at, False
