"""slow-stop-filter: a stop or guard whose change is known too late to be acted on in time.

The filter and one loop are to fit into `reaction`; where none is given there is nothing to fit
into. Each is shown by a run in which the change comes to count.
"""

from collections.abc import Iterator

from behaviour.check.asking import Asking
from behaviour.check.roles.beating import Comes
from behaviour.check.roles.opening import left_of_reaction, sensing
from behaviour.check.roles.seeing import asking_for, with_role
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.watching import BREACH
from behaviour.explore.situations import Question
from behaviour.findings import Finding
from behaviour.model import Input, Model, Role, Time
from behaviour.wording import duration, time_words

NAME = "slow-stop-filter"


def check_filters(asking: Asking) -> Told:
    """Check the filter of every stop and guard, for each value that is not safe."""
    verdict = Verdicts(NAME)
    findings: list[Finding] = []
    reaction = asking.model.reaction
    if reaction is None:
        return Told((verdict.verdict(),), ())
    for number, item, value in _unsafe(asking.model):

        def look(number: int = number, item: Input = item, value: str = value) -> bool:
            found = _too_slow(asking, number, item, value, reaction)
            findings.extend(() if found is None else (found,))
            return found is not None

        verdict.decide(look)
    return Told((verdict.verdict(),), tuple(findings))


def _unsafe(model: Model) -> Iterator[tuple[int, Input, str]]:
    for number, item in with_role(model, Role.STOP, Role.GUARD):
        for value in item.values:
            if value != item.safe:
                yield number, item, value


def _too_slow(
    asking: Asking, number: int, item: Input, value: str, reaction: Time
) -> Finding | None:
    if left_of_reaction(asking.model, item, value) >= 0:
        return None
    asked = asking_for(item)
    run = asking.reach(
        Question(watches=(Comes(number, value),), conditions=asked, may_stall=True),
        lambda _: lambda at: at.watch[0] == BREACH,
        conditions=asked,
    )
    if run is None:
        return None
    takes = duration(sensing(asking.model, item, value) * asking.model.loop)
    return finding(
        NAME,
        f"`{item.name}` is known to be `{value}` only after {takes}, and `reaction` allows "
        f"{time_words(reaction)}",
        item.span,
        "filter and one loop take longer than there is",
        run=run,
        hint=f"a shorter `steady` for `{value}`, which may be far shorter than that for "
        f"`{item.safe}`",
    )
