"""Why something is not decided, in the words of whoever waits for the answer.

It knows what can stop a search, and nothing of what was asked.
"""

from collections.abc import Iterable

from behaviour.explore.budget import LimitError
from behaviour.findings import Answer, Verdict
from behaviour.semantics import NotKnownError

TOO_LONG = "looking through it all would take longer than is allowed"
TOO_MUCH = "there is more to look through than is allowed"


def why_open(stop: NotKnownError | LimitError) -> str:
    """Say what an answer lacks: a value that the file leaves open, time, room, or know-how."""
    if isinstance(stop, NotKnownError):
        return f"needs `{stop.what}`, which is not known yet"
    if stop.limit.endswith(" s"):
        return TOO_LONG
    if stop.limit.endswith(" states"):
        return TOO_MUCH
    if stop.limit.endswith(" of memory"):
        return f"looking through it all would take more than {stop.limit}"
    return stop.reached


def limit_words(verdicts: Iterable[Verdict], seconds: float) -> str:
    """Name what stopped the answers that are open: `30 s` where more time may decide them."""
    whys = [verdict.why for verdict in verdicts if verdict.answer is Answer.NOT_DECIDED]
    if not whys:
        return ""
    if any(TOO_LONG in why for why in whys):
        return f"{seconds:g} s"
    return whys[0]


def reached_words(verdicts: Iterable[Verdict]) -> str:
    """Say how many of the rules and checks have an answer."""
    answers = [verdict.answer for verdict in verdicts]
    open_ones = answers.count(Answer.NOT_DECIDED)
    if not open_ones:
        return ""
    return f"{len(answers) - open_ones} of {len(answers)} rules and checks are decided"
