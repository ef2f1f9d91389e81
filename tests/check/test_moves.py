"""What the numbers of a drive decide: windows and moves, and with them the verdicts."""

import pytest

from behaviour.check.run import check_model
from behaviour.findings import Answer, Severity
from behaviour.model import Model
from tests.reading import model_of, source_of, spec

LANTERNS = source_of("specs/lantern-wheel.yaml").text
CARDS = source_of("specs/faulty/turn-cut-short.yaml").text


def broken(model: Model) -> set[str]:
    """Name the rules and checks that a prop breaks."""
    findings = check_model(model).findings
    return {each.rule or each.kind.name for each in findings if each.severity is Severity.BROKEN}


def test_the_lantern_wheel_breaks_nothing():
    assert broken(spec("specs/lantern-wheel.yaml")) == set()


def test_a_faster_drive_makes_its_move_in_the_time_that_it_is_given():
    assert broken(model_of(CARDS)) == {"every turn brings the next card"}
    faster = CARDS.replace("speed: 24 rpm, ramp: 120 rpm/s", "speed: 40 rpm, ramp: 600 rpm/s")
    assert broken(model_of(faster)) == set()


def test_a_slower_wheel_answers_too_late():
    slow = LANTERNS.replace("speed: 20 rpm", "speed: 10 rpm")

    assert broken(model_of(slow)) == {"every press is answered"}


def test_a_ramp_that_is_gentler_takes_longer_to_run_down_and_longer_than_the_rule_allows():
    gentle = LANTERNS.replace("ramp: 360 rpm/s", "ramp: 120 rpm/s").replace("800 ms", "2 s")

    assert "the wheel runs down soon under an open cage" in broken(model_of(gentle))


def test_a_motor_that_stops_at_once_has_no_time_to_run_down():
    run_down = LANTERNS.replace(", for: 100 ms", ", for: 30 ms")
    held = run_down.replace(
        "    ramp_down: yes\n",
        "    load: {inertia: 0.0001 kg m2}\n    torque: [[0 rpm, 1 N m], [300 rpm, 0.5 N m]]\n",
    )

    assert broken(model_of(run_down)) == {"the wheel runs down soon under an open cage"}
    assert broken(model_of(held)) == set()


def test_a_window_is_taken_from_the_drive():
    place = spec("specs/lantern-wheel.yaml").mechanisms["place"]
    window = place.states[0].movements[0]

    # 12 deg at 120 deg/s take 100 ms; from rest at 2160 deg/s2 28 ms more; 2 % either way
    assert (window.low, window.high) == (pytest.approx(98_000, 2), pytest.approx(130_334, 2))


def test_a_move_takes_its_time_and_its_steps_from_the_drive():
    region = spec("specs/lantern-wheel.yaml").region["show"]
    move = next(s.move for state in region.states for s in state.sets if s.move)

    # 45 deg of 200 x 8 x 4 steps a turn; 45/120 s and a ramp of 120/2160 s; 2 % either way
    assert move.steps == 800
    assert (move.low, move.high) == (pytest.approx(421_944, 2), pytest.approx(439_167, 2))


def test_a_false_jam_is_found_by_the_numbers():
    jams = """
language: 1
prop: bucket
loop: 10 ms
inputs:
  top: {kind: switch, values: [clear, made]}
  push: {kind: button, steady: 20 ms}
outputs:
  winch: {kind: motor, values: [still, up]}
drives:
  winch: {kind: stepper, steps: 200, speed: 60 rpm, ramp: 600 rpm/s, tolerance: 5 %}
regions:
  bucket:
    begins: below
    states:
      below: {leave: [{when: push becomes pressed, go: rising}]}
      rising:
        set: {winch: up}
        leave: [{when: top is made, go: above}, {after: 600 ms, go: stuck}]
      above: {leave: [{when: push becomes pressed, go: below}]}
      stuck: {leave: [{when: push becomes pressed, go: below}]}
mechanism:
  way:
    begins: down
    states:
      down:
        reads: {top: clear}
        leave: [{while: winch is up, takes: {turn: 180 deg, of: winch}, go: up}]
      up: {reads: {top: made}, leave: [{while: bucket in below, takes: 20 ms, go: down}]}
"""
    assert "false-jam" not in broken(model_of(jams))
    assert "false-jam" in broken(model_of(jams.replace("60 rpm,", "50 rpm,")))


def test_a_figure_that_is_unknown_leaves_open_what_needs_it():
    unknown = LANTERNS.replace("speed: 20 rpm", "speed: unknown")
    report = check_model(model_of(unknown))

    assert report.findings == () or all(f.severity is Severity.NOTE for f in report.findings)
    answers = {each.name: each.answer.value for each in report.rules}
    assert answers.pop("there is always a way back") == "holds"
    assert set(answers.values()) == {"not decided"}


@pytest.mark.parametrize("speed", ["1 rpm", "10 rpm", "60 rpm", "400 rpm"])
def test_what_holds_with_a_figure_unknown_holds_whatever_it_is(speed: str):
    report = check_model(model_of(LANTERNS.replace("speed: 20 rpm", f"speed: {speed}")))

    answers = {each.name: each.answer for each in report.rules}
    assert answers["there is always a way back"] is Answer.HOLDS


WAITS = """
language: 1
prop: sign
loop: 10 ms
inputs:
  push: {kind: button, steady: 20 ms}
outputs:
  sign: {kind: motor, values: [still, round]}
drives:
  sign: {kind: stepper, steps: 200, speed: 60 rpm, ramp: 600 rpm/s, tolerance: 5 %}
regions:
  sign:
    begins: waiting
    states:
      waiting: {leave: [{when: push becomes pressed, go: turning}]}
      turning:
        set: {sign: round 90 deg}
        leave: [{when: push becomes pressed, go: waiting}]
"""


def test_a_motor_that_waits_after_its_move_does_not_run_away():
    waits = WAITS.replace("  sign:\n    begins", "  show:\n    begins")

    assert "runaway" not in broken(model_of(waits))
    assert "runaway" in broken(model_of(waits.replace("round 90 deg", "round")))
