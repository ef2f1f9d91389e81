"""What becomes of one requirement with something wrong: what tells it soonest is tried first.

Strategy: what the file shows; runs that broke it before; a glance; a search with few states, and
with more going wrong than does; healthy runs told again; and only then a search to the end.
"""

from collections.abc import Callable
from functools import partial

from behaviour.check.asking import Asking
from behaviour.check.confirming import confirmed
from behaviour.check.felt import wider_than
from behaviour.check.roles.once import ask_once
from behaviour.check.rules import check_rules
from behaviour.check.trying import Tried
from behaviour.check.unsearched import unsearched
from behaviour.check.verdicts import Told
from behaviour.faults import Fault
from behaviour.findings import Answer, Verdict
from behaviour.model import Requirement, Rule, WayBack, Whenever

MOST_IN_HASTE, MOST_WIDER = 60, 600
"""So many states may be looked at to show that something holds before a run is tried, and with
more going wrong than does."""

MOST_AT_FIRST = 3000
"""So many states may be looked at before healthy runs are tried with something wrong."""


def told_with_fault(asking: Asking, usual: Verdict, rule: Rule | None, tried: Tried) -> Told:
    """Tell what becomes of a requirement: as usual, broken by a run that is known, or asked."""
    faults, name = asking.faults, usual.name
    known = unsearched(asking.model, faults, usual, rule)
    if known is not None:
        return Told((known,), ())
    asked = partial(ask, asking, name, rule)
    if len(faults) > 1 or (rule is not None and not _has_an_end(rule.requirement)):
        return asked()
    (fault,) = faults
    soon: Told | None
    if not tried.may_show(name, rule):
        soon = _soon(asking, name, asked, fault, tried)
        return asked() if soon is None else soon
    is_likely = tried.may_break_likewise(name, fault)
    again = tried.again(name, rule, fault) if is_likely else None
    if again is None:
        soon = _soon(asking, name, asked, fault, tried)
        if soon is not None:
            return soon
        again = tried.at_rest(name, rule, fault)
    if again is None and not is_likely:
        again = tried.again(name, rule, fault)
    if again is None:
        told = _with_few(asking, asked)
        if told.verdicts[0].answer is Answer.HOLDS:
            asking.common.held.add((name, wider_than(fault)))
        if told.verdicts[0].answer is not Answer.NOT_DECIDED:
            return told
        again = tried.provoked(asking, name, rule, fault)
    if again is not None:
        return Told((Verdict(name=name, answer=Answer.BROKEN),), (again,))
    return asked()


def _with_few(asking: Asking, asked: Callable[[], Told]) -> Told:
    """Ask with few states."""
    whole = asking.budget
    asking.budget = whole.few(MOST_AT_FIRST)
    told = asked()
    asking.budget = whole
    return told


def _soon(
    asking: Asking, name: str, asked: Callable[[], Told], fault: Fault, tried: Tried
) -> Told | None:
    """Tell what is soon shown: that something breaks, or holds, be it with more going wrong.

    With more it is only asked where it was shown, at more length, to hold with as little.
    """
    kept = Told((Verdict(name=name, answer=Answer.HOLDS),), ())
    if asking.common.wider.get((name, fault)):
        return kept
    told = _at_once(asking, asked, MOST_IN_HASTE)
    if told.verdicts[0].answer is not Answer.NOT_DECIDED:
        return told
    wider = wider_than(fault)
    is_kept = (
        wider is not None
        and (name, wider) in asking.common.held
        and not tried.may_break(name)
        and _holds_wider(asking, name, asked, wider)
    )
    return kept if is_kept else None


def ask(asking: Asking, name: str, rule: Rule | None) -> Told:
    """Ask for one requirement, and look for no more than one run that breaks it."""
    if rule is not None:
        return check_rules(asking, (rule,))
    return confirmed(asking.model, ask_once(asking, name))


def _has_an_end(requirement: Requirement) -> bool:
    """Tell whether a run that breaks a requirement has a loop in which it does."""
    match requirement:
        case WayBack() | Whenever(limit=None):
            return False
        case _:
            return True


def _at_once(asking: Asking, asked: Callable[[], Told], states: int) -> Told:
    """Ask for what the first sketch shows with few states."""
    asking.haste = states
    told = asked()
    asking.haste = 0
    return told


def _holds_wider(asking: Asking, name: str, asked: Callable[[], Told], wider: Fault) -> bool:
    """Tell whether something is shown to hold where more can go wrong."""
    known = asking.common.wider
    if (name, wider) not in known:
        faults, asking.faults = asking.faults, (wider,)
        told = _at_once(asking, asked, MOST_WIDER)
        known[name, wider] = told.verdicts[0].answer is Answer.HOLDS
        asking.faults = faults
    return known[name, wider]
