"""Two plugs exchanged, on inputs whose values have different names."""

from behaviour.check.asking import Asking
from behaviour.check.roles.check import ask_roles
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.faults import Swapped
from behaviour.findings import Answer
from behaviour.model import Model
from tests.reading import model_of, spec


def test_who_holds_the_button_holds_the_lid_shut_for_the_controller():
    model = model_of("""\
        language: 1
        prop: Box
        loop: 10 ms
        inputs:
          lid: {kind: switch, values: [shut, open], pin: 2, pull: up, low: shut}
          go: {kind: button, pin: 3, pull: up}
        outputs:
          fan: {kind: motor, values: [still, turning]}
        regions:
          box:
            begins: waiting
            interlocks: [{when: lid is open, go: waiting}]
            states:
              waiting: {leave: [{when: go is pressed and lid is shut, go: blowing}]}
              blowing: {set: {fan: turning}}
        rules:
          - {name: no wind out of an open lid, never: fan is turning and lid is open, for: 20 ms}
        """)

    (verdict,) = check_rules(Asking(model, Budget(10_000, 20), (Swapped("lid", "go"),))).verdicts

    assert verdict.answer is Answer.BROKEN
    assert check_rules(Asking(model, Budget(10_000, 20))).verdicts[0].answer is Answer.HOLDS


def test_a_check_sees_what_was_told_on_a_wire_that_no_region_looks_at():
    model = spec("specs/fog-cannon.yaml")
    asking = Asking(model, Budget(10_000, 20), (Swapped("stop", "fuse"),), haste=60)

    verdict = ask_roles(asking, ("starts-unasked",)).verdicts[0]

    assert verdict.answer in (Answer.HOLDS, Answer.NOT_DECIDED)


def test_a_reading_on_its_way_through_a_filter_is_what_a_healthy_prop_would_read_too():
    model = model_of("""\
        language: 1
        prop: Arm
        loop: 10 ms
        inputs:
          home: {kind: sensor, values: [clear, made], steady: 30 ms, pin: 2, pull: down, low: clear}
          mode: {kind: switch, values: [on, off], pin: 3, pull: up, low: off}
        outputs:
          motor: {kind: motor, values: [still, forward]}
        regions:
          arm:
            begins: reaching
            states:
              reaching:
                set: {motor: forward}
                leave: [{when: home is made, go: resting}]
              resting: {}
        mechanism:
          boom:
            begins: away
            states:
              away:
                reads: {home: clear}
                leave: [{while: motor is forward, takes: 30 ms, go: there}]
              there: {reads: {home: made}}
        rules:
          - {name: it never gets there, never: boom in there and motor is forward}
        """)
    fault = Swapped("home", "mode")

    (verdict,) = check_rules(Asking(model, Budget(10_000, 20), (fault,), shadowed=True)).verdicts

    assert verdict.answer is Answer.BROKEN


def held_start(model: Model, fault: Swapped) -> Answer:
    asking = Asking(model, Budget(10_000, 20), (fault,))
    return ask_roles(asking, ("held-start-counts",)).verdicts[0].answer


def test_a_start_that_only_counts_as_it_is_pressed_counts_no_more_with_plugs_exchanged():
    model = spec("specs/confetti-carousel.yaml")

    for first, second in (("lid", "trigger"), ("lid", "mark"), ("trigger", "mark")):
        assert held_start(model, Swapped(first, second)) is Answer.HOLDS


HELD = """\
    language: 1
    prop: Fan
    loop: 10 ms
    inputs:
      go: {kind: button, role: start, pin: 2, pull: up}
      near: {kind: sensor, values: [clear, made], pin: 3, pull: up, low: made}
      far: {kind: sensor, values: [clear, made], pin: 4, pull: up, low: made}
    outputs:
      fan: {kind: motor, values: [still, turning]}
    regions:
      blower:
        begins: waiting
        states:
          waiting: {leave: [{when: WHEN, go: blowing}]}
          blowing: {set: {fan: turning}}
    mechanism:
      slide:
        begins: back
        states:
          back: {reads: {near: clear}, leave: [{while: WHILE, takes: 30 ms, go: pushed}]}
          pushed: {reads: {near: made}}
    """


def test_what_a_held_start_does_is_not_shown_with_plugs_exchanged():
    told = HELD.replace("WHEN", "go is pressed").replace("WHILE", "fan is turning")
    moved = HELD.replace("WHEN", "near becomes made").replace("WHILE", "go is pressed")

    assert held_start(model_of(told), Swapped("near", "far")) is Answer.NOT_DECIDED
    assert held_start(model_of(moved), Swapped("near", "far")) is Answer.NOT_DECIDED
