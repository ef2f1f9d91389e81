"""Runs that broke something with one thing wrong, tried with another: often they do so again.

It searches nothing. What is tried is played by the definition and judged by it, so that what it
finds is broken; what it does not find may be broken all the same.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from behaviour.check.asking import Asking
from behaviour.check.judging import until_broken
from behaviour.check.provoking import provoked
from behaviour.check.retold import Retold, as_far_as_it_goes, retold, standing_still, told_as
from behaviour.check.roles.check import asks_of
from behaviour.check.roles.once import judged
from behaviour.check.rules import rule_finding
from behaviour.check.unquiet import first_start, unquiet
from behaviour.faults import BrownOut, Fault, Late, OutputFault, Restart, Swapped, touched
from behaviour.findings import Finding, Run, Stimulus
from behaviour.model import AtMost, Model, Never, Rule, Whenever
from behaviour.semantics import NotKnownError, loops_of
from behaviour.world.circuit import Circuit

MOST_RUNS = 3
"""So many runs are kept for each requirement."""

AFTERWARDS = 60
"""So many loops a healthy run goes on at least after what it was to bring about."""

MOST_LOOPS = 2000
"""So many loops may pass by in which people do nothing."""


@dataclass(slots=True)
class Tried:
    """The runs that broke each requirement so far."""

    model: Model
    runs: dict[str, list[Run]] = field(default_factory=dict)
    _starts: dict[int, tuple[Stimulus, ...]] = field(default_factory=dict)
    """How each run, by which object it is, comes to the first start of a hazard."""

    def keep(self, name: str, run: Run | None) -> None:
        """Keep a run that broke a requirement, to be tried with something else wrong.

        One is kept for each thing that was wrong.
        """
        kept = self.runs.setdefault(name, [])
        if run is None or run.breach is None or len(kept) == MOST_RUNS:
            return
        if all(_things(run) != _things(other) for other in kept):
            kept.append(run)

    def copy(self) -> "Tried":
        """Give the same runs, to be added to apart."""
        return Tried(self.model, {name: list(runs) for name, runs in self.runs.items()})

    def may_show(self, name: str, rule: Rule | None) -> bool:
        """Tell whether a requirement can be seen to break by one run alone."""
        return rule is not None or any(True for _ in asks_of(self.model, name))

    def may_break(self, name: str) -> bool:
        """Tell whether there is any run to be tried for a requirement."""
        return bool(self.runs.get(name))

    def may_break_likewise(self, name: str, fault: Fault) -> bool:
        """Tell whether a run is likely to break a requirement again.

        It was broken by something wrong with one of the same things, or the controller stops or is
        late: what is told can mostly be parted so from what is there.
        """
        if isinstance(fault, Late | Restart | BrownOut):
            return self.may_break(name)
        things = set(touched(fault))
        before = (each for run in self.runs.get(name, ()) for each in run.faults)
        return any(things & set(touched(each)) for each in before)

    def again(self, name: str, rule: Rule | None, fault: Fault) -> Finding | None:
        """Find that a requirement breaks with a fault, by a run that broke it with another."""
        circuit = Circuit(self.model, (fault,))
        start = self._start() if isinstance(fault, BrownOut) else ()
        for run in self.runs.get(name, ()):
            for other in _retold(circuit, run, start):
                try:
                    found = self._judged(name, rule, other)
                except NotKnownError:
                    continue
                if found is not None:
                    return found
        return None

    def at_rest(self, name: str, rule: Rule | None, fault: Fault) -> Finding | None:
        """Find that a requirement breaks by itself with an output at fault: people do nothing."""
        if not isinstance(fault, OutputFault):
            return None
        loops = 1 if rule is None else _longest(self.model, rule)
        told = standing_still(Circuit(self.model, (fault,)), loops + 1)
        try:
            return None if told is None else self._judged(name, rule, told)
        except NotKnownError:
            return None

    def provoked(
        self, asking: Asking, name: str, rule: Rule | None, fault: Fault
    ) -> Finding | None:
        """Find that a requirement breaks, by healthy runs that put it to the test."""
        loops = max(AFTERWARDS, 0 if rule is None else _longest(self.model, rule))
        for told in provoked(asking, name, rule, fault, loops):
            try:
                found = self._judged(name, rule, told)
            except NotKnownError:
                return None
            if found is not None:
                return found
        return None

    def _start(self) -> tuple[Stimulus, ...]:
        """Give the loops of some run up to the one in which a hazard starts; none if none does."""
        for run in (run for runs in self.runs.values() for run in runs):
            found = self._starts.get(id(run))
            if found is None:
                found = self._starts[id(run)] = first_start(self.model, run)
            if found:
                return found
        return ()

    def _judged(self, name: str, rule: Rule | None, told: Retold) -> Finding | None:
        """Judge a run by a requirement, and give what it breaks."""
        model, (run, views) = self.model, told
        if rule is not None:
            broken = until_broken(model, rule, run, views)
            return None if broken is None else rule_finding(model, rule, broken)
        return judged(model, name, run, views)


def _things(run: Run) -> tuple[object, ...]:
    return tuple(touched(fault) or fault for fault in run.faults)


def _longest(model: Model, rule: Rule) -> int:
    """Give how many loops something must go on for that breaks a rule."""
    match rule.requirement:
        case Never(limit=limit) | AtMost(limit=limit) | Whenever(limit=limit) if limit is not None:
            return min(loops_of(model, limit) + 1, MOST_LOOPS)
        case _:
            return 1


def _retold(circuit: Circuit, run: Run, start: tuple[Stimulus, ...]) -> Iterator[Retold]:
    is_swapped = any(isinstance(fault, Swapped) for fault in circuit.faults)
    for as_told in (False, True) if is_swapped else (False,):
        other = retold(circuit, run, as_told=as_told)
        if other is not None:
            yield other
    for stimuli in unquiet(circuit, run, start):
        other = told_as(circuit, stimuli)
        if other is not None:
            yield as_far_as_it_goes(circuit, other)
