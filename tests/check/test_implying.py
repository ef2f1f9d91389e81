"""An 'otherwise': a transition that can always be taken when one before it is."""

import pytest

from behaviour.check.implying import implies
from tests.making import becomes, both, button, either, held, is_, prop, region, state, way

ON, OFF = is_("x", "pressed"), is_("x", "released")


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (both(OFF, is_("y", "pressed")), OFF, True),
        (OFF, ON, False),
        (OFF, becomes("x", "released"), False),
        (OFF, either(becomes("x", "released"), held("x", "released", 10)), True),
        (OFF, either(becomes("x", "released"), held("x", "released", 20)), False),
        (held("x", "released", 30), held("x", "released", 20), True),
        (held("x", "released", 20), held("x", "released", 30), False),
        (OFF, held("x", "released", 0), True),
    ],
)
def test_what_an_input_is_it_has_become_now_or_a_loop_ago(first, second, expected):
    model = prop(
        region("r", state("a", leave=[way("b", first), way("b", second)]), state("b")),
        inputs=[button("x"), button("y")],
    )
    one, two = model.regions[0].states[0].leave

    assert implies(model, model.regions[0], one, two) is expected
