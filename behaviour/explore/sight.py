"""What a condition is judged on in one loop: inputs, counters, and where everything is."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple, assert_never

from behaviour.explore.guards import FAILS, HOLDS, Guard, Seen, flat, strongest
from behaviour.explore.opened import Masks, Opened, Undecided, new_opened
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


new_scene = partial(tuple.__new__, Scene)
"""Makes a scene of all that is in it: a search makes so many that it is felt."""


@dataclass(slots=True, eq=False)
class Sight:
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
        return HOLDS if condition is None else judging(self.scene.model, condition)(self)

    def within(self, masks: Masks) -> "Sight":
        """Give what one sees where inputs may do no more than `masks` say."""
        choices, _, wires = self.opened
        return Sight(self.scene, new_opened((choices, masks, wires)), self.truly)

    def look(self, number: int) -> Seen | None:
        """Look at an input whole; None where nobody asks for it. Raises Undecided."""
        return self.opened.look(number, truly=self.truly)


Judge = Callable[[Sight], Guard]


def judging(model: Model, condition: Condition | None) -> Judge:
    """Give what judges a condition, made once; where there is none it always holds."""
    key = ("guard", id(condition))
    known: tuple[Condition | None, Judge] | None = model.worked_out.get(key)
    if known is None:
        judge = always if condition is None else _judge(model, condition)
        known = model.worked_out[key] = (condition, judge)
    return known[1]


def always(_: Sight) -> Guard:
    """Judge where there is no condition."""
    return HOLDS


def _judge(model: Model, condition: Condition) -> Judge:
    """Make what judges a condition: what each part of the language means to a search."""
    match condition:
        case And(parts=parts):
            return _judge_all(tuple(_judge(model, part) for part in parts))
        case Or(parts=parts):
            return _judge_any(tuple(_judge(model, part) for part in parts))
        case Not(part=part):
            judge = _judge(model, part)
            return lambda sight: FAILS if judge(sight) else HOLDS
        case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
            if name not in model.input_index:
                return _judge_output(model, condition)
            number = model.input_index[name]
            return lambda sight: sight.opened.judge(number, condition, truly=sight.truly)
        case Compare(name=name, sign=sign, number=number):
            at = model.counter_index[name]
            return lambda sight: HOLDS if compare(sight.scene.counters[at], sign, number) else FAILS
        case InState(region=name, state=state, negated=negated):
            if name in model.region_index:
                at, region = model.region_index[name], model.region[name]
                inside = {s.number for s in region.states if region.contains(state, s.number)}
                return lambda sight: (
                    HOLDS if (sight.scene.leaves[at] in inside) != negated else FAILS
                )
            at = model.mechanism_index[name]
            return lambda sight: flat((sight.scene.mechanism[at] == state) != negated)
        case Done(name=name, negated=negated):
            return lambda sight: flat((name in sight.scene.done) != negated)
        case _:
            assert_never(condition)


def _judge_all(judges: tuple[Judge, ...]) -> Judge:
    """Make what judges several that must all hold: where one fails, no other needs deciding."""

    def judge(sight: Sight) -> Guard:
        found, undecided = HOLDS, None
        for each in judges:
            try:
                more = each(sight)
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

    return judge


def _judge_any(judges: tuple[Judge, ...]) -> Judge:
    """Make what judges several of which one must hold: where one does, no other needs deciding."""

    def judge(sight: Sight) -> Guard:
        found: Guard = ()
        undecided = None
        for each in judges:
            try:
                found += each(sight)
            except Undecided as split:
                undecided = undecided or split
                continue
            if () in found:
                return HOLDS
        if undecided is not None:
            raise undecided
        return found

    return judge


def _judge_output(model: Model, atom: Is | Becomes | HeldFor) -> Judge:
    at = model.output_index[atom.name]
    match atom:
        case Is(values=values, negated=negated):
            return lambda sight: HOLDS if (sight.scene.outputs[at] in values) != negated else FAILS
        case Becomes(value=value):
            return lambda sight: flat(
                sight.scene.outputs[at] == value != sight.scene.outputs_before[at]
            )
        case HeldFor():
            raise AssertionError("`for` is asked of inputs alone")
