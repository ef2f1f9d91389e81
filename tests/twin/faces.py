"""What the loops of a graph show to a rule, each different thing once.

Many loops leave the same, and a rule is judged on nothing else. Written from the page on rules.
"""

from functools import cache

from behaviour.explore.twin import Graph
from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.semantics import InputState, Look, PropState


class Faces:
    """Numbers what is looked at. `left` and `found` give one number for each loop on from a state.

    Loops that share what `step` gave share the object; so objects are told apart, not compared.
    """

    def __init__(self, model: Model, graph: Graph) -> None:
        self.model, self.graph = model, graph
        self.looks: list[Look] = []
        self._numbers: dict[object, int] = {}
        self.left = cache(self._left)
        self.found = cache(self._found)

    def _left(self, state: int | None) -> tuple[int, ...]:
        """Everything as each loop leaves it; loops 0 come from no state."""
        loops = self.graph.starts if state is None else self.graph.loops[state]
        last = None if state is None else self.graph.states[state].prop.outputs
        found = []
        for loop in loops:
            before = loop.left.outputs if last is None else last
            key = (id(loop.left), id(loop.seen), before, loop.stimulus.mechanism)
            number = self._numbers.get(key)
            if number is None:
                number = self._new(key, loop.left, loop.seen, before, loop.stimulus.mechanism)
            found.append(number)
        return tuple(found)

    def _found(self, state: int | None, outputs_before: tuple[str, ...]) -> tuple[int, ...]:
        """Each loop's inputs, all else as the loop found it; loop 0 finds what it leaves.

        `outputs_before` are the outputs that the loop before found.
        """
        if state is None:
            return self.left(None)
        prop, stands = self.graph.states[state].prop, self.graph.states[state].stands
        stood = tuple(stand.state for stand in stands)
        before = outputs_before or prop.outputs
        found = []
        for loop, left in zip(self.graph.loops[state], self.left(state), strict=True):
            if loop.stimulus.beat is Beat.STARTS:
                found.append(left)
                continue
            key = (state, id(loop.seen), loop.left.done, before)
            number = self._numbers.get(key)
            if number is None:
                was = prop._replace(done=loop.left.done)
                number = self._new(key, was, loop.seen, before, stood)
            found.append(number)
        return tuple(found)

    def _new(
        self,
        key: object,
        prop: PropState,
        seen: tuple[InputState, ...],
        outputs_before: tuple[str, ...],
        stood: tuple[int, ...],
    ) -> int:
        leaves = tuple(region.leaf for region in prop.regions)
        self.looks.append(
            Look(
                self.model,
                seen,
                prop.counters,
                leaves,
                prop.outputs,
                outputs_before,
                stood,
                prop.done,
            )
        )
        self._numbers[key] = len(self.looks) - 1
        return len(self.looks) - 1
