"""What starts by itself, asked of drawings: they come to all that the prop comes to.

That no verdict contradicts the plain definition is asked in `tests/twin/test_by_itself.py`.
"""

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.check.asking import Asking
from behaviour.check.hands import Hands
from behaviour.check.roles.check import ask_roles
from behaviour.check.roles.drawn import quiets_of
from behaviour.check.roles.quiet import Quiet
from behaviour.check.roles.starting import may_count_held, may_start_after, may_turn_on
from behaviour.explore.budget import Budget
from behaviour.findings import Answer
from behaviour.model import Model, Output
from tests.bench.scale import show
from tests.reading import model_in, model_of
from tests.strategies import different_models

SEEN: Counter[str] = Counter()
"""What drawings said of starts after each transition."""


def drawings(model: Model, output: Output) -> tuple[Quiet, ...]:
    return quiets_of(Asking(model, Budget()), output)


def places_of(here: Quiet, kept: Quiet) -> set[tuple[object, ...]]:
    """List where the regions of a drawing may be together, and whether the hazard is away there."""
    numbers = [here.model.region_index[region.name] for region in kept.model.regions]
    return {(*(at.places[n] for n in numbers), at.is_away) for at in here.everywhere()}


@settings(
    max_examples=max(200, settings.default.max_examples if settings.default else 0),
    derandomize=True,
)
@given(different_models(), st.data())
def test_a_drawing_comes_to_all_that_the_prop_comes_to(model, data):
    """So what starts after a way out, asked with no more than that, is never missed."""
    owned = [each for each in model.outputs if each.name in model.owner]
    if not owned:
        return
    output = data.draw(st.sampled_from(owned))
    item = data.draw(st.sampled_from(model.inputs))
    quiet = frozenset(model.input_index) - model.moved - {item.name}
    hands = Hands({}, quiet, {each.name: each.values[0] for each in model.inputs})
    *rough, whole = drawings(model, output)

    for each in rough:
        assert places_of(whole, each) <= places_of(each, each)
        for way in model.region[model.owner[output.name]].transitions():
            may = may_start_after(each, way, hands)
            SEEN["may" if may else "never"] += 1
            assert may or not may_start_after(whole, way, hands)


def test_a_drawing_has_shown_that_something_is_never():
    """Runs after the random props: there must have been some, or nothing was shown."""
    assert SEEN["never"] > 0
    assert SEEN["may"] > 0


# --- By hand ------------------------------------------------------------------------------------

LAST = 3
"""The stage of the show that waits for all others."""


def test_the_last_of_four_stages_is_shown_by_a_drawing_of_itself():
    """The places of all five regions together are too many to be followed."""
    model = model_in(show())
    first, *_, whole = drawings(model, model.outputs[LAST])
    start = model.input["start_3"]

    assert [region.name for region in first.model.regions] == ["stage_3"]
    assert not may_count_held(first, start)
    assert may_count_held(whole, start)


MILL = """\
    language: 1
    prop: Mill behind a gate
    loop: 10 ms
    inputs:
      calm: {kind: button, role: reset, steady: 20 ms}
      push: {kind: button, role: start, steady: 20 ms}
    outputs:
      mill: {kind: motor, values: [still, turning]}
    regions:
      gate:
        begins: closed
        states:
          closed: {leave: [{when: calm becomes pressed, go: open}]}
          open: {leave: [{after: 20 s, go: closed}]}
      house:
        begins: waiting
        states:
          waiting: {leave: [{when: WHEN, go: milling}]}
          milling: {set: {mill: turning}, leave: [{after: 2 s, go: over}]}
          over: {leave: [{when: gate in closed, go: waiting}]}
    """


def reset_starts(when: str) -> tuple[list[bool], Answer]:
    """Tell whether pressing `calm` may start the mill in each drawing, and what the check says."""
    model = model_of(MILL.replace("WHEN", when))
    calm, quiet = model.input["calm"], frozenset(model.input_index)
    turned = ("released", "pressed")
    may = [may_turn_on(q, calm, turned, {}, quiet) for q in drawings(model, model.outputs[0])]
    told = ask_roles(Asking(model, Budget(50_000, 30)), ("reset-restarts",))
    return may, told.verdicts[0].answer


def test_a_region_that_is_left_out_may_pass_a_reset_on():
    """The house never looks at the reset, and starts because the gate does."""
    assert reset_starts("gate in open") == ([True, True], Answer.BROKEN)


def test_a_region_that_starts_by_a_press_alone_is_not_started_by_a_reset():
    assert reset_starts("push becomes pressed and gate in open")[0][0] is False
    assert reset_starts("push becomes pressed and gate in open")[1] is Answer.HOLDS
