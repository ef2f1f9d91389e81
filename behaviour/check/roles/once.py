"""A role check of which one breach is enough: with something wrong it is asked whether it holds.

Strategy: what the file shows in spite of what is wrong is not searched. Of the rest, questions that
look at the same are searched together, and the run that is found is played
to see which of them it breaks. Where that leaves it open each is asked alone, but not in haste.
"""

from collections.abc import Callable, Sequence
from functools import cache

from behaviour.check.asking import Asking
from behaviour.check.judging import Sights
from behaviour.check.roles.alongside import first_breach, shown
from behaviour.check.roles.check import (
    BY_ONE_INPUT,
    ask_one,
    asked_alike,
    asks_of,
    role_finding,
    search,
)
from behaviour.check.roles.questions import Asks
from behaviour.check.verdicts import Told, Verdicts
from behaviour.explore.budget import LimitError
from behaviour.faults import Fault
from behaviour.findings import Finding, Run
from behaviour.model import Model
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, replay


def ask_once(asking: Asking, name: str) -> Told:
    """Make a role check, and look for no more than one breach of it."""
    verdict, findings = Verdicts(name), list[Finding]()
    for several in asked_alike(asking.model, name):
        alike = _left_open(asking, several)
        together = None
        if len(alike) > 1:
            try:
                together = _together(asking, name, alike)
            except (NotKnownError, LimitError) as stop:
                if asking.haste:
                    verdict.leave_open(stop)
                    break
        if together is not None:
            findings += together
            verdict.broken = bool(findings)
        else:
            _one_by_one(asking, verdict, alike, findings)
        if verdict.broken or (asking.haste and verdict.why):
            break
    return Told((verdict.verdict(),), tuple(findings))


def is_plain_with(model: Model, name: str, fault: Fault) -> bool:
    """Tell whether the file shows that a check is kept with a fault."""
    return not model.unknowns and all(
        each.bears(fault) and is_plain() for each, is_plain in _asked_plainly(model, name)
    )


def _asked_plainly(model: Model, name: str) -> Sequence[tuple[Asks, Callable[[], bool]]]:
    """Give the questions of a check, each with what tells whether it is plain, asked once."""
    key = ("asked plainly", name)
    known: Sequence[tuple[Asks, Callable[[], bool]]] | None = model.worked_out.get(key)
    if known is None:
        every = (each for several in asked_alike(model, name) for each in several)
        known = model.worked_out[key] = tuple([(each, cache(each.is_plain)) for each in every])
    return known


def _left_open(asking: Asking, several: Sequence[Asks]) -> tuple[Asks, ...]:
    """Give the questions that the file alone does not answer."""
    if asking.model.unknowns:
        return tuple(several)
    return tuple([each for each in several if not each.is_plain_with(asking.faults)])


def _together(asking: Asking, name: str, alike: Sequence[Asks]) -> list[Finding] | None:
    """Give what one search for some questions finds, if anything; None if that leaves it open.

    Raises NotKnownError and LimitError.
    """
    run = search(asking, tuple(alike), is_judged=name not in BY_ONE_INPUT)
    if run is None:
        return []
    found = judged(asking.model, name, run, replay(asking.model, run))
    return None if found is None else [found]


def _one_by_one(
    asking: Asking, verdict: Verdicts, alike: Sequence[Asks], findings: list[Finding]
) -> None:
    for each in alike:

        def look(each: Asks = each) -> bool:
            found = ask_one(asking, verdict.name, each)
            findings.extend(() if found is None else (found,))
            return found is not None

        verdict.decide(look)
        if verdict.broken or (asking.haste and verdict.why):
            break


def judged(model: Model, name: str, run: Run, views: Sequence[LoopView]) -> Finding | None:
    """Judge a run by what a check asks of a run alone, and give what it breaks of that."""
    loops = shown(Sights(model, views))
    for asks in asks_of(model, name):
        loop = None if asks.watch is None else first_breach(asks.watch(), loops)
        if loop is not None:
            return role_finding(model, name, asks, run.until(loop))
    return None
