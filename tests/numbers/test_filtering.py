"""The filter that is advised keeps a disturbance out, and one loop less would not."""

from hypothesis import given
from hypothesis import strategies as st

from behaviour.numbers.filtering import filter_loops_for, late_by

times = st.integers(1, 500)


def samples_inside(disturbance: int, loop: int, begins: int) -> int:
    """Count the samples, one each loop from 0 on, that fall into a disturbance."""
    return sum(begins <= at <= begins + disturbance for at in range(0, 2000, loop))


@given(times, times, st.integers(0, 500))
def test_a_disturbance_never_fills_the_samples_that_a_change_needs(disturbance, loop, begins):
    loops = filter_loops_for(disturbance, loop)
    assert samples_inside(disturbance, loop, begins) < loops + 1


@given(times, times)
def test_one_loop_less_could_be_filled(disturbance, loop):
    loops = filter_loops_for(disturbance, loop)
    assert samples_inside(disturbance, loop, 0) == loops


def test_without_a_disturbance_no_filter_is_asked_for():
    assert filter_loops_for(0, 10) == 0


def test_a_change_counts_a_filter_and_a_loop_later_at_most():
    assert late_by(2, 10) == 30
