"""What a search may use, and how it says that it stopped."""

import pytest

from behaviour.check.stopping import why_open
from behaviour.explore.budget import LOOKS_APART, Budget, LimitError, most_memory


def spend_all(budget: Budget, states: int) -> None:
    for _ in range(states):
        budget.spend()


def spend(budget: Budget, states: int) -> LimitError:
    with pytest.raises(LimitError) as stopped:
        spend_all(budget, states)
    return stopped.value


def test_a_budget_of_states_is_spent_one_by_one():
    assert spend(Budget(states=3), 4).limit == "3 states"


def test_a_share_counts_for_the_whole_as_well():
    whole = Budget(states=100)
    whole.share().spend()

    assert whole.used == 1


def test_memory_that_grows_beyond_what_is_allowed_stops_a_search():
    budget = Budget(memory=1 << 20, filled=0)

    assert most_memory() > 1 << 20
    stop = spend(budget, LOOKS_APART)
    assert why_open(stop) == "looking through it all would take more than 1 MiB of memory"


def test_memory_that_the_process_used_before_does_not_count():
    budget = Budget(memory=1, filled=1 << 60)
    spend_all(budget, LOOKS_APART)

    assert budget.used == LOOKS_APART
    assert budget.share().filled == budget.filled
