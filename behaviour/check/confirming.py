"""What is told as broken, played and judged by the plain definition once more before it is told.

A search finds no run that is none. Should it ever, through a fault of its own, nothing is told to
be broken by it: then it is not decided.
"""

from dataclasses import replace

from behaviour.check.claims import ends_in
from behaviour.check.stopping import why_open
from behaviour.check.verdicts import Told
from behaviour.explore.budget import LimitError
from behaviour.findings import Answer, Finding, Run, Verdict
from behaviour.model import Model
from behaviour.semantics import NotKnownError

NOT_BORNE_OUT = LimitError(
    "the definition",
    "a run was found that does not end so when it is played, which is a fault of tablework",
)


def bears_out(model: Model, name: str, rule: str | None, run: Run | None) -> bool:
    """Tell whether a run, if there is one, ends as a finding says, as far as a run can show it."""
    try:
        return run is None or ends_in(model, name, rule, run) is not False
    except NotKnownError:
        return True


def confirmed(model: Model, told: Told) -> Told:
    """Leave out the findings that their runs do not bear out, and leave their checks undecided."""
    wrong = [each for each in told.findings if not _is_borne_out(model, each)]
    if not wrong:
        return told
    findings = tuple(each for each in told.findings if each not in wrong)
    names, kept = set(map(_name, wrong)), set(map(_name, findings))

    def judged(verdict: Verdict) -> Verdict:
        if verdict.name not in names:
            return verdict
        answer = Answer.BROKEN if verdict.name in kept else Answer.NOT_DECIDED
        return replace(verdict, answer=answer, why=why_open(NOT_BORNE_OUT))

    return Told(tuple(map(judged, told.verdicts)), findings)


def _is_borne_out(model: Model, found: Finding) -> bool:
    return bears_out(model, found.kind.name, found.rule, found.run)


def _name(found: Finding) -> str:
    return found.rule or found.kind.name
