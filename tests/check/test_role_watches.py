"""Watches of role checks: each meets its breach in a bad prop, and none in one that minds it."""

from behaviour.check.asking import Asking
from behaviour.check.roles.asked import asked
from behaviour.check.roles.beating import Beating
from behaviour.check.roles.opening import left_of_reaction, opening
from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.seeing import active, asking_for, hazards, with_role
from behaviour.check.roles.unheld import HeldStart, Unheld
from behaviour.check.watching import BREACH
from behaviour.explore.budget import Budget
from behaviour.explore.situations import Question, Watch
from behaviour.findings import Run
from behaviour.language.load import read_model
from behaviour.model import Input, Model, Role
from behaviour.source import Source
from behaviour.story import replay

TUB = """language: 1
prop: Bubble tub
loop: 10 ms
inputs:
  lid: {kind: switch, role: guard, values: [shut, open], safe: shut,
        steady: {open: 10 ms, shut: 200 ms}}
  hit: {kind: button, role: stop, steady: {pressed: 10 ms, released: 50 ms}}
  push: {kind: button, role: ROLE, steady: 20 ms}
outputs:
  wheel: {kind: motor, values: [still, turning]}
regions:
  tub:
    begins: waiting
    INTERLOCKS
    states:
      waiting: {leave: [{when: START, go: bubbling}]}
      bubbling: {set: {wheel: turning}, leave: [END]}
"""
MINDED = "interlocks: [{when: lid is open or hit is pressed, go: waiting}]"
FRESH = "push becomes pressed and lid is shut and hit is released"
TIMED = "{after: 6 s, go: waiting}"


def tub(
    start: str = FRESH, interlocks: str = MINDED, end: str = TIMED, role: str = "start"
) -> Model:
    text = TUB.replace("START", start).replace("INTERLOCKS", interlocks)
    model, mistakes = read_model(Source("tub.yaml", text.replace("END", end).replace("ROLE", role)))
    assert model is not None, mistakes
    return model


def met(model: Model, watch: Watch, *items: Input) -> Run | None:
    seen = asking_for(*items)
    question = Question(watches=(watch,), conditions=seen, may_stall=True)
    return Asking(model, Budget(100_000, 60)).reach(
        question, lambda _: lambda at: at.watch[0] == BREACH, conditions=seen, outputs=("wheel",)
    )


def turns_at_its_end(model: Model, run: Run | None) -> bool:
    """Tell whether there is a run, and the wheel turns in its last loop, as `step` has it."""
    return run is not None and replay(model, run)[-1].real == ("turning",)


def opened(model: Model) -> Run | None:
    (at, wheel), lid = hazards(model)[0], model.input["lid"]
    allowed = left_of_reaction(model, lid, "open")
    return met(model, opening(wheel, at, lid, "open", allowed), lid)


def beaten(model: Model) -> Run | None:
    (at, wheel), hit = hazards(model)[0], model.input["hit"]
    return met(model, Beating(wheel, at, active(hit)), hit)


def unasked(model: Model) -> Run | None:
    at, wheel = hazards(model)[0]
    starts = [item for _, item in with_role(model, Role.START)]
    ends = [item for _, item in with_role(model, Role.GUARD, Role.STOP)]
    return met(model, asked(wheel, at, "tub", starts, ends), *starts, *ends)


def held(model: Model) -> Run | None:
    at, wheel = hazards(model)[0]
    number, push = with_role(model, Role.START)[0]
    return met(
        model,
        HeldStart(wheel, at, "tub", push, number, None, frozenset({"tub"}), Otherwise(number)),
        push,
    )


def unheld(model: Model) -> Run | None:
    at, wheel = hazards(model)[0]
    number, push = with_role(model, Role.HOLD_TO_RUN)[0]
    return met(model, Unheld(wheel, at, "tub", push, number, Otherwise(number)), push)


def test_a_wheel_that_nothing_stops_moves_under_an_open_lid_and_a_minded_one_does_not():
    assert turns_at_its_end(tub(interlocks=""), opened(tub(interlocks="")))
    assert opened(tub()) is None


def test_a_wheel_that_nothing_stops_beats_the_stop_and_a_minded_one_does_not():
    assert turns_at_its_end(tub(interlocks=""), beaten(tub(interlocks="")))
    assert beaten(tub()) is None


def test_a_button_that_is_only_looked_at_starts_unasked_and_a_fresh_press_does_not():
    level = "push is pressed and lid is shut and hit is released"

    assert turns_at_its_end(tub(start=level), unasked(tub(start=level)))
    assert unasked(tub()) is None


def test_a_start_held_since_power_up_counts_where_it_is_looked_at_and_not_where_it_must_come():
    level = "push is pressed and lid is shut and hit is released"

    assert turns_at_its_end(tub(start=level), held(tub(start=level)))
    assert held(tub()) is None


def test_a_held_start_that_counts_once_a_time_is_up_is_met_in_the_loop_in_which_it_is_up():
    waits = "push is pressed and lid is shut and hit is released, after: 1 s"
    run = held(tub(start=waits))

    assert turns_at_its_end(tub(start=waits), run)
    assert run is not None
    assert {each.raw[2] for each in run.stimuli} == {"pressed"}


def test_a_wheel_that_runs_on_when_let_go_is_met_and_one_that_stops_at_once_is_not():
    stops = "{when: push is released, go: waiting}"

    assert turns_at_its_end(tub(role="hold_to_run"), unheld(tub(role="hold_to_run")))
    assert unheld(tub(role="hold_to_run", end=stops)) is None
