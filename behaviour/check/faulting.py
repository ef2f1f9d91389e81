"""The failure worksheet: every rule and role check once more, with one thing wrong.

Strategy: what cannot depend on the thing that fails is as it was. All else is asked again in the
faulty model, the same way as in the healthy one. Where something breaks, its run is played once
more to see whether a healthy prop could have given the same readings: then no program could tell.
"""

import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from itertools import combinations

from behaviour.check.asking import Asking, Told
from behaviour.check.closing import with_last_line
from behaviour.check.roles.check import ask_roles, role_checks_of
from behaviour.check.rules import check_rules
from behaviour.check.run import Limits
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.search import Budget
from behaviour.faults import (
    Backwards,
    Chatters,
    ControllerFault,
    Fault,
    Slow,
    Stalls,
    Stuck,
    Swapped,
    Unplugged,
    Welded,
    faults_of,
    touched,
)
from behaviour.findings import Answer, Finding, Run, Verdict
from behaviour.jobs import run_all
from behaviour.model import Condition, InState, Model, Rule, WayBack
from behaviour.story import replay
from behaviour.world.likeness import could_be_healthy


class Cell(Enum):
    """What becomes of a requirement when something is wrong."""

    CAUGHT = "caught"
    BROKEN = "broken"
    BEYOND = "beyond software"
    NOT_DECIDED = "not decided"


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

    Each row may use a quarter of the time that is allowed; what the limits stop is not decided.
    """
    until = time.time() + limits.seconds
    budget = Budget(limits.states, limits.seconds)
    healthy = _verdicts(required(Asking(model, budget.share()), model.rules, role_checks_of(model)))
    faults = faults_of(model)
    together = [each for each in combinations(faults, 2) if _may_be_two(*each)] if pairs else []
    wrong = [*((one,) for one in faults), *together]
    rows = run_all([partial(_row, model, limits, until, healthy, each) for each in wrong], jobs)
    return Worksheet(tuple(healthy.values()), tuple(_each_story_once(rows)))


def required(asking: Asking, rules: Sequence[Rule], checks: Sequence[str]) -> list[Told]:
    """Ask all that must hold with something wrong too: the rules and the role checks."""
    return [check_rules(asking, rules), ask_roles(asking, checks)]


def _row(
    model: Model,
    limits: Limits,
    until: float,
    healthy: dict[str, Verdict],
    faults: tuple[Fault, ...],
) -> Row:
    budget = Budget(limits.states, max(min(limits.seconds, until - time.time()), 0.0))
    concerned = [rule for rule in model.rules if may_matter(model, faults, rule)]
    told = required(Asking(model, budget.share(), faults), concerned, role_checks_of(model))
    verdicts = _verdicts(told)
    found = {_name(each): each for part in told for each in part.findings}
    effects = []
    for name, usual in healthy.items():
        verdict = verdicts.get(name, usual)
        anyway = usual.answer is Answer.BROKEN
        effect = _effect(model, verdict, found.get(name), anyway=anyway)
        effects.append(effect if anyway else _beyond(model, budget, faults, effect))
    return Row(faults, tuple(effects))


def _effect(model: Model, verdict: Verdict, finding: Finding | None, *, anyway: bool) -> Effect:
    match verdict.answer:
        case Answer.HOLDS:
            return Effect(verdict.name, Cell.CAUGHT)
        case Answer.NOT_DECIDED:
            return Effect(verdict.name, Cell.NOT_DECIDED, anyway=anyway, why=verdict.why)
        case Answer.BROKEN:
            told = None if finding is None else with_last_line(model, finding)
            return Effect(verdict.name, Cell.BROKEN, told, anyway)


def _beyond(model: Model, budget: Budget, faults: tuple[Fault, ...], effect: Effect) -> Effect:
    """Tell what breaks beyond any program: where some breach reads like a healthy prop.

    The run that was found may do. Else one is searched for; where neither that nor its absence is
    shown, it is not decided. What must stay possible is not searched for so: its runs have no end.
    """
    if effect.finding is None or effect.finding.run is None:
        return effect
    run = effect.finding.run
    states = [view.state for view in replay(model, run)]
    if could_be_healthy(model, run.stimuli, states):
        return replace(effect, cell=Cell.BEYOND)
    why = "it breaks, and whether a program could tell is not shown"
    unclear = replace(effect, cell=Cell.NOT_DECIDED, why=why)
    rules = [rule for rule in model.rules if rule.name == effect.name]
    if any(isinstance(rule.requirement, WayBack) for rule in rules):
        return unclear
    checks = [name for name in role_checks_of(model) if name == effect.name and not rules]
    told = required(Asking(model, budget.share(), faults, shadowed=True), rules, checks)
    verdict = _verdicts(told).get(effect.name)
    if verdict is not None and verdict.answer is Answer.HOLDS:
        return effect
    found = next((each for part in told for each in part.findings), None)
    if verdict is None or verdict.answer is not Answer.BROKEN or found is None:
        return unclear
    return replace(effect, cell=Cell.BEYOND, finding=with_last_line(model, found))


def _verdicts(told: Sequence[Told]) -> dict[str, Verdict]:
    return {verdict.name: verdict for part in told for verdict in part.verdicts}


def _name(finding: Finding) -> str:
    return finding.rule or finding.kind.name


def may_matter(model: Model, faults: Sequence[Fault], rule: Rule) -> bool:
    """Tell whether what fails can have to do with a rule that holds without it.

    What people alone move they can move as if its line were at fault. So where nothing speaks of
    what is truly there, no run of the prop is new, and what every run keeps is kept. Only a line
    that stays at a value takes something away that must stay possible.
    """
    asked = rule.conditions()
    part = cone(model, asked).model
    during = [m.during for mechanism in part.mechanism for m in mechanism.movements()]
    true = _named((*asked, *during))
    told = _named(way.when for region in part.regions for way in region.transitions())
    moved = {*part.moved, *part.mechanism_index}
    return any(
        _concerns(each, true, told, moved)
        or (isinstance(rule.requirement, WayBack) and _holds_back(each, told))
        for each in faults
    )


def _holds_back(fault: Fault, told: set[str]) -> bool:
    return isinstance(fault, Stuck | Unplugged) and fault.input in told


def _concerns(fault: Fault, true: set[str], told: set[str], moved: set[str]) -> bool:
    """Tell whether a fault can matter where these names are asked for, told, and moved."""
    names = set(touched(fault))
    match fault:
        case Stuck() | Unplugged() | Chatters() | Swapped():
            return bool(names & true) or (bool(names & told) and bool(names & moved))
        case Stalls() | Slow():
            return bool(names & moved)
        case Backwards() | Welded():
            return bool(names & true)
        case _:
            return True


def _named(asked: Iterable[Condition | None]) -> set[str]:
    return {
        atom.region if isinstance(atom, InState) else atom.name
        for condition in asked
        for atom in atoms(condition)
    }


def _may_be_two(first: Fault, second: Fault) -> bool:
    """Tell whether two faults can be there together: on two things, one of the controller's."""
    if isinstance(first, ControllerFault) and isinstance(second, ControllerFault):
        return False
    return not set(touched(first)) & set(touched(second))


def _each_story_once(rows: Sequence[Row]) -> Iterator[Row]:
    """Leave out a run that an earlier row has told for the same requirement."""
    told: set[tuple[str, object]] = set()
    for row in rows:
        effects = []
        for effect in row.effects:
            run = None if effect.finding is None else effect.finding.run
            key = (effect.name, run and _what_happens(run))
            is_new = effect.finding is None or key not in told
            told.add(key)
            effects.append(effect if is_new else _without_run(effect))
        yield replace(row, effects=tuple(effects))


def _without_run(effect: Effect) -> Effect:
    return replace(effect, finding=effect.finding and replace(effect.finding, run=None))


def _what_happens(run: Run) -> object:
    """Give what is the same in two runs that differ only in why things were so."""
    return tuple(
        (each.raw, each.true, each.mechanism, each.draws, each.beat) for each in run.stimuli
    )
