"""Rules about a guard that is told to be unsafe at power-up, and is not so."""

import pytest

from behaviour.pipeline import Checked, check_source
from behaviour.source import Source

DRUM = """language: 1
prop: Drum
loop: 10 ms
inputs:
  lid:
    kind: switch
    role: guard
    values: [shut, open]
    safe: shut
    steady: {open: 10 ms, shut: 200 ms}
outputs:
  drum: {kind: motor, values: [stopped, forward]}
  lamp: {kind: light, values: [dark, lit]}
regions:
  turn:
    begins: still
    states:
      still: {leave: [{when: lid becomes shut, go: going}]}
      going: {set: {drum: forward}, leave: [{when: lid is open, go: still}]}
  light:
    begins: out
    states:
      out: {leave: [{when: lid becomes open, go: on}]}
      on: {set: {lamp: lit}, leave: [{when: lid is shut, go: out}]}
rules:
  - {name: asked, RULE}
"""


@pytest.mark.parametrize(
    "rule",
    [
        "first: lid becomes shut, before: drum is not stopped",
        "whenever: lid becomes open, then: lamp is lit, within: 50 ms",
    ],
)
def test_what_is_told_comes_where_nothing_truly_does(rule):
    checked = check_source(Source("drum.yaml", DRUM.replace("RULE", rule)), 30.0)

    assert isinstance(checked, Checked), checked
    assert checked.outcome.rules[0].answer.value == "broken"


def test_once_it_was_told_to_be_safe_it_is_what_it_is_told_to_be():
    rule = "never: drum is forward and lid is open, for: 40 ms"
    checked = check_source(Source("drum.yaml", DRUM.replace("RULE", rule)), 30.0)

    assert isinstance(checked, Checked), checked
    assert checked.outcome.rules[0].answer.value == "holds"


DOORS = """language: 1
prop: Two doors
loop: 10 ms
inputs:
  left: {kind: switch, values: [open, shut], role: guard, safe: shut, steady: 10 ms}
  right: {kind: switch, values: [shut, open], role: guard, safe: shut, steady: 10 ms}
outputs:
  drum: {kind: motor, values: [still, turning]}
regions:
  work:
    begins: waiting
    interlocks:
      - {when: left is open, go: halted}
      - {when: right is open, go: halted}
    states:
      waiting: {}
      turning: {set: {drum: turning}, leave: [{after: TURNS, go: waiting}]}
      halted: {leave: [{when: left is shut, go: turning}, {after: 10 ms, go: waiting}]}
rules:
  - {name: soon still, whenever: right is not shut, then: drum is still, within: 30 ms}
"""


@pytest.mark.parametrize(("turns", "answer"), [("30 ms", "holds"), ("50 ms", "broken")])
def test_a_guard_that_is_shut_at_power_up_is_not_open_a_loop_later(turns, answer):
    """It is told to be open in loop 0 as long as it may be, and opens no sooner than its filter."""
    checked = check_source(Source("doors.yaml", DOORS.replace("TURNS", turns)), 30.0)

    assert isinstance(checked, Checked), checked
    assert checked.outcome.rules[0].answer.value == answer
