"""The failure worksheet: every rule and role check once more, with one thing wrong.

Strategy: what cannot depend on the thing that fails is as it was. All else is asked again in the
faulty model, the same way as in the healthy one. Where something breaks, its run is played once
more to see whether a healthy prop could have given the same readings: then no program could tell.
"""

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from itertools import combinations

from behaviour.check.asking import Asking, Common
from behaviour.check.closing import with_last_line
from behaviour.check.felt import alike
from behaviour.check.roles.check import ask_roles, role_checks_of
from behaviour.check.rules import check_rules
from behaviour.check.run import Limits
from behaviour.check.trying import Tried
from behaviour.check.verdicts import Told
from behaviour.check.with_fault import ask, told_with_fault
from behaviour.explore.budget import Budget
from behaviour.faults import (
    Chatters,
    ControllerFault,
    Fault,
    Late,
    Overdue,
    Stuck,
    Unplugged,
    faults_of,
    touched,
)
from behaviour.findings import Answer, Finding, Run, Verdict
from behaviour.jobs import run_all
from behaviour.model import Model, Rule, WayBack
from behaviour.story import replay
from behaviour.world.likeness import could_be_healthy, is_by_time


class Cell(Enum):
    """What becomes of a requirement when something is wrong."""

    CAUGHT = "caught"
    BROKEN = "broken"
    BEYOND = "beyond software"
    NOT_DECIDED = "not decided"


MOST_PARTS = 6
"""So many times its part of the time may a row use."""

WORST_FIRST = (Cell.BROKEN, Cell.NOT_DECIDED, Cell.BEYOND, Cell.CAUGHT)


