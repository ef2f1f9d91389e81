"""A way that was found in one drawing of a prop leads in a finer one."""

from behaviour.explore.budget import Budget
from behaviour.explore.detail import NO_DETAIL
from behaviour.explore.leading import Course
from behaviour.explore.looks import may_reach
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.situations import Question, Situation
from behaviour.explore.zones import FREE
from behaviour.model import Model
from tests.making import becomes, input_, prop, region, state, way

STEPS = region(
    "steps",
    state("a", leave=[way("b", becomes("x", "on")), way("c", becomes("x", "off"))]),
    state("b", leave=[way("d", becomes("x", "off"))]),
    state("c", leave=[way("d", becomes("x", "on"))]),
    state("d"),
)
BLINKS = region("blinks", state("p", leave=[way("q", after=20)]), state("q", leave=[way("p")]))


def lookout(model: Model) -> Lookout:
    return Lookout(model, Question(), Budget())


def ends(model: Model):
    at_steps = model.region_index["steps"]

    def goal(at: Situation) -> bool:
        return at.places[at_steps].leaf == 3

    return goal


def test_a_course_tells_how_far_its_regions_are_from_its_end_wherever_others_are() -> None:
    rough = prop(STEPS, inputs=[input_("x", "off", "on")])
    fine = prop(BLINKS, STEPS, inputs=[input_("x", "off", "on")])
    course = may_reach(lookout(rough), ends(rough))
    assert course is not None
    far = course.beside(fine)
    found = reach(lookout(fine), ends(fine), NO_DETAIL, None, course)
    assert found is not None
    situations = [leg.move.to for leg in found.legs if leg.move is not None]

    steps_left = [far(at) for at in situations]
    assert steps_left[-1] == 0
    assert steps_left == sorted(steps_left, reverse=True)


def test_what_is_not_on_a_course_is_as_far_as_can_be() -> None:
    model = prop(STEPS, inputs=[input_("x", "off", "on")])
    course = Course(NO_DETAIL, ("steps",), {})
    found = reach(lookout(model), ends(model), NO_DETAIL, None, course)
    assert found is not None
    (first, *_) = [leg.move.to for leg in found.legs if leg.move is not None]

    assert course.beside(model)(first) == FREE
