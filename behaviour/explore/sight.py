"""What a condition is judged on in one loop: inputs, counters, and where everything is."""

from typing import NamedTuple, assert_never

from behaviour.explore.guards import FAILS, HOLDS, Guard, Seen, flat, strongest
from behaviour.explore.opened import Opened, Undecided
from behaviour.model import (
    And,
    Becomes,
    Compare,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Model,
    Not,
    Or,
)
from behaviour.semantics import compare


class Scene(NamedTuple):
    """Where everything is but the inputs, in the order of the model's parts."""

    model: Model
    counters: tuple[int, ...]
    leaves: tuple[int, ...]
    outputs: tuple[str, ...] = ()
    outputs_before: tuple[str, ...] = ()
    mechanism: tuple[int, ...] = ()
    done: tuple[str, ...] = ()


class Sight(NamedTuple):
    """What conditions are judged on: a scene, and the inputs as far as they are decided.

    With `truly` inputs are what they really are, else what the controller was told.
    """

    scene: Scene
    opened: Opened
    truly: bool

    def judge(self, condition: Condition | None) -> Guard:
        """Give the guard under which a condition holds; none at all always does.

        Raises Undecided where it depends on an input that is not decided yet.
        """
        match condition:
            case None:
                return HOLDS
            case And(parts=parts):
                return self._all(parts)
            case Or(parts=parts):
                return self._any(parts)
            case Not(part=part):
                return FAILS if self.judge(part) else HOLDS
            case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
                number = self.scene.model.input_index.get(name)
                if number is not None:
                    return self.opened.judge(number, condition, truly=self.truly)
                return self._output(condition)
            case Compare(name=name, sign=sign, number=number):
                at = self.scene.model.counter_index[name]
                return flat(compare(self.scene.counters[at], sign, number))
            case InState(region=region, state=state, negated=negated):
                return flat(self._is_in(region, state) != negated)
            case Done(name=name, negated=negated):
                return flat((name in self.scene.done) != negated)
            case _:
                assert_never(condition)

    def look(self, number: int) -> Seen | None:
        """Look at an input whole; None where nobody asks for it. Raises Undecided."""
        return self.opened.look(number, truly=self.truly)

    def _all(self, parts: tuple[Condition, ...]) -> Guard:
        found, undecided = HOLDS, None
        for part in parts:
            try:
                more = self.judge(part)
            except Undecided as split:
                undecided = undecided or split
                continue
            if more == FAILS:
                return FAILS
            if more != HOLDS:
                found = tuple(strongest(a + b) for a in found for b in more)
        if undecided is not None:
            raise undecided
        return found

    def _any(self, parts: tuple[Condition, ...]) -> Guard:
        found: Guard = ()
        undecided = None
        for part in parts:
            try:
                found += self.judge(part)
            except Undecided as split:
                undecided = undecided or split
                continue
            if () in found:
                return HOLDS
        if undecided is not None:
            raise undecided
        return found

    def _output(self, atom: Is | Becomes | HeldFor) -> Guard:
        at = self.scene.model.output_index[atom.name]
        now = self.scene.outputs[at]
        match atom:
            case Is(values=values, negated=negated):
                return flat((now in values) != negated)
            case Becomes(value=value):
                return flat(now == value != self.scene.outputs_before[at])
            case HeldFor():
                raise AssertionError("`for` is asked of inputs alone")

    def _is_in(self, name: str, state: int) -> bool:
        model = self.scene.model
        if name in model.region_index:
            at = model.region_index[name]
            return model.regions[at].contains(state, self.scene.leaves[at])
        return self.scene.mechanism[model.mechanism_index[name]] == state
