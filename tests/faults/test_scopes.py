"""Rules that speak of what fails in their scope alone."""

from behaviour.check.faulting import Cell, worksheet
from behaviour.check.run import Limits
from behaviour.faults import Stuck
from behaviour.pipeline import Readable, read
from behaviour.source import Source

FAN = """language: 1
prop: Fan
loop: 10 ms
inputs:
  lid: {kind: switch, values: [closed, open], steady: 10 ms}
  push: {kind: button, steady: 10 ms}
outputs:
  fan: {kind: motor, values: [still, turning]}
regions:
  works:
    begins: idle
    interlocks: [{when: lid is open, go: opened}]
    states:
      idle: {leave: [{when: push becomes pressed, go: blows}]}
      blows: {set: {fan: turning}}
      opened: {leave: [{when: lid is closed, go: idle}]}
rules:
  - {name: said at once, never: fan is turning and lid is open}
  - {name: said by a scope, never: fan is turning, only while: lid is open}
"""


def test_a_lid_that_stands_in_a_scope_alone_is_asked_about_where_it_is_stuck():
    # by the page: rules speak of what is truly there, and no program can tell a stuck line
    readable = read(Source("fan.yaml", FAN))
    assert isinstance(readable, Readable)

    sheet = worksheet(readable.model, Limits(seconds=60))
    row = next(row for row in sheet.rows if row.faults == (Stuck("lid", "closed"),))

    assert [verdict.answer.value for verdict in sheet.healthy[:2]] == ["holds", "holds"]
    assert [effect.cell for effect in row.effects[:2]] == [Cell.BEYOND, Cell.BEYOND]
