"""A value kept by where it changes is what it would be if it were kept for each loop."""

from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.stretches import Stretches

LOOPS = 12

laid = st.lists(
    st.tuples(
        st.integers(-3, LOOPS - 1), st.none() | st.integers(0, LOOPS), st.sampled_from("abcd")
    )
)


@given(laid)
def test_stretches_read_as_a_list_does(several):
    stretches, plain = Stretches("a"), ["a"] * (LOOPS + 1)

    for begin, end, value in several:
        stretches.lay(begin, end, value)
        for loop in range(max(begin, 0), LOOPS + 1 if end is None else end):
            plain[loop] = value

    assert [stretches.at(loop) for loop in range(LOOPS + 1)] == plain
    changes = list(stretches.changes())
    assert changes == sorted(set(changes))
    assert {loop for loop in range(1, LOOPS + 1) if plain[loop - 1] != plain[loop]} <= {*changes}
