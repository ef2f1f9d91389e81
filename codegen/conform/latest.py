"""The run of an edge put off: it waits as long as it can in the place that the edge leaves.

Strategy: what one loop was given is given again, so often that the edge is only just still taken;
an input that was about to change then changes so much later. Which loop, and how often, is tried
by the definition. What a time alone decides has one moment only, or with a time drawn at random,
two.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from behaviour.findings import Run, Stimulus
from behaviour.model import Model, Part, Transition
from behaviour.semantics import Fired, PropState, RegionState, power_up, step
from codegen.conform.edges import CUE, Edge
from codegen.conform.timeline import random_window


def put_off(model: Model, edge: Edge, run: Run, most: int) -> Run | None:
    """Give the run that takes an edge as late as can be, or `most` loops later; None if no later.

    `run` takes it in its last loop.
    """
    if edge.way == CUE:
        return None
    way = model.region[edge.region].transition(edge.way)
    window = random_window(model, way)
    if window is not None and way.when is None:
        return _Waiting(model, edge, run).drawn_late(way, *window)
    if way.part is Part.END or (way.when is None and way.after is not None):
        return None
    return _Waiting(model, edge, run).put_off(most)


class _Waiting:
    def __init__(self, model: Model, edge: Edge, run: Run) -> None:
        self.model = model
        self.edge = edge
        self.run = run
        self.at = model.region_index[edge.region]
        self.stimuli = run.stimuli
        self.states = _states(model, run.stimuli)
        self.came = self._came()

    def put_off(self, most: int) -> Run | None:
        """Try each loop that may come again, and keep what waits longest."""
        best, where, waits = 0, 0, len(self.states) - 1 - self.came
        for at in self._turns():
            again, waited = self._longest(at, most)
            if waited > waits:
                best, where, waits = again, at, waited
        return self._given_again(where, best) if best else None

    def drawn_late(self, way: Transition, low: int, high: int) -> Run | None:
        """Let the time that a transition waits for be drawn as long as can be."""
        key = (self.edge.region, way.number)
        draws = dict(self.stimuli[self.came].draws) | {key: high}
        late = replace(self.stimuli[self.came], draws=tuple(sorted(draws.items())))
        last = replace(self.stimuli[-1], draws=())
        rest = self.stimuli[self.came + 1 :]
        stimuli = (*self.stimuli[: self.came], late, *rest[:-1], *[last] * (high - low), *rest[-1:])
        return replace(self.run, stimuli=stimuli, breach=None) if high > low else None

    def _came(self) -> int:
        """Find the loop in which the region came to where the edge begins."""
        last = len(self.states) - 2
        while last > 0 and self.states[last].regions[self.at].fired is None:
            last -= 1
        return last

    def _turns(self) -> list[int]:
        """List the loops after which what is given changes, from where the region came there."""
        end = len(self.stimuli) - 1
        return [
            at
            for at in range(self.came, end)
            if at in (self.came, end - 1) or self.stimuli[at] != self.stimuli[at + 1]
        ]

    def _longest(self, at: int, most: int) -> tuple[int, int]:
        """Give how often the loop `at` can come again with the edge still taken at the end, and
        how long the region then waits; it must wait longer each time.
        """
        few, waits, many = 0, len(self.states) - 1 - self.came, 1
        while many <= most and (waited := self._wait(at, many)) > waits:
            few, waits, many = many, waited, many * 2
        many = min(many, most + 1)
        while many - few > 1:
            middle = (few + many) // 2
            waited = self._wait(at, middle)
            if waited > waits:
                few, waits = middle, waited
            else:
                many = middle
        return few, waits

    def _given_again(self, at: int, again: int) -> Run:
        first, rest = self._stretched(at, again)
        stimuli = (*self.stimuli[:first], *rest)
        return replace(self.run, stimuli=stimuli, breach=None)

    def _stretched(self, at: int, again: int) -> tuple[int, list[Stimulus]]:
        """Give the first loop that changes, and what it and all after it are given then."""
        holds = [self._holds(number, at) for number in range(len(self.model.inputs))]
        first = min(holds, default=at) + 1
        found = []
        for loop in range(first, len(self.stimuli) + again):
            raw = tuple(
                self.stimuli[loop if loop <= hold else max(loop - again, hold)].raw[number]
                for number, hold in enumerate(holds)
            )
            draws = self.stimuli[loop].draws if loop <= at else ()
            if loop > at + again:
                draws = self.stimuli[loop - again].draws
            found.append(Stimulus(raw, draws=draws))
        return first, found

    def _holds(self, number: int, at: int) -> int:
        """Give the loop from which an input is held: before a change that does not count yet."""
        now = self.states[at].inputs[number]
        return at if now.raw == now.steady else max(at - now.run - 1, 0)

    def _wait(self, at: int, again: int) -> int:
        """Give how long the region waits before it takes the edge at the end; 0 if it does not."""
        first, rest = self._stretched(at, again)
        state, loop, came, end = self.states[first - 1], first - 1, self.came, 0
        for stimulus, alike in groupby(rest):
            left, most = len(list(alike)), 1
            while left:
                before, loops = state.regions[self.at], min(most, left)
                now = step(self.model, state, stimulus.raw, dict(stimulus.draws), loops)
                if loops > 1 and not _is_quiet(now):
                    most = 1
                    continue
                state, loop, left, most = now, loop + loops, left - loops, 4 * most
                if state.regions[self.at].fired is not None:
                    came, end = end or came, loop
                    taken = before, state.regions[self.at].fired
        return 0 if loop != end or not self._is_it(*taken) else loop - came

    def _is_it(self, before: RegionState, fired: Fired | None) -> bool:
        way = None if fired is None else fired.transition
        number = CUE if way is None else way.number
        return Edge(self.edge.region, before.leaf, before.cue, number) == self.edge


def _is_quiet(state: PropState) -> bool:
    return all(region.fired is None for region in state.regions) and not any(
        item.became for item in state.inputs
    )


def _states(model: Model, stimuli: Sequence[Stimulus]) -> list[PropState]:
    states = [power_up(model, stimuli[0].raw, dict(stimuli[0].draws))]
    for stimulus in stimuli[1:]:
        states.append(step(model, states[-1], stimulus.raw, dict(stimulus.draws)))
    return states
