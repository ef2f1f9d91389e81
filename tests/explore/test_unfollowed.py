"""Inputs that a search did not follow: when they turn on a path, and what is waited in for them."""

from collections.abc import Sequence
from unittest.mock import patch

from behaviour.check.asking import Asking
from behaviour.check.roles.check import check_roles
from behaviour.explore import meanwhile
from behaviour.explore.budget import Budget
from behaviour.explore.detail import NO_DETAIL, Detail
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.meanwhile import judged
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.scheduling import Blame, Schedule, schedule
from behaviour.explore.search import explore
from behaviour.explore.situations import Question
from behaviour.explore.unfollowed import fails_at
from behaviour.findings import Answer
from behaviour.model import Model
from behaviour.story import replay
from tests.making import becomes, button, held, input_, is_, prop, region, state, way
from tests.reading import model_of


def first_way(model: Model, leaf: int, detail: Detail = NO_DETAIL) -> list[Leg]:
    """Give the way into a leaf of the first region that no input forbids."""
    space = Lookout(model, Question(), Budget()).detailed(detail)
    found = explore(space, Budget(), goal=lambda at: at.places[0].leaf == leaf).goal
    assert found is not None
    return legs_to(space, found)


def pressed_twice(rests: float) -> Model:
    """A button is pressed, for `rests` nobody looks at it, and it is pressed again."""
    return prop(
        region(
            "r",
            state("a", leave=[way("b", becomes("x", "pressed"))]),
            state("b", leave=[way("c", after=rests)]),
            state("c", leave=[way("d", becomes("x", "pressed"))]),
            state("d"),
        ),
        inputs=[button("x", steady=30)],
    )


def test_a_button_is_let_go_while_nobody_looks_if_it_must_be_pressed_again():
    plan = schedule(first_way(pressed_twice(500), 3))

    assert isinstance(plan, Schedule)
    assert plan.loops == (0, 4, 54, 55)


def test_it_is_let_go_as_late_as_its_filter_needs():
    """Pressed in loop 4, it counts as released no sooner than in 8, and as pressed again in 12."""
    plan = schedule(first_way(pressed_twice(20), 3))

    assert isinstance(plan, Schedule)
    assert plan.loops == (0, 4, 6, 12)
    assert [plan.loops[each.at.leg] + each.at.later for each in plan.shifts[0]] == [4, 8, 12]


def opened(*, other: bool) -> Model:
    """A door that is open must be shut for 500 ms; with `other` a key may lead elsewhere."""
    turned = [way("c", becomes("key", "on"))] if other else []
    return prop(
        region(
            "r",
            state("a", leave=[way("b", is_("door", "open"))]),
            state("b", leave=[*turned, way("d", held("door", "shut", 500))]),
            state("c"),
            state("d"),
        ),
        inputs=[input_("door", "shut", "open"), input_("key", "off", "on")],
    )


def test_an_input_turns_while_one_waits_and_is_then_kept():
    legs = first_way(opened(other=False), 3)
    assert fails_at(legs, 0) == 2
    assert schedule(legs) == Blame(follow=frozenset({0}))

    longer, plan = judged(legs, schedule)

    assert isinstance(plan, Schedule)
    assert [leg.move is None for leg in longer] == [False, False, True, False]
    assert plan.loops[-1] - plan.loops[-2] == 50


def test_what_is_waited_in_for_an_input_replays():
    for other in (False, True):
        model = opened(other=other)
        found = reach(Lookout(model, Question(), Budget()), lambda at: at.places[0].leaf == 3)

        assert found is not None
        assert replay(model, found.run)[-1].state.regions[0].leaf == 3


def test_what_no_way_to_wait_lets_an_input_turn_for_is_never():
    """Nothing is waited in while the door is shut: it would be left for c at once."""
    model = prop(
        region(
            "r",
            state("a", leave=[way("b", is_("door", "open"))]),
            state("b", leave=[way("c", is_("door", "shut")), way("d", held("door", "shut", 50))]),
            state("c"),
            state("d"),
        ),
        inputs=[input_("door", "shut", "open")],
    )

    assert reach(Lookout(model, Question(), Budget()), lambda at: at.places[0].leaf == 3) is None


BELLOWS = """\
language: 1
prop: Bellows
loop: 10 ms
inputs:
  mark: {kind: sensor, values: [clear, made], steady: {clear: 7 ms, made: 10 ms}}
  brake: {kind: switch, values: [hit, up], role: stop, safe: up, steady: 10 ms}
  lid: {kind: switch, values: [open, shut], role: guard, safe: shut, steady: 0 ms}
outputs:
  motor: {kind: motor, values: [still, turning]}
  valve: {kind: valve, values: [shut, open]}
regions:
  work:
    begins: waiting
    states:
      waiting: {leave: [{when: lid becomes shut, go: turning}]}
      turning:
        set: {motor: turning}
        leave:
          - {when: mark becomes clear, go: waiting}
          - {when: mark is made, after: 30 ms, go: last}
      last: {set: {motor: turning}, leave: [{when: mark is not clear, go: waiting}]}
  air:
    begins: none
    states:
      none: {leave: [{when: lid becomes shut, go: ready}, {when: lid is not shut, go: ready}]}
      ready: {leave: [{when: brake is not hit and mark is made for 10 ms, go: blowing}]}
      blowing:
        set: {valve: open}
        leave:
          - {when: work in last and brake is hit for 10 ms, go: none}
          - {when: mark is not clear, go: stay}
mechanism:
  wheel:
    begins: off
    states:
      off:
        reads: {mark: clear}
        leave: [{while: motor is not still, takes: 20 ms to 30 ms, go: at}]
      at: {reads: {mark: made}, leave: [{while: motor is not still, takes: 10 ms, go: off}]}
"""


def test_a_path_is_not_made_longer_for_two_inputs_in_turn():
    """A way to wait for the lid is one in which the brake is looked at, and the other way round."""
    longer = meanwhile._with_longer
    most = 0

    def counted(path: Sequence[Leg], number: int) -> list[Leg] | None:
        nonlocal most
        most = max(most, len(path))
        assert most < 200
        return longer(path, number)

    with patch.object(meanwhile, "_with_longer", counted):
        told = check_roles(Asking(model_of(BELLOWS), Budget()))

    answers = {each.name: each.answer for each in told.verdicts}
    assert most > meanwhile.MOST_MORE
    assert answers["guard-closing-starts"] is Answer.BROKEN
    assert answers["restarts-by-itself"] is Answer.HOLDS
