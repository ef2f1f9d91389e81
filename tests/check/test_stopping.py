"""Why something is not decided, in plain words."""

import pytest

from behaviour.check.stopping import TOO_LONG, TOO_MUCH, limit_words, reached_words, why_open
from behaviour.explore.budget import LimitError
from behaviour.findings import Answer, Verdict
from behaviour.model import Unknown
from behaviour.semantics import NotKnownError

HOLDS = Verdict(name="a", answer=Answer.HOLDS)
OPEN_VALUE = Verdict(
    name="b", answer=Answer.NOT_DECIDED, why="needs `turn.after`, which is not known yet"
)
OUT_OF_TIME = Verdict(name="c", answer=Answer.NOT_DECIDED, why=TOO_LONG)


@pytest.mark.parametrize(
    ("stop", "why"),
    [
        (LimitError("7.5 s", "3000 states in 7.5 s"), TOO_LONG),
        (LimitError("400000 states", "400000 states in 3.1 s"), TOO_MUCH),
        (LimitError("a lockout", "it is not shown"), "it is not shown"),
        (NotKnownError(Unknown("turn.after")), "needs `turn.after`, which is not known yet"),
    ],
)
def test_what_stopped_a_search_is_told_without_how_it_searches(stop, why):
    assert why_open(stop) == why


def test_the_time_allowed_is_named_only_where_more_of_it_may_help():
    assert limit_words([HOLDS, OPEN_VALUE, OUT_OF_TIME], 30) == "30 s"
    assert limit_words([HOLDS, OPEN_VALUE], 30) == "needs `turn.after`, which is not known yet"
    assert limit_words([HOLDS], 30) == ""


def test_how_far_it_got_counts_the_answers():
    assert reached_words([HOLDS, OPEN_VALUE, OUT_OF_TIME]) == (
        "1 of 3 rules and checks are decided"
    )
    assert reached_words([HOLDS]) == ""
