"""What a rule does not hang on: mechanisms that it leaves out go on by what outputs really have."""

import pytest

from behaviour.check.faulting import Cell, worksheet
from behaviour.check.run import Limits
from behaviour.faults import Welded
from tests.reading import model_of

TUB = """\
    language: 1
    prop: Tub
    loop: 10 ms
    inputs:
      mark: {{kind: sensor, values: [clear, made]}}
      push: {{kind: button, role: start, steady: 10 ms}}
    outputs:
      drum: {{kind: motor, values: [still, turning]}}
      lamp: {{kind: lamp, values: [dark, lit]}}
    regions:
      tub:
        begins: waiting
        states:
          waiting: {{leave: [{{when: push becomes pressed, go: turning}}]}}
          turning: {{set: {{drum: turning}}, leave: [{{after: 10 ms, go: waiting}}]}}
      eye:
        begins: shut
        states:
          shut: {{leave: [{{when: mark becomes made, go: open}}]}}
          open: {{set: {{lamp: lit}}, leave: [{{when: mark becomes clear, go: shut}}]}}
    mechanism:
      cam:
        begins: down
        states:
          down: {{reads: {{mark: clear}}, leave: [{{while: drum is still, takes: 30 ms, go: up}}]}}
          up: {{reads: {{mark: made}}, leave: [{{while: drum is still, takes: 20 ms, go: down}}]}}
    rules:
      - {{name: short turns, never: drum is turning and push is released, for: {time}}}
    """


@pytest.mark.parametrize(("time", "cell"), [("40 ms", Cell.BROKEN), ("10 ms", Cell.BEYOND)])
def test_a_cam_that_a_welded_drum_holds_tells_a_program_that_the_drum_is_not_still(time, cell):
    """In a healthy prop the cam would have moved 30 ms after the drum was set to be still."""
    sheet = worksheet(model_of(TUB.format(time=time)), Limits(seconds=60))

    row = next(row for row in sheet.rows if row.faults == (Welded("drum", "turning"),))
    assert next(each.cell for each in row.effects if each.name == "short turns") is cell
