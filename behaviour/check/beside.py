"""What one region and the mechanisms that a rule names never come to, whatever times are.

It searches no prop. Strategy: all places of the region are followed together with all states of the
mechanisms, loop by loop. A mechanism may end whatever movement may have been under way as the last
loop left things, no matter for how long; then the region may take each transition that may hold,
down to the first that surely does, and is told what the mechanisms force where no filter holds it
back. All else may be anything. What does not come about then, does not in the prop.

With one thing wrong more may come about, and it is followed as if it could begin and end at any
time: a line reads as well what it stays at, or anything; an output has what it stays at, or is
turned; a controller passes over loops, or has all outputs at rest and then starts again. A movement
that is slow or stalls does nothing new.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import prod
from typing import NamedTuple

from behaviour.check.hands import Hands
from behaviour.check.hearing import is_of_line
from behaviour.check.placing import Placing, placings
from behaviour.check.spots import Spot, after, begin, spots_of
from behaviour.explore.guards import atoms
from behaviour.faults import (
    Backwards,
    BrownOut,
    Fault,
    Hangs,
    Late,
    Restart,
    Slow,
    Stalls,
    Stuck,
    Unplugged,
    Welded,
    directions,
)
from behaviour.model import Always, Condition, InState, Mechanism, Model, Never, Not, Rule
from behaviour.semantics import filter_loops
from behaviour.world.mechanism import may_be_passed

MOST = 200
"""So many places of a region and states of mechanisms there may be together."""

Values = Mapping[str, str]


class _Node(NamedTuple):
    """Where the region and the mechanisms are as a loop leaves them, and whether all is off."""

    spot: Spot
    stood: tuple[int, ...]
    is_off: bool = False


def is_never_beside(model: Model, rule: Rule, fault: Fault | None = None) -> bool:
    """Tell whether some region keeps a rule beside mechanisms; if not, that says nothing.

    The file must leave nothing open.
    """
    match rule.requirement:
        case Never(condition=condition, limit=None):
            forbidden = condition
        case Always(condition=condition):
            forbidden = Not(condition)
        case _:
            return False
    if fault is not None and (not _is_known(model, rule) or not _is_felt(fault)):
        return _is_known(model, rule)
    named = {a.region for a in atoms(forbidden) if isinstance(a, InState)}
    mechanisms = tuple(each for each in model.mechanism if each.name in named)
    return bool(mechanisms) and any(
        _Beside(place, mechanisms, fault).never(forbidden) for place in placings(model, forbidden)
    )


def _is_felt(fault: Fault) -> bool:
    """Tell whether more may come about with a fault than is followed with none anyway."""
    return not isinstance(fault, Stalls | Slow)


def _is_known(model: Model, rule: Rule) -> bool:
    """Tell whether it is so with nothing wrong: else it is not with a fault."""
    key = ("never beside", id(rule))
    known: tuple[Rule, bool] | None = model.worked_out.get(key)
    if known is None:
        known = model.worked_out[key] = (rule, is_never_beside(model, rule))
    return known[1]


@dataclass(eq=False)
class _Beside:
    place: Placing
    mechanisms: tuple[Mechanism, ...]
    fault: Fault | None
    _told: dict[tuple[int, ...], tuple[Hands, ...]] = field(default_factory=dict, init=False)

    @property
    def model(self) -> Model:
        return self.place.model

    def never(self, forbidden: Condition) -> bool:
        """Tell whether something is in no loop, from power-up on; it may be where much is there."""
        states = prod(len(each.states) for each in self.mechanisms)
        if states * len(list(spots_of(self.place.region))) > MOST:
            return False
        seen: set[_Node] = set()
        ahead = set(self._first())
        while ahead:
            node = ahead.pop()
            seen.add(node)
            if self._may_be(forbidden, node):
                return False
            ahead.update(to for to in self._onward(node) if to not in seen)
        return True

    # --- One loop ---

    def _first(self) -> Iterator[_Node]:
        begun = (
            range(len(each.states)) if each.begins is None else (each.begins,)
            for each in self.mechanisms
        )
        for stood in product(*begun):
            yield from self._starting(stood)

    def _onward(self, node: _Node) -> Iterator[_Node]:
        fault, region = self.fault, self.place.region
        is_stopped = isinstance(fault, Restart | BrownOut) or (
            isinstance(fault, Hangs) and self.model.watchdog is not None
        )
        for stood in product(*map(self._moved, self.mechanisms, (node,) * len(self.mechanisms))):
            if is_stopped:
                yield _Node(node.spot, stood, is_off=True)
            if node.is_off:
                yield from self._starting(stood)
                continue
            if isinstance(fault, Late | Hangs):
                yield _Node(node.spot, stood)
            for hands in self._hands(stood):
                for spot in after(region, node.spot, hands):
                    yield _Node(spot, stood)

    def _starting(self, stood: tuple[int, ...]) -> Iterator[_Node]:
        for hands in self._hands(stood):
            for spot in begin(self.place.region, hands):
                yield _Node(spot, stood)

    def _moved(self, mechanism: Mechanism, node: _Node) -> set[int]:
        """Give where a mechanism may be in the next loop."""
        at = node.stood[self.mechanisms.index(mechanism)]
        found = {at}
        ahead = list(mechanism.states[at].movements)
        while ahead:
            movement = ahead.pop()
            if movement.target not in found and self._may_be(movement.during, node):
                found.add(movement.target)
                others = mechanism.states[movement.target].movements
                ahead += (each for each in others if may_be_passed(self.model, each))
        return found

    def _may_be(self, condition: Condition | None, node: _Node) -> bool:
        """Tell whether a condition may hold as a loop leaves things."""
        read = self._unfiltered(node.stood)
        stood = {each.name: at for each, at in zip(self.mechanisms, node.stood, strict=True)}
        return any(
            self.place.judge(condition, node.spot, {**read, **real}, stood) is not False
            for real in self._real(node)
        )

    # --- Outputs ---

    def _real(self, node: _Node) -> Iterable[Values]:
        """List what outputs may really have that need not be as the region drives them."""
        off = {o.name: o.rest for o in self.model.outputs} if node.is_off else {}
        match self.fault:
            case Welded(output=name, value=value):
                return (off, {**off, name: value})
            case Backwards(output=name) if not node.is_off:
                return ({name: value} for value in self._turned(name, node.spot))
            case _:
                return (off,)

    def _turned(self, name: str, spot: Spot) -> Sequence[str]:
        """List what a motor may have whose directions are exchanged."""
        motor = self.model.output[name]
        value, both = self.place.driven(spot).get(name), directions(motor)
        if value is None or both is None:
            return motor.values
        return (both[1 - both.index(value)] if value in both else value,)

    # --- Inputs ---

    def _unfiltered(self, stood: tuple[int, ...]) -> dict[str, str]:
        """Give what inputs are while mechanisms stand so, where no filter holds it back."""
        return {
            name: value
            for mechanism, at in zip(self.mechanisms, stood, strict=True)
            for name, value in mechanism.states[at].reads
            if not any(filter_loops(self.model, self.model.input[name], v) for v in self._of(name))
        }

    def _of(self, name: str) -> tuple[str, ...]:
        return self.model.input[name].values

    def _hands(self, stood: tuple[int, ...]) -> tuple[Hands, ...]:
        """List what the controller may be told while mechanisms stand so."""
        known = self._told.get(stood)
        if known is None:
            fault, read = self.fault, self._unfiltered(stood)
            sound = {name: value for name, value in read.items() if not is_of_line(fault, name)}
            ways = [sound]
            match fault:
                case Stuck(input=name, value=value) | Unplugged(input=name, value=value):
                    ways = [{**sound, name: each} for each in {value, read.get(name)} if each]
                    ways = ways if name in read else [sound]
                case _:
                    pass
            known = self._told[stood] = tuple(map(Hands, ways))
        return known
