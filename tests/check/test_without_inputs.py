"""Props that nobody touches: without any input they are searched as others are."""

import pytest

from behaviour.check.run import check_model
from behaviour.findings import Answer
from tests.reading import model_of
from tests.test_agreement import MOST_STATES, disagreements
from tests.twin.judge import graph_of, judge

FAN = """\
    language: 1
    prop: Fan
    loop: 10 ms
    outputs:
      fan: {kind: motor, values: [stopped, forward]}
    regions:
      air:
        begins: blowing
        states:
          blowing: {set: {fan: forward}}
    rules:
      - {name: it never runs, never: fan is forward}
      - {name: it always runs, at all times: fan is forward}
    """

BLINKER = """\
    language: 1
    prop: Blinker
    loop: 10 ms
    outputs:
      lamp: {kind: lamp, values: [dark, lit]}
      horn: {kind: relay, values: [silent, loud]}
    counters:
      blinks: {from: 0, to: 3, begins: 0}
    regions:
      light:
        begins: dark
        states:
          dark: {leave: [{after: 50 ms to 80 ms, do: add 1 to blinks, go: lit}]}
          lit:
            set: {lamp: lit}
            leave:
              - {when: blinks = 3, after: 30 ms, do: set blinks to 0, go: dark}
              - {after: 30 ms, go: dark}
      sound:
        begins: quiet
        states:
          quiet: {leave: [{when: blinks = 3, go: loud}]}
          loud: {set: {horn: loud}, leave: [{after: 20 ms, go: quiet}]}
    rules:
      - {name: short, while: lamp is lit, at most: 40 ms}
      - {name: shorter, while: lamp is lit, at most: 20 ms}
      - {name: it comes, whenever: lamp is dark, then: lamp is lit, within: 100 ms}
      - {name: it comes sooner, whenever: lamp is dark, then: lamp is lit, within: 60 ms}
      - {name: home, way back: light in dark}
      - {name: horn in the dark, never: horn is loud and lamp is dark}
    """

WHEEL = """\
    language: 1
    prop: Wheel
    loop: 10 ms
    outputs:
      wheel: {kind: motor, values: [stopped, forward]}
    regions:
      drive:
        begins: turning
        states:
          turning: {set: {wheel: forward}, leave: [{after: 100 ms, go: resting}]}
          resting: {leave: [{after: 30 ms, go: turning}]}
    mechanism:
      place:
        begins: away
        states:
          away: {leave: [{while: wheel is forward, takes: 60 ms to 120 ms, go: home}]}
          home: {leave: [{while: wheel is forward, takes: 20 ms, go: away}]}
    rules:
      - {name: never home at rest, never: wheel is stopped and place in home}
      - {name: it gets there, whenever: place in away, then: place in home, within: 1 s}
    """


@pytest.mark.parametrize("text", [FAN, BLINKER, WHEEL], ids=["fan", "blinker", "wheel"])
def test_a_prop_without_inputs_is_judged_as_its_graph_is(text):
    model = model_of(text)

    wrong, _ = disagreements(model, judge(model, graph_of(model, MOST_STATES)))

    assert wrong == []


def test_a_motor_that_is_driven_from_power_up_on_runs():
    outcome = check_model(model_of(FAN))

    assert {rule.name: rule.answer for rule in outcome.rules} == {
        "it never runs": Answer.BROKEN,
        "it always runs": Answer.HOLDS,
    }
    assert {each.kind.name for each in outcome.findings} >= {"dead-end", "runaway", "rule-broken"}
