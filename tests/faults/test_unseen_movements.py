"""A movement that stalls, on runs that a controller cannot tell from those of a healthy prop."""

from behaviour.check.asking import Asking
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.faults import Stalls
from behaviour.findings import Answer
from tests.reading import model_of

VANE = """\
    language: 1
    prop: Vane
    loop: 10 ms
    inputs:
      mark: {kind: switch, values: [clear, made], pin: 2, pull: up, low: made}
    outputs:
      motor: {kind: motor, values: [stopped, forward], pin: 3}
    regions:
      vane:
        begins: turning
        states:
          turning:
            set: {motor: forward}
            leave: [{when: mark becomes clear, go: still}]
          still: {}
    mechanism:
      plate:
        begins: before
        states:
          before:
            leave: [{while: motor is forward, takes: 10 ms, go: over}]
          over: {reads: {mark: made}}
    rules:
      - {name: the vane is never still, never: motor is stopped}
    """


def answer(*, shadowed: bool) -> Answer:
    model = model_of(VANE)
    asking = Asking(model, Budget(10_000, 20), (Stalls("plate", 0),), shadowed=shadowed)
    return check_rules(asking, model.rules).verdicts[0].answer


def test_a_stalled_plate_lets_the_mark_be_lost():
    assert answer(shadowed=False) is Answer.BROKEN


def test_a_mark_that_a_healthy_plate_would_have_held_is_read_otherwise_than_there():
    """From the second loop on the healthy plate is over its mark: it cannot become clear."""
    assert answer(shadowed=True) is Answer.HOLDS