@dataclass(frozen=True, slots=True)
class Effect:
    """What faults do to one rule or check; `anyway` tells that it is broken without them too."""

    name: str
    cell: Cell
    finding: Finding | None = None
    anyway: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the worksheet: what is wrong, and what becomes of each requirement."""

    faults: tuple[Fault, ...]
    effects: tuple[Effect, ...]

    @property
    def cell(self) -> Cell:
        """Give the worst that the faults newly do; what is broken anyway is not theirs."""
        new = [effect.cell for effect in self.effects if not effect.anyway]
        return min(new, key=WORST_FIRST.index, default=Cell.CAUGHT)


@dataclass(frozen=True, slots=True)
class Worksheet:
    """The rows of a prop, and how each requirement stands with nothing wrong."""

    healthy: tuple[Verdict, ...]
    rows: tuple[Row, ...]

    @property
    def cell(self) -> Cell:
        return min((row.cell for row in self.rows), key=WORST_FIRST.index, default=Cell.CAUGHT)


def worksheet(model: Model, limits: Limits, *, pairs: bool = False, jobs: int = 1) -> Worksheet:
    """Judge every rule and role check under every single fault, and with `pairs` under every two.

    No row may use more than a quarter of the time that is allowed, nor so much that the others get
    none; what the limits stop is not decided.
    """
    until = time.time() + limits.seconds
    budget = Budget(limits.states, limits.seconds)
    told = required(Asking(model, budget.share()), model.rules, role_checks_of(model))
    healthy = _verdicts(told)
    faults = faults_of(model)
    together = [each for each in combinations(faults, 2) if _may_be_two(*each)] if pairs else []
    wrong = [*((one,) for one in faults), *together]
    asked = _Asked(model, limits, until, healthy)
    rows: dict[tuple[Fault, ...], Row] = {}
    common, runs = Common(), Tried(model)
    for found in (each for part in told for each in part.findings):
        runs.keep(_name(found), found.run)
    left = len(wrong)
    for groups in _in_turn(wrong):
        tasks = []
        for group in groups:
            left -= len(group)
            tasks.append(partial(_rows, asked, group, left // jobs, common, runs.copy()))
        for some in run_all(tasks, jobs):
            rows |= {row.faults: row for row in some}
            for row in some:
                _keep(runs, row)
    in_order = [rows[each] for each in wrong]
    return Worksheet(tuple(healthy.values()), tuple(_each_story_once(model, in_order)))


def _in_turn(wrong: Sequence[tuple[Fault, ...]]) -> Iterator[list[list[tuple[Fault, ...]]]]:
    """Put the faults of the same things together: first those of one line each, then all others.

    What broke something by then is tried with all others, so it does not hang on the jobs what is.
    """
    first: dict[object, list[tuple[Fault, ...]]] = {}
    then: dict[object, list[tuple[Fault, ...]]] = {}
    for faults in wrong:
        is_first = len(faults) == 1 and isinstance(faults[0], Stuck | Unplugged | Chatters)
        things = tuple(touched(fault) or fault for fault in faults)
        (first if is_first else then).setdefault(things, []).append(faults)
    yield from (list(first.values()), list(then.values()))


def _keep(runs: Tried, row: Row) -> None:
    for effect in row.effects:
        if effect.finding is not None and not effect.anyway:
            runs.keep(effect.name, effect.finding.run)


def required(asking: Asking, rules: Sequence[Rule], checks: Sequence[str]) -> list[Told]:
    """Ask all that must hold with something wrong too: the rules and the role checks."""
    return [check_rules(asking, rules), ask_roles(asking, checks)]


@dataclass(frozen=True, slots=True)
class _Asked:
    """What all rows ask of one model, how that stands with nothing wrong, and until when."""

    model: Model
    limits: Limits
    until: float
    healthy: dict[str, Verdict]

    def budget(self, rows: int) -> Budget:
        """Give the next of so many rows some times its part of what is left: most need far less."""
        left = self.until - time.time()
        seconds = max(min(self.limits.seconds / 4, MOST_PARTS * left / rows), 0.0)
        return Budget(self.limits.states, seconds)


def _rows(
    asked: _Asked, several: Sequence[tuple[Fault, ...]], later: int, common: Common, tried: Tried
) -> list[Row]:
    """Judge some faults one after the other; what one shows is not asked again for the next.

    So many rows come `later`, and the runs in `tried` broke something before.
    """
    known: dict[tuple[Fault, ...], Row] = {}
    rows = []
    for at, faults in enumerate(several):
        same = tuple(alike(asked.model, fault) for fault in faults)
        if same not in known:
            budget = asked.budget(len(several) - at + later)
            known[same] = _row(asked, same, budget, common, tried)
        row = known[same]
        rows.append(row if same == faults else _of_others(row, faults))
    return rows


def _of_others(row: Row, faults: tuple[Fault, ...]) -> Row:
    """Give a row as the one of faults that do just the same."""

    def told(effect: Effect) -> Effect:
        found = effect.finding
        return effect if found is None else replace(effect, finding=_with_faults(found, faults))

    return Row(faults, tuple(map(told, row.effects)))


def _row(
    asked: _Asked, faults: tuple[Fault, ...], budget: Budget, common: Common, tried: Tried
) -> Row:
    model = asked.model
    asking = Asking(model, budget, faults, common=common)
    effects: list[Effect] = []
    rules = {rule.name: rule for rule in model.rules}
    for at, (name, usual) in enumerate(asked.healthy.items()):
        asking.budget = budget.part(len(asked.healthy) - at)
        rule = rules.get(name)
        told = told_with_fault(asking, usual, rule, tried)
        found = {_name(each): each for each in told.findings}
        anyway = usual.answer is Answer.BROKEN
        effect = _effect(told.verdicts[0], found.get(name), anyway=anyway)
        effects.append(effect if anyway else _beyond(asking, effect, rule))
    row = Row(faults, tuple(effects))
    _keep(tried, row)
    return row


def _effect(verdict: Verdict, finding: Finding | None, *, anyway: bool) -> Effect:
    match verdict.answer:
        case Answer.HOLDS:
            return Effect(verdict.name, Cell.CAUGHT)
        case Answer.NOT_DECIDED:
            return Effect(verdict.name, Cell.NOT_DECIDED, anyway=anyway, why=verdict.why)
        case Answer.BROKEN:
            return Effect(verdict.name, Cell.BROKEN, finding, anyway)


def _beyond(asking: Asking, effect: Effect, rule: Rule | None) -> Effect:
    """Tell what breaks beyond any program: where some breach reads like a healthy prop.

    The run that was found may do. Else one is searched for; where neither that nor its absence is
    shown, it is not decided. What must stay possible is not searched for so: its runs have no end.
    Of a late loop a controller knows nothing until it begins, and all was well before it: what
    breaks unknown to it does so while that loop is overdue.
    """
    if effect.finding is None or effect.finding.run is None:
        return effect
    model, run = asking.model, effect.finding.run
    views = replay(model, run)
    states = [view.state for view in views] if is_by_time(model) else views.states()
    if could_be_healthy(model, run.stimuli, states):
        return replace(effect, cell=Cell.BEYOND)
    why = "it breaks, and whether a program could tell is not shown"
    unclear = replace(effect, cell=Cell.NOT_DECIDED, why=why)
    if rule is not None and isinstance(rule.requirement, WayBack):
        return unclear
    is_late = asking.faults == (Late(),)
    faults = (Overdue(),) if is_late else asking.faults
    unknown = Asking(model, asking.budget, faults, shadowed=not is_late, common=asking.common)
    told = ask(unknown, effect.name, rule)
    match told.verdicts[0].answer:
        case Answer.HOLDS:
            return effect
        case Answer.BROKEN:
            found = _with_faults(told.findings[0], asking.faults)
            return replace(effect, cell=Cell.BEYOND, finding=found)
        case _:
            return unclear


def _with_faults(finding: Finding, faults: tuple[Fault, ...]) -> Finding:
    """Give a finding as the one of other faults that do the same in its run."""
    run = finding.run
    return finding if run is None else replace(finding, run=replace(run, faults=faults))


def _verdicts(told: Sequence[Told]) -> dict[str, Verdict]:
    return {verdict.name: verdict for part in told for verdict in part.verdicts}


def _name(finding: Finding) -> str:
    return finding.rule or finding.kind.name


def _may_be_two(first: Fault, second: Fault) -> bool:
    """Tell whether two faults can be there together: on two things, one of the controller's."""
    if isinstance(first, ControllerFault) and isinstance(second, ControllerFault):
        return False
    return not set(touched(first)) & set(touched(second))


def _each_story_once(model: Model, rows: Sequence[Row]) -> Iterator[Row]:
    """Leave out a run that an earlier row has told for the same requirement, and end the others."""
    told: set[tuple[str, object]] = set()
    for row in rows:
        effects = []
        for effect in row.effects:
            run = None if effect.finding is None else effect.finding.run
            key = (effect.name, run and _what_happens(run))
            is_new = effect.finding is None or key not in told
            told.add(key)
            effects.append(_ended(model, effect) if is_new else _without_run(effect))
        yield replace(row, effects=tuple(effects))


def _ended(model: Model, effect: Effect) -> Effect:
    return replace(effect, finding=effect.finding and with_last_line(model, effect.finding))


def _without_run(effect: Effect) -> Effect:
    return replace(effect, finding=effect.finding and replace(effect.finding, run=None))


def _what_happens(run: Run) -> object:
    """Give what is the same in two runs that differ only in why things were so."""
    return tuple(
        (each.raw, each.true, each.mechanism, each.draws, each.beat) for each in run.stimuli
    )
