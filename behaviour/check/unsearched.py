"""What the file shows by itself of a requirement with something wrong; nothing is searched."""

from collections.abc import Sequence

from behaviour.check.beside import is_never_beside
from behaviour.check.felt import felt
from behaviour.check.masked import is_kept_by
from behaviour.check.outright import is_kept_outright
from behaviour.check.roles.once import is_plain_with
from behaviour.explore.cone import cone
from behaviour.faults import Fault
from behaviour.findings import Answer, Verdict
from behaviour.model import Model, Rule, WayBack


def unsearched(
    model: Model, faults: Sequence[Fault], usual: Verdict, rule: Rule | None
) -> Verdict | None:
    """Tell what the file shows by itself: that all is as usual, or that it is kept, if it does."""
    if rule is not None and not may_matter(model, faults, rule):
        return usual
    if len(faults) > 1:
        return None
    (fault,) = faults
    if rule is None:
        is_kept = is_plain_with(model, usual.name, fault)
    else:
        is_masked = usual.answer is Answer.HOLDS and is_kept_by(model, rule, fault)
        is_kept = is_masked or (not model.unknowns and _shows(model, rule, fault))
    return Verdict(name=usual.name, answer=Answer.HOLDS) if is_kept else None


def _shows(model: Model, rule: Rule, fault: Fault) -> bool:
    """Tell whether the file, that leaves nothing open, shows that a rule is kept with a fault."""
    return is_kept_outright(model, rule, fault) or is_never_beside(model, rule, fault)


def may_matter(model: Model, faults: Sequence[Fault], rule: Rule) -> bool:
    """Tell whether what fails can have to do with a rule that holds without it."""
    asked = rule.conditions()
    stays = isinstance(rule.requirement, WayBack)
    return bool(felt(cone(model, asked).model, faults, asked, stays_possible=stays))
