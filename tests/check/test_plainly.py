"""What the transitions of a region alone show of role checks: searches say the same."""

from collections.abc import Sequence
from contextlib import ExitStack
from unittest.mock import patch

import pytest
from hypothesis import given

from behaviour.check.asking import Asking
from behaviour.check.roles import questions, turning
from behaviour.check.roles.check import check_roles
from behaviour.check.roles.plainly import (
    counts_when_released,
    rests_while_active,
    starts_as_asked,
)
from behaviour.check.verdicts import Told
from behaviour.explore.budget import Budget
from behaviour.findings import Answer
from behaviour.model import Condition, Input, Model, Role
from tests.making import (
    Way,
    Written,
    becomes,
    both,
    button,
    either,
    held,
    input_,
    is_,
    motor,
    prop,
    region,
    state,
    way,
)
from tests.strategies import each_once, models

STATES, SECONDS = 20_000, 30


def searched(model: Model) -> Told:
    """Make all role checks, and let no file be asked."""
    with ExitStack() as stack:
        for name in ("rests_while_active", "starts_as_asked", "counts_when_released"):
            stack.enter_context(patch.object(questions, name, lambda *_: False))
        stack.enter_context(patch.object(turning, "may_start", lambda *_: True))
        return check_roles(Asking(model, Budget(STATES, SECONDS)))


@given(models())
@each_once
def test_what_the_file_shows_to_be_kept_no_search_breaks(model: Model) -> None:
    told, alone = check_roles(Asking(model, Budget(STATES, SECONDS))), searched(model)

    for asked, sought in zip(told.verdicts, alone.verdicts, strict=True):
        assert asked.name == sought.name
        assert asked.answer == sought.answer or sought.answer is Answer.NOT_DECIDED
    if all(verdict.answer is not Answer.NOT_DECIDED for verdict in alone.verdicts):
        assert told.findings == alone.findings


LID = input_("lid", "shut", "open", role=Role.GUARD, safe="shut", kind="switch")
GO, RESET = button("go", role=Role.START), button("reset", role=Role.RESET)
SHUT, OPEN, PRESSED = is_("lid", "shut"), is_("lid", "open"), becomes("go", "pressed")
ON = {"motor": "forward"}
OFF = state("off", leave=[way("waits", SHUT)])
MINDS = way("off", OPEN)


def drum(*states: Written, interlocks: Sequence[Way] = (), inputs: Sequence[Input] = ()) -> Model:
    return prop(
        region("r", *states, interlocks=interlocks),
        inputs=[LID, GO, RESET, *inputs],
        outputs=[motor("motor")],
    )


def pressed(model: Model) -> bool:
    return starts_as_asked(model, model.output["motor"], [GO], [LID, RESET])


def waits(when: Condition | None, go: str = "runs", after: float | None = None) -> Written:
    return state("waits", leave=[way(go, when, after=after)])


RUNS = state("runs", sets=ON, leave=[way("waits", after=100)])
FRESH = both(PRESSED, SHUT, is_("reset", "released"))


def test_a_press_in_the_loop_of_the_start_is_seen() -> None:
    assert pressed(drum(waits(FRESH), RUNS))
    unminded = both(PRESSED, is_("reset", "released"))
    assert pressed(drum(waits(unminded), RUNS, OFF, interlocks=[MINDS]))
    assert not pressed(drum(waits(unminded), RUNS, interlocks=[way("waits", OPEN)]))


@pytest.mark.parametrize(
    "when",
    [
        PRESSED,
        both(PRESSED, SHUT),
        both(is_("go", "pressed"), SHUT, is_("reset", "released")),
        either(FRESH, both(becomes("lid", "shut"), is_("reset", "released"))),
        None,
    ],
)
def test_what_starts_in_another_way_is_left_to_a_search(when: Condition | None) -> None:
    assert not pressed(drum(waits(when, after=None if when else 20), RUNS))


READY = state("ready", leave=[way("runs", after=50)])


def through(*interlocks: Way) -> Model:
    """A press leads to a state that gets ready, and from there time leads on."""
    return drum(waits(FRESH, "ready"), READY, RUNS, OFF, interlocks=interlocks)


def test_a_press_lasts_through_a_state_that_every_end_leads_out_of() -> None:
    assert pressed(through(way("off", either(OPEN, is_("reset", "pressed")))))
    assert not pressed(through(MINDS))
    assert not pressed(through())


def test_a_press_is_lost_at_power_up_and_by_an_interlock_that_stops() -> None:
    ends = way("off", either(OPEN, is_("reset", "pressed")))
    assert not pressed(drum(READY, waits(FRESH), RUNS, OFF, interlocks=[ends]))

    over = way("ready", is_("top", "made"))
    again = [waits(FRESH), RUNS, READY, OFF]
    assert pressed(drum(*again, interlocks=[ends]))
    assert not pressed(drum(*again, interlocks=[ends, over], inputs=[input_("top", "", "made")]))


def rests(model: Model) -> bool:
    return rests_while_active(model, model.output["motor"], LID)


def test_an_interlock_before_all_else_shuts_off() -> None:
    late = way("off", held("lid", "open", 50))
    assert rests(drum(waits(PRESSED), RUNS, OFF, interlocks=[MINDS]))
    assert not rests(drum(waits(PRESSED), RUNS, OFF))
    assert not rests(drum(waits(PRESSED), RUNS, OFF, interlocks=[late]))
    assert not rests(drum(waits(PRESSED), RUNS, OFF, interlocks=[way("runs", PRESSED), MINDS]))
    assert not rests(drum(RUNS, waits(both(PRESSED, SHUT))))


def test_a_state_may_shut_off_by_itself() -> None:
    minding = state("runs", sets=ON, leave=[way("waits", OPEN), way("waits", after=100)])
    timed = state("runs", sets=ON, leave=[way("waits", OPEN, after=20), way("waits", after=100)])

    assert rests(drum(waits(both(PRESSED, SHUT)), minding))
    assert not rests(drum(waits(PRESSED), minding))
    assert not rests(drum(waits(both(PRESSED, SHUT)), timed))
    assert not rests(drum(minding, waits(both(PRESSED, SHUT)))), "it drives at power-up"


def released(*ways: Way) -> bool:
    model = drum(state("a", leave=list(ways)), state("b"), state("c"))
    return counts_when_released(model.region["r"], RESET)


def test_a_reset_counts_when_it_is_let_go() -> None:
    assert released(way("b", becomes("reset", "released")))
    assert released(way("b", PRESSED), way("c", becomes("reset", "released")))
    assert released(way("b", OPEN), way("c", both(PRESSED, is_("reset", "released"))))


def test_a_reset_that_is_pressed_makes_a_difference() -> None:
    assert not released(way("b", becomes("reset", "pressed")))
    assert not released(way("b", is_("reset", "pressed")))
    assert not released(way("b", both(PRESSED, is_("reset", "released"))), way("c", OPEN))
    assert not released(way("b", held("reset", "released", 50)), way("c", OPEN))
